"""Reads a scan: GTIN, batch, expiry and serial number from what a keyboard-wedge scanner typed.

biip reads a string with separators or brackets; it is imported only when such a scan arrives, since it loads slowly.
Many scanners drop the separator that ends a field of varying length, and then nothing says where a batch ends. So every
possible reading of such a string is listed, and the scan counts only if they all agree.
"""

import re
from collections.abc import Iterator, Mapping, Sequence
from datetime import date

from msgspec import Struct

from prepkit.scan.fields import MOST_IN_A_BATCH, SET_82, Unreadable, read_batch, read_gtin, read_six_digits

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
    # Nobody asks for these, but codes carry them, and they must not be taken for the end of a batch: an additional
    # number of the maker's, and one national number for reimbursement.
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
        return not isinstance(read_gtin(value), Unreadable)
    return name not in _DATES or read_six_digits(value, today) is not None


MOST_IN_A_SCAN = 200
SEPARATOR = "\x1d"
"""ASCII 29, the group separator."""

_SYMBOLOGY = re.compile(r"\](?:C1|d2|Q3|e0|J1)")
_ALLOWED = re.compile(rf"(?:{SET_82}|{SEPARATOR})*")
_BRACKETED = re.compile(r"\(([0-9]{2,4})\)([^()]+)")
_BARE_GTIN = re.compile(r"(?:\]E[04]|\]I1)?(?:[0-9]{8}|[0-9]{12,14})")
_TYPE_IT = "Scan it again, or type batch and expiry."
_NAMES = {GTIN: "product number", BATCH: "batch", EXPIRY: "expiry", SERIAL: "serial number"}


class Scanned(Struct, frozen=True):
    """What a scan says."""

    gtin: str
    """14 digits, the check digit right."""
    batch: str
    expiry: date
    serial: str
    """Empty where there is none, or where it is not certain."""


def read_scan(text: str, today: date) -> Scanned | Unreadable:
    """Read a scan, or say why it cannot be read one way only.

    With separators a string has one reading. Without them it counts only if batch and expiry are the same in every
    reading. `today` decides the century of a date.
    """
    code = text.strip(" \t\r\n")
    unfit = _find_unfit(code)
    if unfit is not None:
        return unfit
    if code.startswith("("):
        return _read_bracketed(code.replace(" ", ""), today)
    code = _SYMBOLOGY.sub("", code, count=1).lstrip(SEPARATOR)
    return _read_parts(code.split(SEPARATOR), today) if SEPARATOR in code else _read_bare(code, today)


def _find_unfit(code: str) -> Unreadable | None:
    if not code:
        return Unreadable("Nothing was scanned.")
    if len(code) > MOST_IN_A_SCAN:
        return Unreadable(f"The scan is too long: at most {MOST_IN_A_SCAN} characters (got {len(code)}). {_TYPE_IT}")
    if _BARE_GTIN.fullmatch(code):
        return Unreadable("This code is the product number alone: scan the square code, or type batch and expiry.")
    # Spaces are for people's eyes, in the bracketed form alone.
    plain = code.replace(" ", "") if code.startswith("(") else _SYMBOLOGY.sub("", code, count=1)
    end = _ALLOWED.match(plain)
    if end is not None and end.end() < len(plain):
        odd = ord(plain[end.end()])
        return Unreadable(f"The scan has a character in it that no GS1 code has (U+{odd:04X}). {_TYPE_IT}")
    return None


def _read_bracketed(code: str, today: date) -> Scanned | Unreadable:
    """Read "(01)0952...(17)271231(10)AB12"; a bracket inside a value could be read two ways and is refused."""
    parts = _BRACKETED.findall(code)
    if "".join(f"({ai}){value}" for ai, value in parts) != code:
        return Unreadable(f"The brackets of this code cannot be told from those of a batch. {_TYPE_IT}")
    return _read_parts([ai + value for ai, value in parts], today, [ai for ai, _ in parts])


def _read_parts(parts: Sequence[str], today: date, named: Sequence[str] | None = None) -> Scanned | Unreadable:
    """Read the parts between separators; `named` are the fields that brackets name, where there are brackets."""
    fields: list[tuple[str, str]] = []
    for part in parts:
        found = _split_part(part)
        if isinstance(found, Unreadable):
            return found
        fields += found
    if named is not None and [ai for ai, _ in fields] != list(named):
        return Unreadable(f"The brackets of this code do not stand where its fields begin. {_TYPE_IT}")
    taken: dict[str, str] = {}
    for ai, value in fields:
        if taken.setdefault(ai, value) != value:
            return Unreadable(f"The scan says the {_NAMES.get(ai, f'field {ai}')} twice, each time another. {_TYPE_IT}")
    return _make_scanned(taken, today)


def _split_part(part: str) -> list[tuple[str, str]] | Unreadable:
    """Let biip say which fields stand in a part, one after the other."""
    from biip import ParseConfig, ParseError  # noqa: PLC0415  (takes longer to load than the first screen may)
    from biip.gs1_element_strings import GS1ElementString  # noqa: PLC0415  (as above)

    # biip reads the century of a date by the clock: dates are read below.
    config = ParseConfig(gs1_element_strings_verify_date=False)
    fields = []
    while part:
        try:
            element = GS1ElementString.extract(part, config=config)
        except ParseError:
            return Unreadable(f"The scan has a field in it that no GS1 code has. {_TYPE_IT}")
        # biip cuts a batch that is too long, and reads on as if a separator stood there.
        if element.ai.separator_required and len(element) != len(part):
            return Unreadable(f"The scan has a field in it that is too long or of a wrong form. {_TYPE_IT}")
        fields.append((element.ai.ai, element.value))
        part = part[len(element) :]
    return fields


def _read_bare(code: str, today: date) -> Scanned | Unreadable:
    """Read a string without separators: from all its readings, what they agree on."""
    first: Mapping[str, str] | None = None
    for reading in list_readings(code, today):
        if first is None:
            first = reading
        elif any(reading.get(name) != first.get(name) for name in (GTIN, BATCH, EXPIRY)):
            ways = f"{_say_reading(first, today)}; or {_say_reading(reading, today)}"
            return Unreadable(f"The scan reads two ways: {ways}. Type batch and expiry as they stand on the container.")
        elif reading.get(SERIAL) != first.get(SERIAL):
            first = {name: value for name, value in first.items() if name != SERIAL}
    if first is None:
        return Unreadable(f"No reading of this scan has a product number and an expiry that can be right. {_TYPE_IT}")
    return _make_scanned(first, today)


def _say_reading(reading: Mapping[str, str], today: date) -> str:
    return f"batch {reading.get(BATCH, 'none')}, expiry {read_six_digits(reading[EXPIRY], today)}"


def _make_scanned(fields: Mapping[str, str], today: date) -> Scanned | Unreadable:
    for name in (GTIN, BATCH, EXPIRY):
        if name not in fields:
            return Unreadable(f"The scan has no {_NAMES[name]} in it: type batch and expiry.")
    gtin, batch = read_gtin(fields[GTIN]), read_batch(fields[BATCH])
    expiry = read_six_digits(fields[EXPIRY], today)
    if isinstance(gtin, Unreadable):
        return Unreadable(f"The scan cannot be right, {gtin.reason}. {_TYPE_IT}")
    if isinstance(batch, Unreadable):
        return batch
    if expiry is None:
        return Unreadable(f"The scan's expiry is no day that exists ({fields[EXPIRY]}). {_TYPE_IT}")
    return Scanned(gtin, batch, expiry, fields.get(SERIAL, ""))
