"""Small parts that FHIR resources are made of. May import: `prepkit.quantities`, `plain_json` of this package."""

from prepkit.documents.plain_json import Number, Plain
from prepkit.quantities.amount import Amount
from prepkit.quantities.show import write_decimal

UCUM = "http://unitsofmeasure.org"


def make_quantity(amount: Amount) -> dict[str, Plain]:
    """An amount with the unit that a person reads and its UCUM code."""
    return {
        "value": Number(write_decimal(amount.value)),
        "unit": amount.unit.text,
        "system": UCUM,
        "code": amount.unit.ucum,
    }


def name_concept(text: str) -> dict[str, Plain]:
    """A concept in words: no code is guessed."""
    return {"text": text}


def point_to(name: str) -> dict[str, Plain]:
    """A reference to another entry of the bundle."""
    return {"reference": name}
