"""What a store can do, whatever database is behind it.

A store on another database has to pass the contract suite in `tests/store/contract.py`.
"""

from collections.abc import Iterable, Iterator, Sequence
from pathlib import Path
from types import TracebackType
from typing import Protocol, Self

from prepkit.attribution import Attribution
from prepkit.store.derived import Projection, StreamIndexEntry
from prepkit.store.records import Draft, Record


class Store(Protocol):
    """One connection to a store. It belongs to the thread that opened it.

    Every method raises a StoreError where the store cannot be used. After that the store is as it was, and can be used
    again.
    """

    name: str
    """What a person knows the store by: a file's path, or a server's address without the password."""
    is_new: bool
    """Whether it was empty when it was opened: worth saying, in case the wrong file was named."""

    def append(
        self, prep: str, expected_seq: int, drafts: Sequence[Draft], attribution: Attribution
    ) -> tuple[Record, ...]:
        """Add all the drafts, or none; they are durable when this returns.

        `expected_seq` is the number of the preparation's last record that the caller knows, 0 for a new preparation.
        Raises Conflict where there are more by now, and StoreUnfit for what no store may keep. After StoreFailed, and
        only then, the drafts may have been added all the same: read again.
        """

    def import_records(self, records: Sequence[Record]) -> None:
        """Add records of another store exactly as they are, all or none; durable when this returns.

        Raises StoreUnfit where they do not follow the last record here, or are not as they were written.
        """

    def read(self, prep: str, after: int = 0, most: int | None = None) -> tuple[Record, ...]:
        """Read the records of one preparation with a number greater than `after`, in order; none where it is unknown.

        `most` limits how many. Raises StoreDamaged where a record has not even the right types. Does not check the
        chain.
        """

    def read_open(self) -> tuple[str, ...]:
        """Read which preparations have no record of a kind in `CLOSING`, the oldest first; the fewer, the quicker."""

    def read_ended(self, most: int, before: int | None = None) -> tuple[StreamIndexEntry, ...]:
        """Read at most `most` of the others, the last ended first; the fewer, the quicker.

        `before` is the `ended` of the last entry of the page before: only what ended before it is read.
        """

    def read_stream_index(self) -> tuple[StreamIndexEntry, ...]:
        """Read the entry of each preparation, the oldest first, as they were at one moment."""

    def rebuild_stream_index(self) -> None:
        """Rebuild the stream index from the records, for a store whose index was found to be wrong."""

    def read_unprojected(self, kind: str, builder: str) -> tuple[str, ...]:
        """Read which preparations have no valid projection of this kind and builder, the oldest first."""

    def read_projections(
        self, kind: str, builder: str, first: str = "", last: str | None = None
    ) -> tuple[Projection, ...]:
        """Read the valid projections of one kind, with a key from `first` to `last` (None: any), in order of key.

        A projection is valid if its hash is that of the preparation's last record and its builder is this one.
        Keys are in order of their characters' numbers.
        """

    def write_projections(self, kind: str, builder: str, projections: Iterable[Projection]) -> None:
        """Store projections; each replaces the one of its kind and preparation, whoever built that.

        `builder` names the code that built them, so that other code's projections do not count. Other connections may
        see this as news.
        """

    def read_all(self) -> Iterator[Record]:
        """Every record in order of position, exactly as found; for `check_chain` and for copies.

        Others may write meanwhile; what they add may or may not be included.
        """

    def read_last(self) -> int:
        """Read the last position that the store ever gave out, as it counted itself; 0 for an empty store."""

    def check_medium(self) -> tuple[str, ...]:
        """Say what the database itself finds wrong with its content, in words; nothing where it is sound.

        The chain shows what was changed. This shows damage underneath, which the chain may not see.
        """

    def has_news(self) -> bool:
        """Tell whether another connection wrote since this was last asked, or since opening; cheap."""

    def write_copy(self, target: Path) -> None:
        """Write everything, as it is at one moment, into a new store at `target` that only this person can read.

        Others may go on writing meanwhile. Durable when this returns. Raises StoreUnreachable where `target` exists;
        where it fails, nothing is left there.
        """

    def close(self) -> None:
        """Close the store; closing twice is no error."""

    def __enter__(self) -> Self: ...

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None: ...
