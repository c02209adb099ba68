"""What one record adds to the audit, as a line of text that is kept beside the record: short, exact, read back whole.

May import: `audit` of this package and the standard library.
"""

import json
from fractions import Fraction

from prepkit.documents.audit import Case


def write_case(case: Case) -> str:
    """Write a case: a JSON array of its fields in their order, mg/kg as a fraction in text."""
    c = case
    per_kg = None if c.per_kg is None else str(c.per_kg)
    return json.dumps(
        [
            c.route,
            c.first_attempt,
            c.delivered,
            per_kg,
            c.is_second_dose,
            c.complications,
            c.minutes,
            c.mismatches,
            c.overrides,
            c.set_aside,
        ],
        ensure_ascii=False,
        separators=(",", ":"),
    )


def read_case(text: str) -> Case:
    """Read what `write_case` wrote. Raises ValueError for what cannot have been."""
    try:
        (route, first_attempt, delivered, per_kg, is_second_dose, said, minutes, mismatches, overrides, set_aside) = (
            json.loads(text)
        )
        return Case(
            route=route,
            first_attempt=first_attempt,
            delivered=delivered,
            per_kg=None if per_kg is None else Fraction(per_kg),
            is_second_dose=is_second_dose,
            complications=None if said is None else tuple(said),
            minutes=minutes,
            mismatches=mismatches,
            overrides=tuple(overrides),
            set_aside=set_aside,
        )
    except (TypeError, ZeroDivisionError) as error:
        raise ValueError(f"not a case: {error}") from error
