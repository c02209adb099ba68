"""The types of the fields that people write in kits and ward files. May import: `prepkit.quantities`, pydantic."""

from dataclasses import dataclass
from numbers import Number
from typing import Annotated, Any, Literal

from pydantic import BaseModel, ConfigDict, Field, GetCoreSchemaHandler, GetJsonSchemaHandler, StringConstraints
from pydantic.json_schema import JsonSchemaValue
from pydantic_core import CoreSchema, PydanticCustomError, core_schema

from prepkit.quantities.amount import Amount
from prepkit.quantities.gestation import Gestation, UnreadableGestationError, read_gestation
from prepkit.quantities.read import UnreadableAmountError, read_amount
from prepkit.quantities.show import show_amount
from prepkit.quantities.vocabulary import Dimension, list_units

_MOST_TEXT = 600
# Control characters and those that are invisible or turn the direction of reading: a screen would not show what stands
# in the file. Written out as ranges, which JSON Schema's regular expressions know too.
_UNSEEN = r"\u0000-\u001f\u007f-\u009f\u200b-\u200f\u2028-\u202e\u2060-\u206f\ufeff"


class Spec(BaseModel):
    """A table of a kit or a ward file: every key known, every type exact, never changed after reading."""

    model_config = ConfigDict(extra="forbid", frozen=True, strict=True, validate_default=False)


@dataclass(frozen=True, slots=True)
class AmountField:
    """Makes a field that reads an amount of one of these dimensions from its text."""

    dimensions: tuple[Dimension, ...]

    def __get_pydantic_core_schema__(self, source: object, handler: GetCoreSchemaHandler) -> CoreSchema:
        return core_schema.no_info_plain_validator_function(self._read)

    def __get_pydantic_json_schema__(self, schema: CoreSchema, handler: GetJsonSchemaHandler) -> JsonSchemaValue:
        units = [unit for dimension in self.dimensions for unit in list_units(dimension)]
        pattern = r"^(0|[1-9][0-9]*)(\.[0-9]{1,6})?( (" + "|".join(units) + ")" + _write_rates(units) + ")$"
        kinds = " or ".join(self.dimensions)
        return {"type": "string", "pattern": pattern, "description": f"{kinds}, such as 1.5 {units[0]}"}

    def _read(self, value: object) -> Amount:
        if isinstance(value, Amount):
            return value
        if not isinstance(value, str):
            example = f'"1.5 {list_units(self.dimensions[0])[0]}"'
            is_number = isinstance(value, Number) and not isinstance(value, bool)
            said = "a bare number where an amount with its unit is due" if is_number else "not an amount"
            raise PydanticCustomError(
                "amount", "is {said}: write it as text, such as {example}", {"said": said, "example": example}
            )
        try:
            return self._read_text(value)
        except UnreadableAmountError as error:
            raise PydanticCustomError(
                "amount", '"{text}" {reason} (column {column} of the text)',
                {"text": value[:_MOST_TEXT], "reason": error.reason, "column": error.column},
            ) from error  # fmt: skip

    def _read_text(self, text: str) -> Amount:
        if len(self.dimensions) == 1:
            return read_amount(text, self.dimensions[0])
        amount = read_amount(text)
        if amount.dimension not in self.dimensions:
            expected = " or ".join(self.dimensions)
            reason = f"is {amount.dimension}, where {expected} is due"
            raise UnreadableAmountError(reason, text.index(" ") + 2)
        return amount


def _write_rates(units: list[str]) -> str:
    """The units that may stand close to their number, as a further branch of a pattern."""
    return "".join(f"|{unit}" for unit in units if unit.startswith("/"))


class GestationField:
    """Makes a field that reads a gestation ("28+0")."""

    def __get_pydantic_core_schema__(self, source: object, handler: GetCoreSchemaHandler) -> CoreSchema:
        return core_schema.no_info_plain_validator_function(self._read)

    def __get_pydantic_json_schema__(self, schema: CoreSchema, handler: GetJsonSchemaHandler) -> JsonSchemaValue:
        return {"type": "string", "pattern": r"^[0-9]{2}\+[0-6]$", "description": "weeks+days, such as 28+0"}

    @staticmethod
    def _read(value: object) -> Gestation:
        if isinstance(value, Gestation):
            return value
        if not isinstance(value, str):
            raise PydanticCustomError("gestation", 'is not a gestation: write it as text, such as "28+0"')
        try:
            return read_gestation(value)
        except UnreadableGestationError as error:
            raise PydanticCustomError(
                "gestation", '"{text}" {reason}', {"text": value[:_MOST_TEXT], "reason": str(error)}
            ) from error


def _positive(amount: Amount) -> Amount:
    if amount.value <= 0:
        raise PydanticCustomError("positive", 'must be more than zero (got "{got}")', {"got": show_amount(amount)})
    return amount


class Positive:
    """Refuses an amount of nothing."""

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> CoreSchema:  # noqa: ANN401  (pydantic's own signature)
        return core_schema.no_info_after_validator_function(_positive, handler(source))


Mass = Annotated[Amount, AmountField((Dimension.MASS,)), Positive()]
Volume = Annotated[Amount, AmountField((Dimension.VOLUME,)), Positive()]
AnyVolume = Annotated[Amount, AmountField((Dimension.VOLUME,))]
BodyWeight = Annotated[Amount, AmountField((Dimension.BODY_WEIGHT,)), Positive()]
Length = Annotated[Amount, AmountField((Dimension.LENGTH,)), Positive()]
Strength = Annotated[Amount, AmountField((Dimension.STRENGTH,)), Positive()]
DosePerWeight = Annotated[Amount, AmountField((Dimension.MASS_PER_WEIGHT,)), Positive()]
LengthPerWeight = Annotated[Amount, AmountField((Dimension.LENGTH_PER_WEIGHT,)), Positive()]
Share = Annotated[Amount, AmountField((Dimension.SHARE,)), Positive()]
Time = Annotated[Amount, AmountField((Dimension.TIME,)), Positive()]
AnyAmount = Annotated[Amount, AmountField(tuple(Dimension))]
GestationText = Annotated[Gestation, GestationField()]

Id = Annotated[str, StringConstraints(pattern=r"^[a-z0-9]+(-[a-z0-9.]+)*$", max_length=60)]
FactId = Annotated[str, StringConstraints(pattern=r"^[a-z0-9]+(_[a-z0-9]+)*$", max_length=60)]
Text = Annotated[
    str,
    StringConstraints(pattern=rf"^[^\s{_UNSEEN}]([^{_UNSEEN}]*[^\s{_UNSEEN}])?$", min_length=1, max_length=_MOST_TEXT),
]
Texts = Annotated[tuple[Text, ...], Field(strict=False)]
Ids = Annotated[tuple[Id, ...], Field(strict=False)]

GtinText = Annotated[str, StringConstraints(pattern=r"^([0-9]{8}|[0-9]{12,14})$")]
"""A GTIN as printed under a barcode; its check digit is checked with the file."""
Gtins = Annotated[tuple[GtinText, ...], Field(strict=False)]

Basis = Literal["published", "common practice", "local", "from memory"]
Route = Literal["intravenous", "enteral", "tracheal"]


class Based(Spec):
    """Whatever states a figure says where the figure comes from."""

    basis: Basis = Field(description="published (cite it), common practice, local, or from memory")
    source: Ids = Field(default=(), description="ids of the kit's sources; needed where the basis is published")
