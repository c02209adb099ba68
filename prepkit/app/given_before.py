"""Doses that other preparations under the same cot label gave: asked about, and never assumed.

A cot label is no identity: a baby moves, and another one lies there. So what was given under it is shown as a question,
and counts only once somebody has said that it is the same baby.
"""

from collections.abc import Iterable, Iterator, Mapping
from datetime import UTC, datetime, timedelta

from msgspec import Struct
from msgspec.structs import replace

from prepkit.app.reports import find_stored_preparations
from prepkit.kit.earlier import EarlierDose, EarlierDoses
from prepkit.kit.reads import find_doses_fact
from prepkit.preparation.bedside.afterwards import find_doses_had
from prepkit.preparation.events import Event
from prepkit.preparation.listing import TextsUnreadableError, WorkedList
from prepkit.preparation.recompute import work_out_as_listed
from prepkit.preparation.state import Preparation
from prepkit.store import Store

_LONGEST_AGO = timedelta(days=7)
"""Past it a dose belongs to no course that is still counted (ours: labels count within the first days of life)."""


class GivenBefore(Struct, frozen=True):
    """What other preparations under a cot label gave, and the fact that would hold it."""

    fact: str
    doses: EarlierDoses


def find_given_before(
    store: Store, prep: str, state: Preparation, worked: WorkedList, now: datetime
) -> GivenBefore | None:
    """Find what was given under this cot label by other preparations; None where nothing was.

    Practice counts for practice alone.
    """
    fact = find_doses_fact(worked.laid)
    if fact is None:
        return None
    found: dict[str, EarlierDose] = {}
    for stored in find_stored_preparations(store, state.cot):
        if stored.prep != prep and stored.state.practice == state.practice:
            found |= {str(dose): dose for dose in _list_doses(stored.events, stored.state, now)}
    known = {product.id: product.name for product in worked.laid.product}
    doses = sorted((_name(dose, known) for dose in found.values()), key=_find_time)
    return GivenBefore(fact, EarlierDoses(tuple(doses))) if doses else None


def _list_doses(events: Iterable[Event], state: Preparation, now: datetime) -> Iterator[EarlierDose]:
    """The doses that a preparation knows of, its own among them, as far as they are recent."""
    try:
        worked = work_out_as_listed(events)
    except TextsUnreadableError:
        return
    had = find_doses_had(state, worked) if worked else None
    for dose in had[1].doses if had else ():
        if dose.at is not None and timedelta(0) <= now.astimezone(UTC) - dose.at.astimezone(UTC) < _LONGEST_AGO:
            yield dose


def _name(dose: EarlierDose, known: Mapping[str, str]) -> EarlierDose:
    """Name its product as this kit does; one that this kit does not know is a product not known."""
    product = dose.product if dose.product in known else ""
    return replace(dose, product=product, name=known.get(product, ""))


def _find_time(dose: EarlierDose) -> float:
    return dose.at.timestamp() if dose.at else 0.0
