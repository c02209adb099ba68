"""How a new list and the events of its lines change the state.

An event for something that is not on the list as it stood is ignored.
"""

from msgspec.structs import replace

from prepkit.attribution import Attribution
from prepkit.preparation.batches.apply import void_batches
from prepkit.preparation.check.apply import void_checks
from prepkit.preparation.lines.events import (
    Aside,
    GivenOrder,
    GivenValue,
    Listed,
    Ordered,
    Restored,
    SetAside,
    Tick,
    Ticked,
    Unticked,
    ValueEntered,
)
from prepkit.preparation.lines.marks import Marks, compute_marks
from prepkit.preparation.state import Preparation, apply, drop_list, without


@apply.register
def _list(payload: Listed, state: Preparation, stamp: Attribution) -> Preparation:
    if state.disputed is not None and payload.lines:
        return state  # kept out: it was made from one of two weights that stand against each other
    moved = replace(state, lines=payload.lines, withheld=payload.withheld, why=payload.why)
    if payload.withheld:
        return moved
    marks = compute_marks(Marks(state.ticks, state.set_asides, state.changes), payload.lines, stamp.at)
    shows = {**state.shows, **{(line.id, line.fingerprint): line.show for line in payload.lines}}
    moved = replace(moved, ticks=marks.ticks, set_asides=marks.set_asides, changes=marks.changes, shows=shows)
    return void_checks(void_batches(moved), stamp.at)


@apply.register
def _order(payload: Ordered, state: Preparation, stamp: Attribution) -> Preparation:
    order = GivenOrder(payload, stamp)
    # As with a fact: a list made from another order is no list.
    return drop_list(replace(state, orders={**state.orders, payload.line: order}))


@apply.register
def _enter_value(payload: ValueEntered, state: Preparation, stamp: Attribution) -> Preparation:
    return drop_list(replace(state, entered={**state.entered, payload.line: GivenValue(payload.value, stamp)}))


@apply.register
def _tick(payload: Ticked, state: Preparation, stamp: Attribution) -> Preparation:
    line = state.find_line(payload.line)
    if line is None or line.blocked or line.asks or line.enters or line.fingerprint != payload.fingerprint:
        return state
    if state.is_set_aside(line.id):
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
    # Of a line that waits for a fact: what rested on it is not needed any more.
    ticks = without(state.ticks, line.id)
    return replace(state, ticks=ticks, set_asides=asides, changes=without(state.changes, line.id))


@apply.register
def _restore(payload: Restored, state: Preparation, _stamp: Attribution) -> Preparation:
    asides = without(state.set_asides, payload.line)
    return replace(state, set_asides=asides, changes=without(state.changes, payload.line))
