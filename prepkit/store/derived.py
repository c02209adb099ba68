"""What is derived from the records and kept beside them, so that nobody has to read them all.

That is the stream index and the projections. Nothing is kept in them alone: the index is rebuilt from the records, a
projection by whoever built it. In SQL they keep the names `head`, `gist`, `sort` and `maker`. Pure.
"""

from collections.abc import Iterable, Iterator

from msgspec import Struct, field

CLOSING = frozenset({"closed", "stood-down"})
"""The kinds that end a preparation. The store has to know them, because it says which preparations are open without
asking anybody what a record means. A test holds that they are the kinds of the events that end one."""


class StreamIndexEntry(Struct, frozen=True):
    """Where one preparation stands in the store."""

    prep: str
    first: int
    """Position of its first record."""
    last: int
    """Position of its last record."""
    hash: str
    """Hash of its last record: whatever was built from the preparation at this hash is up to date."""
    ended: int | None
    """Position of the first record of a kind in `CLOSING`; None while it is open."""


class Projection(Struct, frozen=True):
    """Something built from one preparation, so that finding it or adding it up reads no events."""

    prep: str
    hash: str
    """Hash of the preparation's last record when this was built: it is valid for no other."""
    key: str
    """The key to find it by."""
    body: str
    """Written and read by the caller alone."""


class StreamIndexBuilder(Struct):
    """Builds the stream index, record by record in order of position."""

    entries: dict[str, StreamIndexEntry] = field(default_factory=dict)
    """By preparation, the oldest first."""

    def take(self, position: int, prep: str, kind: str, record_hash: str) -> None:
        """Add one more record, as found.

        A record whose preparation is not even text can only come from outside: it is skipped here, and the check of the
        chain names it.
        """
        if not is_text(prep):
            return
        known = self.entries.get(prep)
        ended = known.ended if known else None
        if ended is None and kind in CLOSING:
            ended = position
        found = record_hash if is_text(record_hash) else ""
        self.entries[prep] = StreamIndexEntry(prep, known.first if known else position, position, found, ended)


def check_stream_index(stored: Iterable[StreamIndexEntry], entries: dict[str, StreamIndexEntry]) -> Iterator[str]:
    """Name each preparation whose entry in the stored index is not what its records give, in words."""
    found = {entry.prep: entry for entry in stored}
    for prep in [*entries, *(prep for prep in found if prep not in entries)]:
        if found.get(prep) != entries.get(prep):
            yield f"preparation {prep!a} is kept as {_say(found.get(prep))}; its records say {_say(entries.get(prep))}"


def is_text(value: object) -> bool:
    """Whether this is text that any store can keep; a changed file may hold something else."""
    if type(value) is not str:
        return False
    try:
        value.encode()
    except UnicodeEncodeError:
        return False
    return True


def _say(entry: StreamIndexEntry | None) -> str:
    if entry is None:
        return "unknown"
    ended = "open" if entry.ended is None else f"ended with record {entry.ended!a}"
    return f"{ended} (records {entry.first!a} to {entry.last!a}, {ascii(entry.hash)[:13]})"
