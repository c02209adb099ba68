"""The chain: how each record is bound to the one before it, and how a break is found and named.

There is one chain over the whole store, in order of position. It shows that a record was changed, removed, inserted or
moved by somebody who did not rewrite every record after it. It cannot show that everything from some record on was
written again with new hashes: only a hash kept elsewhere (on a printed page, in another system) does.

Pure except for `check_store`, which reads through the `Store` it is given.
"""

from collections.abc import Iterable, Sequence
from hashlib import sha256

from msgspec import Struct, field
from msgspec.structs import astuple, fields, replace

from prepkit.attribution import Attribution
from prepkit.canonical import write_unchecked
from prepkit.store.derived import StreamIndexBuilder, check_stream_index
from prepkit.store.interface import Store
from prepkit.store.records import Draft, Record

START = "0" * 64
"""What the first record has for the hash before it."""

_TYPES = tuple(field.type for field in fields(Record))
_NAMES = {int: "a whole number", float: "a number with a point", str: "text", bytes: "raw bytes", type(None): "nothing"}


class ChainProblem(Struct, frozen=True):
    """One record that is not as it was written, or one run of records that is missing."""

    position: int | None
    """The record's position; None where the record itself does not give one."""
    words: str
    """What is wrong, beginning with the record: 'record 5 (number 2 of preparation "a"): ...'."""
    is_derived: bool = False
    """Whether only what is derived from the records is wrong: `Store.rebuild_stream_index` puts that right."""


def compute_hash(record: Record) -> str:
    """Compute the hash of one record, 64 lower-case hex digits, from all its fields but `hash` itself.

    It is the SHA-256 of the UTF-8 bytes of `before` (64 hex digits), directly followed by the JSON array
    [position, prep, seq, kind, form, at, who, verified, where, body] as RFC 8785 writes it: no space between the
    items, text unescaped but for the quote, the backslash and the control characters below U+0020.
    """
    r = record
    array = [r.position, r.prep, r.seq, r.kind, r.form, r.at, r.who, r.verified, r.where, r.body]
    text = r.before + write_unchecked(array)
    # In a changed file, bytes that are not UTF-8 become lone surrogates; they must give a wrong hash, not an error.
    return sha256(text.encode("utf-8", "surrogatepass")).hexdigest()


def compute_records(
    drafts: Sequence[Draft], attribution: Attribution, *, prep: str, seq: int, position: int, before: str
) -> tuple[Record, ...]:
    """Compute the records that follow the record at `position` with hash `before`, the preparation being at `seq`."""
    records: list[Record] = []
    for step, draft in enumerate(drafts, 1):
        unsealed = Record(
            position=position + step,
            prep=prep,
            seq=seq + step,
            kind=draft.kind,
            form=draft.form,
            at=attribution.recorded_at,
            who=attribution.who,
            verified=int(attribution.verified),
            where=attribution.where,
            body=draft.body,
            before=before,
            hash="",
        )
        records.append(replace(unsealed, hash=compute_hash(unsealed)))
        before = records[-1].hash
    return tuple(records)


def check_chain(records: Iterable[Record], last: int | None = None) -> tuple[ChainProblem, ...]:
    """Name every record that is not as it was written, in order.

    `records` are all records of a store in order of position. `last` is the last position that the store ever gave out
    (`Store.read_last`): without it nobody would miss records taken from the very end. No record makes this fail,
    whatever was put into it.
    """
    walk = _ChainCheck()
    problems = [problem for record in records for problem in walk.check_next(record)]
    if last is not None and walk.position < last:
        gap = _name_gap(walk.position + 1, last)
        problems.append(ChainProblem(walk.position + 1, f"{gap} missing at the end of the store"))
    return tuple(problems)


def check_store(store: Store) -> tuple[ChainProblem, ...]:
    """Check a whole store: medium, chain and stream index. Others may go on writing.

    Raises StoreError where it cannot be read.
    """
    last = store.read_last()  # first: records that are added from here on are no gap
    stored, walk = store.read_stream_index(), StreamIndexBuilder()
    known = max((entry.last for entry in stored if type(entry.last) is int), default=last)
    known = max(known, last)
    chain = check_chain(_build_index(store.read_all(), known, walk), last)
    return (
        *chain,
        *(ChainProblem(None, words) for words in store.check_medium()),
        *(ChainProblem(None, words, is_derived=True) for words in check_stream_index(stored, walk.entries)),
    )


def _build_index(records: Iterable[Record], known: int, walk: StreamIndexBuilder) -> Iterable[Record]:
    """Pass the records on, and build an index of those that the stored stream index can know of."""
    for r in records:
        if type(r.position) is int and r.position <= known:
            walk.take(r.position, r.prep, r.kind, r.hash)
        yield r


def check_fields(record: Record) -> tuple[str, ...]:
    """Name the fields that hold a wrong type, which can only come from outside."""
    found = tuple(map(type, astuple(record)))
    if found == _TYPES:  # quickly, for every record that is read
        return ()
    return tuple(
        f'"{name}" should be {_NAMES[wanted]} and is {_NAMES.get(each, "something else")}'
        for name, each, wanted in zip(Record.__struct_fields__, found, _TYPES, strict=True)
        if each is not wanted
    )


class _ChainCheck(Struct):
    """How far a check has come: what the next record has to follow."""

    position: int = 0
    hash: str | None = START
    """None after a record that has no hash to follow."""
    seqs: dict[str, int | None] = field(default_factory=dict)

    def check_next(self, record: Record) -> tuple[ChainProblem, ...]:
        odd = check_fields(record)
        faults = odd or (*self._check_place(record), *_check_content(record), *self._check_seq(record))
        problem = ChainProblem(_whole(record.position), f"{self._name(record)}: {'; '.join(faults)}")
        self._go_on(record)
        return (problem,) if faults else ()

    def _check_place(self, record: Record) -> Iterable[str]:
        expected = self.position + 1
        if record.position > expected:
            yield f"{_name_gap(expected, record.position - 1)} missing before it"
        elif record.position < expected:
            yield f"it stands out of order, after record {self.position}"
        elif self.hash is not None and record.before != self.hash:
            yield f"it does not follow {self._name_before()}: one of the two was changed"

    def _check_seq(self, record: Record) -> Iterable[str]:
        known = self.seqs.get(record.prep, 0)
        if known is not None and record.seq != known + 1:
            yield f"its preparation went on from number {known} to number {record.seq}"

    def _go_on(self, record: Record) -> None:
        self.position = record.position if type(record.position) is int else self.position + 1
        self.hash = record.hash if type(record.hash) is str else None
        if type(record.prep) is str:
            self.seqs[record.prep] = _whole(record.seq)

    def _name(self, record: Record) -> str:
        if type(record.position) is not int:
            return f"the record after record {self.position}"
        if type(record.prep) is not str or type(record.seq) is not int:
            return f"record {record.position}"
        return f"record {record.position} (number {record.seq} of preparation {record.prep!a})"

    def _name_before(self) -> str:
        return f"record {self.position}" if self.position else "the beginning"


def _check_content(record: Record) -> Iterable[str]:
    if compute_hash(record) != record.hash:
        yield "its content is not what was written"


def _name_gap(first: int, last: int) -> str:
    return f"record {first} is" if first == last else f"records {first} to {last} are"


def _whole(value: object) -> int | None:
    return value if type(value) is int else None
