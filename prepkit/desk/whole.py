"""Preparations read whole from the store: every event, and what they fold to.

May import: `prepkit.store`, `prepkit.preparation`, `prepkit.people`, `ledger` of this layer.
"""

from msgspec import Struct

from prepkit.desk.ledger import read_event
from prepkit.errors import StoreDamaged
from prepkit.preparation.codec import RecordUnreadable
from prepkit.preparation.events import Event
from prepkit.preparation.evolve import fold
from prepkit.preparation.state import Preparation
from prepkit.preparation.streams import STAFF
from prepkit.store import Store


class Kept(Struct, frozen=True):
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


def list_ids(store: Store) -> tuple[str, ...]:
    """The id of every preparation, closed ones too, the oldest first."""
    return tuple(head.prep for head in store.read_heads() if head.prep != STAFF)


def read_kept(store: Store, prep: str) -> Kept:
    """Read one preparation whole.

    Raises:
        StoreDamaged: where its record cannot be taken for true.
    """
    records = store.read(prep)
    try:
        events = tuple(read_event(record) for record in records)
        return Kept(prep, events, fold(events), records[-1].hash)
    except RecordUnreadable as error:
        raise StoreDamaged(f'The record of preparation "{prep}" cannot be read: {error}.') from error
