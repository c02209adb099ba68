"""JSON Schemas: of what is read (kits, ward files), for editors, and of what is written (list, record).

Each is made from the very types that read or write it. The schema of a file sees single fields; what hangs together
(ids, bands, recipes) is checked when the file is read.
"""

import json
from collections.abc import Iterator
from typing import Any, get_args

from msgspec import Struct
from msgspec.json import schema_components

from prepkit.documents.list_json import ListJson
from prepkit.documents.record import RecordJson
from prepkit.kit.fields import KIND, Spec, list_keys
from prepkit.kit.fragments import TABLE
from prepkit.kit.kit import Kit, PlacingLine, PlacingRow
from prepkit.kit.placing import PLACED
from prepkit.kit.procedure import Procedure
from prepkit.kit.ward import Ward
from prepkit.quantities.gestation import Gestation

_DIALECT = "https://json-schema.org/draft/2020-12/schema"


def write_kit_schema() -> str:
    """The JSON Schema of a kit's file, as text."""
    schema = _make_file_schema(Kit, "A kit: one procedure's preparation; or, under one name, what several kits share")
    # A fragment's own file has nothing at its top but its table.
    schema |= {"if": {"required": [TABLE]}, "else": {"required": schema.pop("required")}}
    for table, path in PLACED.items():
        holder = schema if len(path) == 1 else schema["$defs"][Procedure.__name__]
        placing, rows = PlacingLine if table == "line" else PlacingRow, holder["properties"][table]
        schema["$defs"] |= _list_parts(placing)
        rows["items"] = {"anyOf": [rows["items"], {"$ref": f"#/$defs/{placing.__name__}"}]}
    return _write(schema)


def write_ward_schema() -> str:
    """The JSON Schema of a ward file, as text."""
    return _write(_make_file_schema(Ward, "A ward file: what one ward stocks, has approved and prefers"))


def write_list_schema() -> str:
    """The JSON Schema of a list, as text."""
    return _write(_make_schema(ListJson))


def write_record_schema() -> str:
    """The JSON Schema of a record, as text."""
    return _write(_make_schema(RecordJson))


def _make_file_schema(table: type[Spec], title: str) -> dict[str, Any]:
    schema = _make_schema(table)
    schema["title"] = title
    # The line that names the schema may stand in the file as a key too.
    schema["properties"]["$schema"] = {"type": "string"}
    return schema


def _make_schema(kind: type[Struct]) -> dict[str, Any]:
    parts = _list_parts(kind)
    return {"$schema": _DIALECT, **parts.pop(kind.__name__), "$defs": parts}


def _list_parts(kind: type[Struct]) -> dict[str, Any]:
    """The schema of a table and of every table inside it, by the names of their classes."""
    _, parts = schema_components([kind], schema_hook=_describe_text)
    for table in _list_kinds(Spec):
        if part := parts.get(table.__name__):
            key = next(key for key in list_keys(table) if key.name == KIND)
            part["properties"][KIND]["description"] = get_args(key.type)[1].description
    return parts


def _write(schema: dict[str, Any]) -> str:
    return json.dumps(_translate(schema), ensure_ascii=False, indent=2) + "\n"


def _translate(part: Any) -> Any:  # noqa: ANN401  (any part of a schema)
    """What JSON Schema says otherwise: a text's very end; an entry's key, whose form is left to the reader."""
    if isinstance(part, list):
        return [_translate(each) for each in part]
    if not isinstance(part, dict):
        return part.replace(r"\Z", "$") if isinstance(part, str) else part
    made = {key: _translate(each) for key, each in part.items()}
    if "pattern" in (names := made.get("propertyNames", {})):
        made["patternProperties"] = {names.pop("pattern"): made.pop("additionalProperties")}
    return made


def _describe_text(kind: type) -> dict[str, str]:
    """What the library does not know: a gestation, or an amount, whose field says all the rest."""
    if kind is Gestation:
        return {"type": "string", "pattern": r"^[0-9]{2}\+[0-6]$", "description": "weeks+days, such as 28+0"}
    return {"type": "string"}


def _list_kinds(table: type[Spec]) -> Iterator[type[Spec]]:
    """The tables below this one that say which kind they are."""
    for each in table.__subclasses__():
        if each.__struct_config__.tag is not None:
            yield each
        yield from _list_kinds(each)
