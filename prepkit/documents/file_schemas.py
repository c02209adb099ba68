"""The JSON Schemas of kits and of ward files, for editors that complete and explain keys. May import: `prepkit.kit`.

A schema sees single fields; what hangs together (ids, bands, recipes) is checked when the file is read.
"""

import json

from prepkit.kit.fields import Spec
from prepkit.kit.forms import find_form
from prepkit.kit.kit import Kit
from prepkit.kit.ward import Ward

_DIALECT = "https://json-schema.org/draft/2020-12/schema"


def write_kit_schema() -> str:
    """The JSON Schema of a kit's file, as text."""
    return _write(Kit, "A kit: one procedure's preparation")


def write_ward_schema() -> str:
    """The JSON Schema of a ward file, as text."""
    return _write(Ward, "A ward file: what one ward stocks, has approved and prefers")


def _write(table: type[Spec], title: str) -> str:
    schema = {"$schema": _DIALECT, **find_form(table).model_json_schema(), "title": title}
    # The line that names the schema may stand in the file as a key too.
    schema["properties"] = {**schema["properties"], "$schema": {"type": "string"}}
    return json.dumps(schema, ensure_ascii=False, indent=2) + "\n"
