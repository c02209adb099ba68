"""The event repository: reads a stream, folds it, and appends what was decided.

A stream is a preparation's or the staff list's. A decision made on an outdated state is made again on the
new one: nothing is merged blindly.
"""

from collections.abc import Callable
from datetime import datetime
from typing import Generic, Protocol, TypeVar

from msgspec import Struct

from prepkit.attribution import Attribution
from prepkit.errors import Conflict, StoreDamaged, StoreUnfit
from prepkit.people import STAFF_STREAM
from prepkit.preparation.codec import PREPARATION_CODEC, Codec, RecordUnreadable
from prepkit.preparation.decision import Decision
from prepkit.preparation.events import Event, Payload
from prepkit.preparation.evolve import evolve, fold
from prepkit.preparation.payload import StoredPayload
from prepkit.preparation.state import Preparation
from prepkit.preparation.text import Refusal
from prepkit.store import Draft, Record, Store, compute_hash

_MOST_TRIES = 25


class FoldedState(Protocol):
    """A state that knows its last event."""

    @property
    def seq(self) -> int:
        """The number of that event; 0 before the first."""
        ...


_State = TypeVar("_State", bound=FoldedState)
_Payload = TypeVar("_Payload", bound=StoredPayload)


class DecisionResult(Struct, Generic[_State], frozen=True):
    """What became of a decision: the state after it, and why it was refused (empty where it was not)."""

    state: _State
    refusal: str


class EventRepository(Struct, Generic[_State, _Payload], frozen=True):
    """Reads, folds and appends the events of one kind of stream."""

    what: str
    """What such a stream is, for sentences: "preparation"."""
    codec: Codec[_Payload]
    apply: Callable[[_State, int, Attribution, _Payload], _State]
    """The state after one more event: its number, its attribution, its payload."""

    def read_on(self, store: Store, stream: str, state: _State) -> _State:
        """The state after whatever others wrote meanwhile; the same object where nobody did.

        Raises:
            StoreDamaged: where a record cannot be trusted, in words.
        """
        try:
            for record in store.read(stream, after=state.seq):
                state = self._take(state, record)
        except RecordUnreadable as error:
            raise report_unreadable(self.what, stream, error) from error
        return state

    def decide_and_append(
        self,
        store: Store,
        stream: str,
        state: _State,
        decide: Callable[[_State], tuple[_Payload, ...] | Refusal],
        stamp: Attribution,
    ) -> DecisionResult[_State]:
        """Decide, and append what was decided; durable when this returns.

        If another device wrote meanwhile, its events are folded first and the decision is made again. A decision names
        the value it was made for, so it holds or is refused with the reason, and is never merged blindly.
        """
        for _ in range(_MOST_TRIES):
            decision = decide(state)
            if isinstance(decision, Refusal):
                return DecisionResult(state, decision.reason)
            if not decision:
                return DecisionResult(state, "")
            try:
                records = self.append(store, stream, state.seq, decision, stamp)
            except Conflict:
                state = self.read_on(store, stream, state)
                continue
            for record in records:
                state = self._take(state, record)
            return DecisionResult(state, "")
        return DecisionResult(
            state, f"Another device keeps writing to this {self.what}: nothing was changed. Try again."
        )

    def append(
        self, store: Store, stream: str, seq: int, payloads: tuple[_Payload, ...], stamp: Attribution
    ) -> tuple[Record, ...]:
        """Append payloads after the event numbered `seq`. Raises `Conflict` if that is no longer the last."""
        try:
            drafts = [Draft(*self.codec.encode(payload)) for payload in payloads]
        except ValueError as error:
            raise StoreUnfit(f"This cannot be stored: {error}. Nothing was changed.") from error
        return store.append(stream, seq, drafts, stamp)

    def read_payload(self, record: Record) -> _Payload:
        """The payload of one record. Raises `RecordUnreadable`."""
        return self.codec.read(record.seq, record.kind, record.form, record.body)

    def _take(self, state: _State, record: Record) -> _State:
        return self.apply(state, record.seq, read_attribution(record), self.read_payload(record))


_PREPARATIONS: EventRepository[Preparation, Payload] = EventRepository(
    "preparation",
    PREPARATION_CODEC,
    lambda state, seq, stamp, payload: evolve(state, Event(seq, stamp, payload)),
)


def read_preparation(store: Store, prep: str) -> Preparation:
    """Fold one preparation from the store.

    Raises:
        StoreDamaged: where a record cannot be taken for true, in words.
    """
    try:
        return fold(read_event(record) for record in store.read(prep))
    except RecordUnreadable as error:
        raise report_unreadable(_PREPARATIONS.what, prep, error) from error


def read_events(store: Store, prep: str) -> tuple[Event, ...]:
    """Every event of one preparation, in order.

    Raises:
        StoreDamaged: as `read_preparation` does.
    """
    try:
        return tuple(read_event(record) for record in store.read(prep))
    except RecordUnreadable as error:
        raise report_unreadable(_PREPARATIONS.what, prep, error) from error


def read_on(store: Store, prep: str, state: Preparation) -> Preparation:
    """The preparation after whatever others wrote meanwhile; see `EventRepository.read_on`."""
    return _PREPARATIONS.read_on(store, prep, state)


def decide_and_append(
    store: Store, prep: str, state: Preparation, decide: Callable[[Preparation], Decision], stamp: Attribution
) -> DecisionResult[Preparation]:
    """Decide on a preparation, and append what was decided; see `EventRepository.decide_and_append`."""
    return _PREPARATIONS.decide_and_append(store, prep, state, decide, stamp)


def append_first(store: Store, prep: str, decision: Decision, stamp: Attribution) -> Preparation | Refusal:
    """Append the first events of a new preparation."""
    if isinstance(decision, Refusal):
        return decision
    records = _PREPARATIONS.append(store, prep, 0, decision, stamp)
    return fold(read_event(record) for record in records)


def read_attribution(record: Record) -> Attribution:
    """Who, when and where. Raises `RecordUnreadable`, for a record that was changed too: nobody may rely on it."""
    if compute_hash(record) != record.hash:
        raise RecordUnreadable(f"event {record.seq}: it is not what was written")
    try:
        at = datetime.fromisoformat(record.at)
        return Attribution(record.who, at, record.where, verified=record.verified == 1)
    except ValueError as error:
        raise RecordUnreadable(f"event {record.seq}: {error}") from error


def report_unreadable(what: str, stream: str, error: RecordUnreadable) -> StoreDamaged:
    """The error for a stream whose record cannot be trusted."""
    return StoreDamaged(f'The record of {what} "{stream}" cannot be read: {error}.')


def read_event(record: Record) -> Event:
    """The event of a preparation that a record holds. Raises `RecordUnreadable`."""
    return Event(record.seq, read_attribution(record), _PREPARATIONS.read_payload(record))


class StoredPreparation(Struct, frozen=True):
    """One preparation as the store keeps it."""

    prep: str
    events: tuple[Event, ...]
    state: Preparation
    last_hash: str
    """Of its last record."""

    def words(self) -> str:
        """Which one it is, in a line."""
        practice = " · practice" if self.state.practice else ""
        ended = "closed" if self.state.cot_record.closed else "stood down" if self.state.stood_down else "in progress"
        started = f"{self.state.started.at:%Y-%m-%d %H:%M}"
        return f"{self.prep}  {self.state.cot} · {self.state.kit_name} · started {started} · {ended}{practice}"


def list_preparation_ids(store: Store) -> tuple[str, ...]:
    """The id of every preparation, closed ones too, the oldest first."""
    return tuple(entry.prep for entry in store.read_stream_index() if entry.prep != STAFF_STREAM)


def read_stored_preparation(store: Store, prep: str) -> StoredPreparation:
    """Read one preparation whole.

    Raises:
        StoreDamaged: where its record cannot be taken for true.
    """
    records = store.read(prep)
    try:
        events = tuple(read_event(record) for record in records)
        return StoredPreparation(prep, events, fold(events), records[-1].hash)
    except RecordUnreadable as error:
        raise StoreDamaged(f'The record of preparation "{prep}" cannot be read: {error}.') from error
