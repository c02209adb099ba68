"""Events folded into a preparation, one at a time.

Nothing is decided here: the record is believed in its order, and each subject's reducers say what its events change. An
order that cannot be (nothing started, a gap, something after the end) raises `RecordUnreadable`.
"""

from collections.abc import Iterable

from msgspec.structs import replace

import prepkit.preparation.baby.apply as baby
import prepkit.preparation.batches.apply as batches
import prepkit.preparation.bedside.apply as bedside
import prepkit.preparation.check.apply as check
import prepkit.preparation.handover.apply as handover
import prepkit.preparation.lines.apply as lines
from prepkit.attribution import Attribution
from prepkit.preparation.bedside.events import AddendumWritten
from prepkit.preparation.codec import RecordUnreadable
from prepkit.preparation.events import Event, ReadAloud, ReadOut, StandDown, Started, StoodDown, WardReplaced
from prepkit.preparation.state import Preparation, apply, drop_list

_SUBJECTS = (baby, batches, bedside, check, handover, lines)
"""Each registers its reducers with `apply` when it is loaded."""


def fold(events: Iterable[Event]) -> Preparation:
    """Fold a whole record. Raises `RecordUnreadable` for an order of events that cannot be."""
    state: Preparation | None = None
    for event in events:
        state = evolve(state, event)
    if state is None:
        raise RecordUnreadable("the record is empty: it has to begin with 'started'")
    return state


def evolve(state: Preparation | None, event: Event) -> Preparation:
    """Give the state after one more event; `state` is None before the first. Raises as `fold` does."""
    where = f"event {event.seq} ({event.payload.KIND})"
    if state is None:
        return _begin(event, where)
    if event.seq != state.seq + 1:
        raise RecordUnreadable(f"{where}: expected event {state.seq + 1} after event {state.seq}")
    if state.stood_down is not None:
        raise RecordUnreadable(f"{where}: comes after the preparation was stood down")
    if state.cot_record.closed is not None and not isinstance(event.payload, AddendumWritten):
        raise RecordUnreadable(f"{where}: comes after the record was closed")
    if isinstance(event.payload, Started):
        raise RecordUnreadable(f"{where}: the preparation had been started already")
    moved = replace(state, seq=event.seq, last=event.stamp)
    if not event.payload.KEEPS_READ_ALOUD:
        moved = replace(moved, read_aloud=None)
    if event.payload.IS_PREPARING:
        moved = replace(moved, preparers=state.preparers | {event.stamp.who})
    return apply(event.payload, moved, event.stamp)


def _begin(event: Event, where: str) -> Preparation:
    first = event.payload
    if not isinstance(first, Started):
        raise RecordUnreadable(f"{where}: the record has to begin with 'started'")
    return Preparation(
        seq=event.seq,
        started=event.stamp,
        last=event.stamp,
        cot=first.cot,
        kit=first.kit,
        kit_edition=first.kit_edition,
        kit_name=first.kit_name,
        kit_text=first.kit_text,
        ward_text=first.ward_text,
        ward_name=first.ward_name,
        practice=first.practice,
    )


@apply.register
def _read_aloud(payload: ReadAloud, state: Preparation, stamp: Attribution) -> Preparation:
    return replace(state, read_aloud=ReadOut(payload.standing, stamp))


@apply.register
def _stand_down(payload: StoodDown, state: Preparation, stamp: Attribution) -> Preparation:
    return replace(state, stood_down=StandDown(payload.reason, stamp))


@apply.register
def _replace_ward(payload: WardReplaced, state: Preparation, _stamp: Attribution) -> Preparation:
    moved = replace(
        state,
        kit_text=payload.kit_text,
        kit_edition=payload.kit_edition,
        ward_text=payload.ward_text,
        ward_name=payload.ward_name,
    )
    return drop_list(moved)
