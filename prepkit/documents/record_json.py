"""The record as JSON, and the schema of it. May import: `prepkit.list` and below; pydantic for the schema alone."""

import json
from dataclasses import asdict

from prepkit.documents.list_json import make_list_shape
from prepkit.documents.record import RecordPaper
from prepkit.list.lines import TrayList


def write_record_json(record: RecordPaper, tray: TrayList | None) -> str:
    """The record as JSON text: its words and times, and beside them the list with every amount as a decimal string.

    `tray` is the list that the record was made from; None where it is withheld.
    """
    shape = {"record": asdict(record), "list": make_list_shape(tray) if tray else None}
    return json.dumps(shape, ensure_ascii=False, indent=2) + "\n"


def write_record_schema() -> str:
    """The JSON Schema of the record, as text."""
    from pydantic import BaseModel, ConfigDict  # noqa: PLC0415  (the schema is written rarely; the record often)

    from prepkit.documents.shape import ListShape  # noqa: PLC0415  (as above)

    class RecordShape(BaseModel):
        """A record, as `prepkit record --format json` prints it."""

        model_config = ConfigDict(extra="forbid")

        record: RecordPaper
        list: ListShape | None

    schema = {"$schema": "https://json-schema.org/draft/2020-12/schema", **RecordShape.model_json_schema()}
    for shape in schema["$defs"].values():
        shape.setdefault("additionalProperties", False)
    return json.dumps(schema, ensure_ascii=False, indent=2) + "\n"
