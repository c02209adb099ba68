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

    Every method raises a StoreError where the store cannot be used; after one, the store is as it was and can be used
    again.
    """

    name: str
    """What a person knows the store by: a file's path, or a server's address without the password."""
    is_new: bool
    """Whether there was nothing yet when it was opened: worth saying, in case the wrong file was named."""

    def append(
        self, prep: str, expected_seq: int, drafts: Sequence[Draft], attribution: Attribution
    ) -> tuple[Record, ...]:
        """Add all the drafts, or none; they are durable when this returns.

        `expected_seq` is the number of the preparation's last record that the caller knows, 0 for a new preparation;
        where there are more by now, Conflict is raised. StoreUnfit is raised for what no store may keep. After
        StoreFailed, and only then, the drafts may have been added all the same: read again.
        """

    def import_records(self, records: Sequence[Record]) -> None:
        """Add records of another store exactly as they are, all or none; durable when this returns.

        Raises StoreUnfit where they do not follow the last record that is here, or are not as they were written.
        """

    def read(self, prep: str, after: int = 0, most: int | None = None) -> tuple[Record, ...]:
        """Read the records of one preparation with a number greater than `after`, in order; none where it is unknown.

        `most` is how many at most. Raises StoreDamaged where a record is not even of the right form. The chain is not
        checked here.
        """

    def read_open(self) -> tuple[str, ...]:
        """Read which preparations have no record of a kind in `CLOSING`, the oldest first; as quick as they are few."""

    def read_ended(self, most: int, before: int | None = None) -> tuple[StreamIndexEntry, ...]:
        """Read at most so many of the others, the last ended first; as quick as they are few.

        `before` is the `ended` of the last one of the page before: only what ended before it is read.
        """

    def read_stream_index(self) -> tuple[StreamIndexEntry, ...]:
        """Read where each preparation stands, the oldest first, as it was at one moment."""

    def rebuild_stream_index(self) -> None:
        """Work all heads out again from the records. For a store whose heads were found to be wrong."""

    def read_unprojected(self, kind: str, builder: str) -> tuple[str, ...]:
        """Read which preparations have no gist of this sort and maker that counts, the oldest first."""

    def read_projections(
        self, kind: str, builder: str, first: str = "", last: str | None = None
    ) -> tuple[Projection, ...]:
        """Read the gists of one sort that count, with a key from `first` to `last` (None: any), in order of key.

        A gist counts where its hash is that of the preparation's last record and its maker is this one.
        Keys are in order of their characters' numbers.
        """

    def write_projections(self, kind: str, builder: str, projections: Iterable[Projection]) -> None:
        """Keep gists; each takes the place of the one of this sort and preparation, whoever made that.

        `builder` names what made them, so that a gist by other code does not count. To others this may be news.
        """

    def read_all(self) -> Iterator[Record]:
        """Every record in order of position, exactly as found; for `check_chain` and for copies.

        Others may write meanwhile; what they add may or may not come.
        """

    def read_last(self) -> int:
        """Read the last position that was ever given out, as the store itself counted it; 0 for an empty store."""

    def check_medium(self) -> tuple[str, ...]:
        """Say what the database itself finds wrong with what it keeps, in words; nothing where it is sound.

        The chain shows what was changed; this shows what was damaged underneath, which the chain may not see.
        """

    def has_news(self) -> bool:
        """Tell whether another connection wrote since this was last asked, or since opening; cheap."""

    def write_copy(self, target: Path) -> None:
        """Write everything as it is at one moment into a new store at `target`, for this person's eyes only.

        Others may go on writing meanwhile. Durable when this returns. Raises StoreUnreachable where `target` is there
        already; where it fails, nothing is left at `target`.
        """

    def close(self) -> None:
        """Let go of the store; closing twice is no error."""

    def __enter__(self) -> Self: ...

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None: ...
