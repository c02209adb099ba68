"""How much of a dose was recovered from the stomach, what was given per kg, and from when a repeat could be given."""

from collections.abc import Iterator
from datetime import datetime

from msgspec import Struct
from msgspec.structs import replace

from prepkit.kit.baby import Baby
from prepkit.kit.earlier import EarlierDoses
from prepkit.kit.kit import Kit, Product
from prepkit.kit.lines import DoseLine
from prepkit.kit.procedure import WardAfterwards
from prepkit.kit.ward import Ward
from prepkit.quantities.amount import Amount, convert, divide, make_amount, multiply
from prepkit.rules.dose.course import prepare_doses
from prepkit.rules.findings import Finding, Kind, cite, finding
from prepkit.rules.rule import RuleContext

_OF_THE_COURSE = frozenset({Kind.COURSE_IS_FULL, Kind.MORE_THAN_COURSE, Kind.PAST_COURSE, Kind.NO_REPEAT_STATED})
"""Why no repeat follows at all, whatever the hour."""


class ShareRecovered(Struct, frozen=True):
    """How much of what was given was recovered."""

    share: Amount
    """In %."""
    is_over: bool | None
    """Whether it is more than the ward's line; None where the ward states none."""
    working: tuple[Finding, ...]


def compute_recovered(given: Amount, recovered: Amount, ward: WardAfterwards | None = None) -> ShareRecovered:
    """Compute the share that was recovered, beside the ward's line.

    Args:
        given: the volume given, more than nothing.
        recovered: the volume recovered; may be nothing, or more than was given.
        ward: what the ward says of the time afterwards.
    """
    share = Amount(convert(recovered, "mL").value / convert(given, "mL").value * 100, make_amount(1, "%").unit)
    found = finding(Kind.SHARE_RECOVERED, given=given, recovered=recovered, share=share)
    line = ward.recovered_over if ward else None
    if ward is None or line is None:
        return ShareRecovered(share, None, (found,))
    over = finding(Kind.OVER_WARD_LINE, line=line, source=ward.source, then=ward.then)
    return ShareRecovered(share, line < share, (found, over) if line < share else (found,))


def find_repeat(line: DoseLine, kit: Kit, ward: Ward, baby: Baby, had: EarlierDoses) -> tuple[Finding | str, ...]:
    """Find from when the product given last could be given again, or why not, and what its label says of repeats.

    Args:
        line: the dose line, of the kit with the ward file laid over it.
        kit: that kit.
        ward: the ward file.
        baby: the baby.
        had: every dose given, that of this preparation among them; nothing is found where the last has no time.
    """
    last = had.doses[-1] if had.doses else None
    product = next((each for each in kit.product if last and each.id == last.product), None)
    if last is None or last.at is None or product is None or line.earlier is None:
        return ()
    known = replace(baby, facts={**baby.facts, line.earlier: had})
    # As of the dose itself: when the paper is printed changes nothing of it.
    context = RuleContext(kit, ward, known, last.at, {})
    found = prepare_doses(line, product, kit, ward.deviation).find_due(context)
    return tuple(_tell_repeat(found, product, kit, last.at))


def _tell_repeat(found: object, product: Product, kit: Kit, last: datetime) -> Iterator[Finding | str]:
    if not isinstance(found, Finding):
        return
    if found.kind is Kind.TOO_EARLY:
        cited = cite(kit, product.basis, product.source)
        values = {"due_at": found["due_at"], "interval": found["interval"], "last": last}
        yield finding(Kind.REPEAT_FROM, product=product.name, cited=cited, **values)
        yield from (each.text for each in product.advice if each.of == "repeats")
    elif found.kind in _OF_THE_COURSE:
        yield finding(Kind.NO_REPEAT, product=product.name, reason=found)


def compute_given_per_kg(
    given: Amount, strength: Amount, weight: Amount, *, due: Amount | None = None, in_syringe: Amount | None = None
) -> tuple[Amount, Finding]:
    """Compute what a volume of a strength gives per kg, with the sum; what was due and in the syringe beside it."""
    mass = multiply(given, strength, "mg")
    per_kg = divide(mass, weight, "mg/kg")
    values = {"given": given, "strength": strength, "mass": mass, "weight": weight, "per_kg": per_kg}
    return per_kg, finding(Kind.GIVEN_PER_KG, due=due, in_syringe=in_syringe, **values)
