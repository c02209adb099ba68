"""Every way to read a GS1 string that has no separators in it.

A separator ends a field of varying length; many keyboard-wedge scanners drop it, and then nothing in the string says
where a batch ends. So every reading is looked for, not the first: whoever asks takes one only where there is no other.
May import: `prepkit.scan.fields`, msgspec, the standard library.
"""

import re
from collections.abc import Iterator, Mapping
from datetime import date

from msgspec import Struct

from prepkit.scan.fields import MOST_IN_A_BATCH, Unread, read_gtin, read_six_digits

GTIN, BATCH, EXPIRY, SERIAL = "01", "10", "17", "21"
"""The application identifiers (AI) that are looked for."""


class _Field(Struct, frozen=True):
    """A field that may stand in the code of a medicine or a device."""

    name: str
    ai: re.Pattern[str]
    least: int
    most: int


_DATES = ("11", "13", EXPIRY, "15", "16")
_FIELDS = (
    _Field(GTIN, re.compile(GTIN), 14, 14),
    # Of production, packaging, expiry, best before, sell by.
    *(_Field(name, re.compile(name), 6, 6) for name in _DATES),
    _Field(BATCH, re.compile(BATCH), 1, MOST_IN_A_BATCH),
    _Field(SERIAL, re.compile(SERIAL), 1, 20),
    # Not asked for, but they stand on such codes and must not be taken for the end of a batch: an additional number of
    # the maker's, and one national number for reimbursement.
    _Field("240", re.compile("240"), 1, 30),
    _Field("71", re.compile("71[0-7]"), 1, 20),
)


def list_readings(text: str, today: date) -> Iterator[Mapping[str, str]]:
    """List every way to cut the text into fields, each once, with a GTIN that is right and an expiry that exists.

    Args:
        text: of characters that GS1 allows, without separators and without a symbology prefix.
        today: decides the century of a date.

    """
    yield from (reading for reading in _read_on(text, 0, {}, today) if GTIN in reading and EXPIRY in reading)


def _read_on(text: str, at: int, taken: Mapping[str, str], today: date) -> Iterator[Mapping[str, str]]:
    if at == len(text):
        yield taken
        return
    for field in _FIELDS:
        found = field.ai.match(text, at)
        if found is None or field.name in taken:
            continue
        begin = found.end()
        for end in range(begin + field.least, min(begin + field.most, len(text)) + 1):
            value = text[begin:end]
            if _may_be(field.name, value, today):
                yield from _read_on(text, end, {**taken, field.name: value}, today)


def _may_be(name: str, value: str, today: date) -> bool:
    if name == GTIN:
        return not isinstance(read_gtin(value), Unread)
    return name not in _DATES or read_six_digits(value, today) is not None
