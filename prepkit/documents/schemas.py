"""JSON Schemas: the shape of the JSON list, and the schemas of kits and ward files for editors. Loads pydantic.

Every amount in the list is a decimal string with its UCUM code, so that none passes through a binary float. The schema
of a file sees single fields; what hangs together (ids, bands, recipes) is checked when the file is read.
"""

import json
from collections.abc import Iterator
from typing import Annotated, Any, Literal, get_args

from msgspec.json import schema_components
from pydantic import BaseModel, ConfigDict, Field, StringConstraints

from prepkit.kit.fields import KIND, Spec, list_keys
from prepkit.kit.kit import Kit
from prepkit.kit.ward import Ward
from prepkit.quantities.gestation import Gestation

Decimal = Annotated[str, StringConstraints(pattern=r"^-?(0|[1-9][0-9]*)(\.[0-9]*[1-9])?$")]
Sha256 = Annotated[str, StringConstraints(pattern=r"^[0-9a-f]{64}$")]


class _Shape(BaseModel):
    model_config = ConfigDict(extra="forbid")


class AmountShape(_Shape):
    """A number and its UCUM code; a number that does not end is rounded half up to six places."""

    value: Decimal
    unit: str


class KitShape(_Shape):
    """Which kit the list was made from."""

    id: str
    edition: str
    sha256: Sha256


class WardShape(_Shape):
    """Which ward file the list was made with."""

    name: str
    sha256: Sha256


class BabyShape(_Shape):
    """The facts the list was made for; the kit's own facts stand beside these by their ids."""

    model_config = ConfigDict(extra="allow")

    weight_g: Annotated[int, Field(ge=300, le=6000)]
    gestation_days: int
    sex: Literal["boy", "girl", "unknown"]


class ReasonShape(_Shape):
    """How one criterion stands."""

    criterion: str
    verdict: Literal["met", "questions open", "ask a senior", "not suitable", "advice"]
    text: str
    source: str


class RangeShape(_Shape):
    """A range; `high` is null for a floor."""

    low: AmountShape
    high: AmountShape | None


class SyringeShape(_Shape):
    """The syringe to use: its nominal capacity and the volume between two marks."""

    capacity: AmountShape
    marks: AmountShape
    route: str


class RecipeShape(_Shape):
    """What it is drawn up from."""

    id: str
    strength: AmountShape
    text: str


class VialShape(_Shape):
    """So many containers of one size."""

    size: AmountShape
    count: Annotated[int, Field(ge=1)]


class LineShape(_Shape):
    """One line of the list."""

    id: str
    group: str
    name: str
    kind: str
    route: str | None
    blocked: Annotated[str | None, Field(description="why it cannot be prepared as it stands; null where it can")]
    dose: AmountShape | None
    exact: Annotated[AmountShape | None, Field(description="before rounding to the marks")]
    amount: Annotated[AmountShape | None, Field(description="what the hand measures or sets")]
    range: RangeShape | None
    size: str | None
    syringe: SyringeShape | None
    recipe: RecipeShape | None
    vials: list[VialShape]
    discard: AmountShape | None
    show: Annotated[str, Field(description="the line in words, as a screen shows it")]
    kits_own: Annotated[
        str | None, Field(description="the kit's own value in words, where the ward file changed it; null where not")
    ]
    working: list[str]
    cautions: list[str]
    basis: Literal["published", "common practice", "local", "from memory"]
    source: str


class ListShape(_Shape):
    """A list, as `prepkit list --format json` prints it."""

    kit: KitShape
    ward: WardShape | None
    baby: BabyShape
    assumed: Annotated[list[str], Field(description="ids of the facts nobody gave, standing at the kit's default")]
    verdict: Literal["suitable", "questions open", "ask a senior", "not suitable"]
    reasons: list[ReasonShape]
    lines: list[LineShape]


_DIALECT = "https://json-schema.org/draft/2020-12/schema"


def write_kit_schema() -> str:
    """The JSON Schema of a kit's file, as text."""
    return _write_file_schema(Kit, "A kit: one procedure's preparation")


def write_ward_schema() -> str:
    """The JSON Schema of a ward file, as text."""
    return _write_file_schema(Ward, "A ward file: what one ward stocks, has approved and prefers")


def _write_file_schema(table: type[Spec], title: str) -> str:
    _, parts = schema_components([table], schema_hook=_describe_text)
    for each in _list_kinds(Spec):
        if part := parts.get(each.__name__):
            kind = next(key for key in list_keys(each) if key.name == KIND)
            part["properties"][KIND] |= {"description": get_args(kind.type)[1].description}
    schema = {"$schema": _DIALECT, **parts.pop(table.__name__), "title": title, "$defs": parts}
    # The line that names the schema may stand in the file as a key too.
    schema["properties"] |= {"$schema": {"type": "string"}}
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
