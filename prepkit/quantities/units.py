"""The closed vocabulary of units: what a person may write, what it measures, its UCUM code and its name for pint.

A unit that is not in this table does not exist. To add one: a row here and, if it is not built from what `units.txt`
already defines, a line there. UCUM codes: the UCUM essence table, version 2.2.
"""

from enum import StrEnum
from types import MappingProxyType

from msgspec import Struct


class Dimension(StrEnum):
    """What an amount measures, in the words used when one is given where another is due."""

    MASS = "a mass"
    VOLUME = "a volume"
    BODY_WEIGHT = "a body weight"
    LENGTH = "a length"
    GAUGE = "a French size"
    PRESSURE = "a pressure"
    FLOW = "a gas flow"
    RATE = "a rate"
    SHARE = "a percentage"
    TIME = "a time"
    STRENGTH = "a strength (mass per volume)"
    MASS_PER_WEIGHT = "a dose per kg"
    VOLUME_PER_WEIGHT = "a volume per kg"
    LENGTH_PER_WEIGHT = "a length per kg"


class Unit(Struct, frozen=True):
    """One unit of the vocabulary."""

    text: str
    dimension: Dimension
    ucum: str
    pint: str

    def __repr__(self) -> str:
        return f"Unit({self.text!r})"


_ROWS = (
    Unit("mg", Dimension.MASS, "mg", "milligram"),
    Unit("microgram", Dimension.MASS, "ug", "microgram"),
    Unit("mL", Dimension.VOLUME, "mL", "millilitre"),
    Unit("g", Dimension.BODY_WEIGHT, "g", "body_gram"),
    Unit("kg", Dimension.BODY_WEIGHT, "kg", "body_kilogram"),
    Unit("cm", Dimension.LENGTH, "cm", "centimetre"),
    Unit("mm", Dimension.LENGTH, "mm", "millimetre"),
    Unit("Fr", Dimension.GAUGE, "[Ch]", "french"),
    Unit("cmH2O", Dimension.PRESSURE, "cm[H2O]", "centimetre_of_water"),
    Unit("L/min", Dimension.FLOW, "L/min", "litre / minute"),
    Unit("/min", Dimension.RATE, "/min", "1 / minute"),
    Unit("%", Dimension.SHARE, "%", "percent"),
    Unit("min", Dimension.TIME, "min", "minute"),
    Unit("h", Dimension.TIME, "h", "hour"),
    Unit("d", Dimension.TIME, "d", "day"),
    Unit("mg/mL", Dimension.STRENGTH, "mg/mL", "milligram / millilitre"),
    Unit("microgram/mL", Dimension.STRENGTH, "ug/mL", "microgram / millilitre"),
    Unit("mg/kg", Dimension.MASS_PER_WEIGHT, "mg/kg", "milligram / body_kilogram"),
    Unit("microgram/kg", Dimension.MASS_PER_WEIGHT, "ug/kg", "microgram / body_kilogram"),
    Unit("mL/kg", Dimension.VOLUME_PER_WEIGHT, "mL/kg", "millilitre / body_kilogram"),
    Unit("cm/kg", Dimension.LENGTH_PER_WEIGHT, "cm/kg", "centimetre / body_kilogram"),
)

UNITS = MappingProxyType({unit.text: unit for unit in _ROWS})


def find_unit(text: str) -> Unit:
    """The unit written exactly so.

    Raises:
        KeyError: where the vocabulary has no such unit.
    """
    return UNITS[text]


def list_units(dimension: Dimension) -> tuple[str, ...]:
    """The texts of every unit that measures this, in the table's order."""
    return tuple(unit.text for unit in UNITS.values() if unit.dimension is dimension)
