"""Events folded into a preparation, one at a time.

Nothing is decided here: the record is believed in its order. A mark for something that is not on the list as it stood
is ignored; an order that cannot be (nothing started, a gap, something after the end) raises `RecordUnreadable`.
"""

from collections.abc import Iterable

from msgspec.structs import replace

from prepkit.attribution import Attribution
from prepkit.preparation.batches.apply import BATCH_EVENTS
from prepkit.preparation.bedside.apply import BEDSIDE_EVENTS
from prepkit.preparation.bedside.events import AddendumWritten
from prepkit.preparation.check.apply import void_checks
from prepkit.preparation.codec import RecordUnreadable
from prepkit.preparation.events import (
    Answered,
    Event,
    FactGiven,
    Listed,
    ReadAloud,
    SeniorAgreed,
    Started,
    StoodDown,
    Unanswered,
    WardReplaced,
    WeightConfirmed,
)
from prepkit.preparation.lines.events import Ordered, Restored, SetAside, Ticked, Unticked
from prepkit.preparation.lines.marks import (
    Aside,
    GivenAnswer,
    GivenOrder,
    Marks,
    ReadOut,
    SeniorAgreement,
    StandDown,
    Tick,
    WeightConfirmation,
    compute_marks,
    keep_in_hand,
)
from prepkit.preparation.state import GESTATION, SEX, WEIGHT, Preparation, apply, drop_list, without

_KEEPING = (ReadAloud, StoodDown, *BEDSIDE_EVENTS)
"""What does not undo that the summary was read aloud: it is about the time after it."""
_PREPARING = (FactGiven, WeightConfirmed, Ordered, Ticked, SetAside, *BATCH_EVENTS)
"""What makes somebody one of those who prepared, so that they cannot check."""


def fold(events: Iterable[Event]) -> Preparation:
    """Fold a whole record. Raises `RecordUnreadable` for an order of events that cannot be."""
    state: Preparation | None = None
    for event in events:
        state = evolve(state, event)
    if state is None:
        raise RecordUnreadable("the record is empty: it has to begin with 'started'")
    return state


def evolve(state: Preparation | None, event: Event) -> Preparation:
    """Take one event in; `state` is None before the first. Raises `RecordUnreadable` as `fold` does."""
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
    if not isinstance(event.payload, _KEEPING):
        moved = replace(moved, read_aloud=None)
    if isinstance(event.payload, _PREPARING):
        moved = replace(moved, hands=state.hands | {event.stamp.who})
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
def _give_fact(payload: FactGiven, state: Preparation, _stamp: Attribution) -> Preparation:
    if state.facts.get(payload.fact) == payload.value and not (payload.fact == WEIGHT and state.disputed):
        return state
    if payload.fact == WEIGHT:
        # The weight was looked at again: a checker's other reading is answered, and a check under way is of another.
        state = replace(state, disputed=None, check=None)
    facts = {**state.facts, payload.fact: payload.value}
    return drop_list(replace(state, facts=facts, confirmation=_keep_confirmation(state.confirmation, payload)))


def _keep_confirmation(confirmation: WeightConfirmation | None, given: FactGiven) -> WeightConfirmation | None:
    if confirmation is None:
        return None
    confirmed = {WEIGHT: confirmation.weight, GESTATION: confirmation.gestation, SEX: confirmation.sex}
    return confirmation if confirmed.get(given.fact, given.value) == given.value else None


@apply.register
def _list(payload: Listed, state: Preparation, stamp: Attribution) -> Preparation:
    if state.disputed is not None and payload.lines:
        return state  # kept out: it was made from one of two weights that stand against each other
    moved = replace(state, lines=payload.lines, withheld=payload.withheld)
    if payload.withheld:
        return moved
    marks = compute_marks(Marks(state.ticks, state.set_asides, state.changes), payload.lines, stamp.at)
    shows = {**state.shows, **{(line.id, line.fingerprint): line.show for line in payload.lines}}
    in_hand = keep_in_hand(state.in_hand, payload.lines)
    moved = replace(
        moved, ticks=marks.ticks, set_asides=marks.set_asides, changes=marks.changes, shows=shows, in_hand=in_hand
    )
    return void_checks(moved, stamp.at)


@apply.register
def _confirm_weight(payload: WeightConfirmed, state: Preparation, stamp: Attribution) -> Preparation:
    confirmation = WeightConfirmation(payload.weight, payload.gestation, payload.sex, payload.second, stamp)
    if state.find_other_fact(payload) is not None:
        return state
    return replace(state, confirmation=confirmation)


@apply.register
def _answer(payload: Answered, state: Preparation, stamp: Attribution) -> Preparation:
    return replace(state, answers={**state.answers, payload.criterion: GivenAnswer(payload.answer, stamp)})


@apply.register
def _order(payload: Ordered, state: Preparation, stamp: Attribution) -> Preparation:
    order = GivenOrder(payload.product, payload.whole, payload.prescriber, stamp)
    # As with a fact: a list made from another order is no list.
    return drop_list(replace(state, orders={**state.orders, payload.line: order}))


@apply.register
def _agree_senior(payload: SeniorAgreed, state: Preparation, stamp: Attribution) -> Preparation:
    return replace(state, senior=SeniorAgreement(payload.senior, payload.note, payload.standing, stamp))


@apply.register
def _tick(payload: Ticked, state: Preparation, stamp: Attribution) -> Preparation:
    line = state.find_line(payload.line)
    if line is None or line.blocked or line.fingerprint != payload.fingerprint or state.is_set_aside(line.id):
        return state
    tick = Tick(stamp, payload.fingerprint, line.name, line.show)
    return replace(state, ticks={**state.ticks, line.id: tick}, changes=without(state.changes, line.id))


@apply.register
def _untick(payload: Unticked, state: Preparation, _stamp: Attribution) -> Preparation:
    return replace(state, ticks=without(state.ticks, payload.line))


@apply.register
def _set_aside(payload: SetAside, state: Preparation, stamp: Attribution) -> Preparation:
    line = state.find_line(payload.line)
    if line is None or line.essential or line.fingerprint != payload.fingerprint or state.is_ticked(line.id):
        return state
    aside = Aside(stamp, payload.fingerprint, line.name, line.show, payload.reason)
    asides = {**state.set_asides, line.id: aside}
    return replace(state, set_asides=asides, changes=without(state.changes, line.id))


@apply.register
def _restore(payload: Restored, state: Preparation, _stamp: Attribution) -> Preparation:
    asides = without(state.set_asides, payload.line)
    return replace(state, set_asides=asides, changes=without(state.changes, payload.line))


@apply.register
def _read_aloud(payload: ReadAloud, state: Preparation, stamp: Attribution) -> Preparation:
    return replace(state, read_aloud=ReadOut(payload.standing, stamp))


@apply.register
def _unanswer(payload: Unanswered, state: Preparation, _stamp: Attribution) -> Preparation:
    return replace(state, answers={name: each for name, each in state.answers.items() if name not in payload.criteria})


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
