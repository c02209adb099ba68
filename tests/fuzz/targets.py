"""What is fuzzed: from any bytes, a reader gives a value that holds its law, or says in words why it does not.

Each target takes the bytes of one try. What it raises is a finding. No fuzzer is imported here, so that the ordinary
tests can run the kept corpus through the same functions.
"""

import os
import sqlite3
import tempfile
from collections.abc import Callable
from contextlib import closing
from datetime import date, datetime
from functools import cache
from pathlib import Path

from prepkit.attribution import Attribution
from prepkit.errors import StoreError
from prepkit.kit.read import read_kit, read_text, read_ward
from prepkit.people.events import STAFF_PAYLOADS
from prepkit.preparation.codec import PREPARATION_CODEC, Codec, RecordUnreadable
from prepkit.quantities.text import UnreadableAmountError, read_amount, show_amount
from prepkit.scan.fields import Unreadable
from prepkit.scan.reader import read_scan
from prepkit.store import Draft, Record, check_chain, check_store, open_sqlite

TODAY = date(2026, 11, 25)
STAFF_CODEC = Codec(STAFF_PAYLOADS)
_SHORTEST = 4
_AT = datetime.fromisoformat("2031-05-04T03:12:00+01:00")


def read_quantity(tried: bytes) -> None:
    """An amount reads back from what is shown, or is refused with a column."""
    text = tried.decode("utf-8", "surrogateescape")
    try:
        amount = read_amount(text)
    except UnreadableAmountError as error:
        assert error.column >= 1
        assert_plain(error.reason)
        return
    assert read_amount(show_amount(amount).replace("\N{NARROW NO-BREAK SPACE}", "")) == amount


def read_toml(tried: bytes) -> None:
    """A kit or a ward file reads to a model, or to problems that each stand on a line of the file."""
    text, problems = read_text(tried, "tried.toml")
    if problems:
        return
    for read in (read_kit, read_ward):
        found, problems = read(text, "tried.toml")
        assert (found is None) == bool(problems)
        for problem in problems:
            assert 0 <= problem.line <= text.count("\n") + 1
            assert_plain(problem.wrong + problem.where + problem.excerpt)


def read_scanned(tried: bytes) -> None:
    """A scan has one reading, of printable ASCII, or is refused."""
    found = read_scan(tried.decode("utf-8", "surrogateescape"), TODAY)
    if isinstance(found, Unreadable):
        assert_plain(found.reason)
        return
    assert found.gtin.isdecimal()
    assert (found.batch + found.serial).isascii()
    assert_plain(found.batch + found.serial)


def read_event(tried: bytes) -> None:
    """A stored body is what the codec would write for its payload, or is unreadable."""
    kind, _, body = tried.decode("utf-8", "surrogateescape").partition("\n")
    for codec in (PREPARATION_CODEC, STAFF_CODEC):
        try:
            payload = codec.read(1, kind, 1, body)
        except RecordUnreadable as error:
            assert_plain(str(error))
        else:
            assert codec.encode(payload) == (kind, 1, body)


def read_store(tried: bytes) -> None:
    """A store whose bytes were changed anywhere is refused, or found to be changed, or is as it was."""
    whole, before = make_store()
    with tempfile.TemporaryDirectory(dir=_find_memory()) as folder:
        path = Path(folder) / "store.sqlite"
        changed = patch(whole, tried)
        path.write_bytes(changed)
        try:
            with open_sqlite(path, wait_ms=1) as store:
                assert store.is_new == (not changed), "a store was begun over the rest of another"
                found = check_store(store)
                assert store.is_new or found or tuple(store.read_all()) == before, "changed, and nothing was found"
        except StoreError as error:
            assert_plain(str(error))


def read_records(tried: bytes) -> None:
    """Records as found, whatever their fields hold, are named by the check or are as they were."""
    _, before = make_store()
    at = tried[0] % len(before) if tried else 0
    fields = list(_list_fields(before[at]))
    for place, value in zip(tried[1::2], tried[2::2], strict=False):
        fields[place % len(fields)] = _ODD[value % len(_ODD)] if value < 128 else tried.decode("utf-8", "replace")
    changed = Record(*fields)  # type: ignore[arg-type]  # what may come out of a changed file
    found = check_chain([*before[:at], changed, *before[at + 1 :]], len(before))
    is_same = repr(changed) == repr(before[at])  # True equals 1, and is something else
    assert bool(found) != is_same
    for problem in found:
        assert_plain(problem.words)


TARGETS: dict[str, Callable[[bytes], None]] = {
    "quantity": read_quantity,
    "toml": read_toml,
    "scan": read_scanned,
    "codec": read_event,
    "store": read_store,
    "records": read_records,
}

_ODD: tuple[object, ...] = (None, 0, 1, -1, 2**63, 1.5, b"\xff", "", "a", "\ud800", "\udc80", "\x1b[2J", True)


def assert_plain(words: str) -> None:
    """Nothing that a terminal could obey is in words that a person is shown."""
    odd = [char for char in words if not char.isprintable() and char not in "\n\N{NARROW NO-BREAK SPACE}"]
    assert not odd, ascii(words)


def patch(whole: bytes, tried: bytes) -> bytes:
    """Change bytes of a file: each five bytes are a place (two), a length, a value and how; the first may cut it."""
    changed = bytearray(whole)
    for start in range(0, len(tried) - _SHORTEST, 5):
        high, low, length, value, how = tried[start : start + 5]
        place = (high << 8 | low) % max(len(changed), 1)
        if how == 0:
            del changed[place:]
        elif how % 2:
            changed[place : place + 1] = bytes([(changed[place] if place < len(changed) else 0) ^ (value or 1)])
        else:
            changed[place : place + length] = bytes([value]) * length
    return bytes(changed)


@cache
def make_store() -> tuple[bytes, tuple[Record, ...]]:
    """A small store of two preparations: its bytes, and its records."""
    with tempfile.TemporaryDirectory(dir=_find_memory()) as folder:
        path = Path(folder) / "store.sqlite"
        with open_sqlite(path) as store:
            for seq in range(6):
                note = Draft("note", 1, f'{{"text":"{"x" * 20 * seq}"}}')
                store.append("a", seq, [note], Attribution("AB", _AT, "cot side"))
            store.append("b", 0, [note, note], Attribution("CD", _AT, ""))
            records = tuple(store.read_all())
        with closing(sqlite3.connect(path)) as other:
            other.execute("PRAGMA journal_mode = DELETE")
        return path.read_bytes(), records


def _list_fields(record: Record) -> tuple[object, ...]:
    return tuple(getattr(record, name) for name in Record.__slots__)


def _find_memory() -> str | None:
    """Where files cost no disk, on systems that have it."""
    return "/dev/shm" if os.access("/dev/shm", os.W_OK) else None  # noqa: S108
