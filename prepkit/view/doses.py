"""Doses given before: those that are known, what another one may be made of, and whose those of a cot label were."""

from datetime import datetime

from msgspec import Struct

from prepkit.kit.earlier import EarlierDose, EarlierDoses
from prepkit.kit.lines import DoseLine
from prepkit.kit.names import NOT_KNOWN
from prepkit.preparation.listing import WorkedList
from prepkit.preparation.state import Preparation
from prepkit.quantities.text import show_amount
from prepkit.view.banner import show_banner
from prepkit.view.days import list_days
from prepkit.view.models import Banner

UNITS = ("mg", "mg/kg", "mL")
"""What an amount may be given in."""
UNKNOWN = (NOT_KNOWN, "Not known")
"""For what nobody knows: (what to give back, words to show)."""


class DosesView(Struct, frozen=True):
    """The doses of one fact."""

    banner: Banner
    label: str
    ask: str
    is_said: bool
    """Whether somebody said which were given, none among the answers."""
    doses: tuple[tuple[str, str], ...]
    """Those given: (dose to give back, words to show)."""
    products: tuple[tuple[str, str], ...]
    """What may have been given: (product to give back, its name), "not known" last."""
    units: tuple[str, ...]
    days: tuple[tuple[str, str], ...]
    """When: (day to give back, words to show), today first, "not known" last."""


def show_doses(
    state: Preparation, worked: WorkedList, fact: str, doses: tuple[EarlierDose, ...], now: datetime
) -> DosesView:
    """The doses of a fact as they are known, with the products of the lines that go by it."""
    laid = worked.laid
    found = next(each for each in laid.fact if each.id == fact)
    lines = (line for line in laid.line if isinstance(line, DoseLine) and line.earlier == fact)
    wanted = {product for line in lines for product in line.products}
    return DosesView(
        banner=show_banner(state, worked.baby),
        label=found.label,
        ask=found.ask,
        is_said=fact in state.facts,
        doses=tuple((name_dose(at, dose), dose.words()) for at, dose in enumerate(doses)),
        products=(*((each.id, each.name) for each in laid.product if each.id in wanted), UNKNOWN),
        units=UNITS,
        days=(*list_days(now.date()), UNKNOWN),
    )


def name_dose(at: int, dose: EarlierDose) -> str:
    """Name a dose by its place and its text: two may be alike, and another device may have changed them."""
    return f"{at} {dose}"


def ask_same_baby(doses: EarlierDoses, cot: str, now: datetime, *, is_more: bool) -> str:
    """Ask whether doses that were given under a cot label were this baby's; `is_more` where others are known of it."""
    asked = "Of this baby, and not counted yet?" if is_more else "The same baby?"
    return f"{'; '.join(_say_given(dose, now) for dose in doses.doses)} under {cot}. {asked}"


def _say_given(dose: EarlierDose, now: datetime) -> str:
    amount = show_amount(dose.amount) if dose.amount else "amount not known"
    at = dose.at.astimezone(now.tzinfo) if dose.at else None
    when = "" if at is None else f" at {at:%H:%M}" if at.date() == now.date() else f" on {at:%d %b} at {at:%H:%M}"
    return f"{dose.name or dose.product or 'Product not known'}, {amount}{when}"
