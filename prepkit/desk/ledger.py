"""The ledger: one preparation's events between the store and the fold.

May import: `prepkit.store`, `prepkit.preparation`.
"""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime

from prepkit.errors import Conflict, StoreDamaged, StoreUnfit
from prepkit.preparation.codec import RecordUnreadable, encode_payload, read_payload
from prepkit.preparation.decision import Decision
from prepkit.preparation.events import Event, Payload, Stamp
from prepkit.preparation.evolve import evolve, fold
from prepkit.preparation.state import Preparation
from prepkit.preparation.text import Refusal
from prepkit.store import Draft, Record, Store

_MOST_TRIES = 5


@dataclass(frozen=True, slots=True)
class Written:
    """What became of a decision: the state after it, and why it was refused (empty where it was not)."""

    state: Preparation
    refusal: str


def read_preparation(store: Store, prep: str) -> Preparation:
    """Fold one preparation from the store.

    Raises:
        StoreDamaged: where a record cannot be taken for true, in words.
    """
    try:
        return fold(_to_event(record) for record in store.read(prep))
    except RecordUnreadable as error:
        raise StoreDamaged(f'The record of preparation "{prep}" cannot be read: {error}.') from error


def read_events(store: Store, prep: str) -> tuple[Event, ...]:
    """Every event of one preparation, in order.

    Raises:
        StoreDamaged: as `read_preparation` does.
    """
    try:
        return tuple(_to_event(record) for record in store.read(prep))
    except RecordUnreadable as error:
        raise StoreDamaged(f'The record of preparation "{prep}" cannot be read: {error}.') from error


def read_on(store: Store, prep: str, state: Preparation) -> Preparation:
    """The state after whatever others wrote meanwhile; the same object where nobody did."""
    try:
        for record in store.read(prep, after=state.seq):
            state = evolve(state, _to_event(record))
    except RecordUnreadable as error:
        raise StoreDamaged(f'The record of preparation "{prep}" cannot be read: {error}.') from error
    return state


def write_decision(
    store: Store, prep: str, state: Preparation, decide: Callable[[Preparation], Decision], stamp: Stamp
) -> Written:
    """Decide, and append what was decided; durable when this returns.

    Where another device wrote meanwhile, its events are taken in first and the decision is made again: it names the
    value it was made for, so that it holds or is refused with the reason, and is never merged blindly.
    """
    for _ in range(_MOST_TRIES):
        decision = decide(state)
        if isinstance(decision, Refusal):
            return Written(state, decision.reason)
        if not decision:
            return Written(state, "")
        drafts = _encode(decision)
        at = stamp.at.isoformat(timespec="milliseconds")
        try:
            records = store.append(prep, state.seq, drafts, at=at, who=stamp.who, where=stamp.where)
        except Conflict:
            state = read_on(store, prep, state)
            continue
        for record in records:
            state = evolve(state, _to_event(record))
        return Written(state, "")
    return Written(state, "Another device keeps writing to this preparation: nothing was changed. Try again.")


def write_first(store: Store, prep: str, decision: Decision, stamp: Stamp) -> Preparation | Refusal:
    """Append the first events of a new preparation."""
    if isinstance(decision, Refusal):
        return decision
    drafts = _encode(decision)
    at = stamp.at.isoformat(timespec="milliseconds")
    records = store.append(prep, 0, drafts, at=at, who=stamp.who, where=stamp.where)
    return fold(_to_event(record) for record in records)


def _encode(decision: tuple[Payload, ...]) -> list[Draft]:
    try:
        return [Draft(*encode_payload(payload)) for payload in decision]
    except ValueError as error:
        raise StoreUnfit(f"This cannot be stored: {error}. Nothing was changed.") from error


def _to_event(record: Record) -> Event:
    try:
        stamp = Stamp(record.who, datetime.fromisoformat(record.at), record.where)
    except ValueError as error:
        raise RecordUnreadable(f"event {record.seq}: {error}") from error
    return Event(record.seq, stamp, read_payload(record.seq, record.kind, record.version, record.body))
