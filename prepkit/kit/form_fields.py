"""How pydantic checks what a file writes as text: amounts and gestations, each told wrong in our words.

May import: `prepkit.quantities`, `prepkit.kit.fields`, pydantic.
"""

from numbers import Number
from typing import Any

from pydantic import GetCoreSchemaHandler, GetJsonSchemaHandler
from pydantic.json_schema import JsonSchemaValue
from pydantic_core import CoreSchema, PydanticCustomError, core_schema

from prepkit.kit.fields import MOST_TEXT
from prepkit.quantities.amount import Amount
from prepkit.quantities.gestation import Gestation, UnreadableGestationError, read_gestation
from prepkit.quantities.read import UnreadableAmountError, read_amount
from prepkit.quantities.show import show_amount
from prepkit.quantities.vocabulary import Dimension, list_units


class AmountField:
    """Makes a field that reads an amount of one of these dimensions from its text."""

    def __init__(self, dimensions: tuple[Dimension, ...]) -> None:
        self.dimensions = dimensions

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
                {"text": value[:MOST_TEXT], "reason": error.reason, "column": error.column},
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
                "gestation", '"{text}" {reason}', {"text": value[:MOST_TEXT], "reason": str(error)}
            ) from error


def _positive(amount: Amount) -> Amount:
    if amount.value <= 0:
        raise PydanticCustomError("positive", 'must be more than zero (got "{got}")', {"got": show_amount(amount)})
    return amount


class Positive:
    """Refuses an amount of nothing."""

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> CoreSchema:  # noqa: ANN401  (pydantic's own signature)
        return core_schema.no_info_after_validator_function(_positive, handler(source))
