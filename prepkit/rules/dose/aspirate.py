"""How much of a dose came back, and what the rest comes to."""

from msgspec import Struct

from prepkit.quantities.amount import Amount, convert, divide, make_amount, multiply
from prepkit.rules.findings import Finding, Kind, finding


class Aspirate(Struct, frozen=True):
    """What came back of what was given."""

    share: Amount
    """In %."""
    is_delivered: bool
    working: Finding


def compute_aspirate(given: Amount, aspirated: Amount, below: Amount) -> Aspirate:
    """Compute the share that came back, and whether the dose counts as delivered.

    Args:
        given: the volume given, more than nothing.
        aspirated: the volume that came back; may be nothing, or more than was given.
        below: the dose counts as delivered where less than this share came back.
    """
    share = Amount(convert(aspirated, "mL").value / convert(given, "mL").value * 100, make_amount(1, "%").unit)
    is_delivered = share < below
    values = {"given": given, "aspirated": aspirated, "share": share, "below": below}
    return Aspirate(share, is_delivered, finding(Kind.CAME_BACK, **values, is_delivered=is_delivered))


def compute_given_per_kg(
    given: Amount, strength: Amount, weight: Amount, *, due: Amount | None = None, in_syringe: Amount | None = None
) -> tuple[Amount, Finding]:
    """Compute what a volume of a strength gives per kg, with the sum; what was due and in the syringe beside it."""
    mass = multiply(given, strength, "mg")
    per_kg = divide(mass, weight, "mg/kg")
    values = {"given": given, "strength": strength, "mass": mass, "weight": weight, "per_kg": per_kg}
    return per_kg, finding(Kind.GIVEN_PER_KG, due=due, in_syringe=in_syringe, **values)
