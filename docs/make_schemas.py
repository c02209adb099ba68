"""Write the JSON Schemas beside this file: list, record, kits, ward files. Run it after changing their fields."""

from pathlib import Path

from prepkit.documents.schemas import write_kit_schema, write_list_schema, write_record_schema, write_ward_schema

_HERE = Path(__file__).parent
SCHEMAS = {
    "kit.schema.json": write_kit_schema,
    "list.schema.json": write_list_schema,
    "record.schema.json": write_record_schema,
    "ward.schema.json": write_ward_schema,
}


def main() -> None:
    """Write every schema."""
    for name, write in SCHEMAS.items():
        (_HERE / name).write_text(write(), "utf-8")
        print(name)


if __name__ == "__main__":
    main()
