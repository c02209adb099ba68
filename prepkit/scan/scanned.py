"""A scan read: GTIN, batch, expiry and serial number from what a keyboard-wedge scanner typed.

biip reads what has separators or brackets; what has neither is searched for every reading. May import: `prepkit.scan`,
msgspec, the standard library, and biip where a scan is read.
"""

import re
from collections.abc import Mapping, Sequence
from datetime import date

from msgspec import Struct

from prepkit.scan.fields import SET_82, Unread, read_batch, read_gtin, read_six_digits
from prepkit.scan.readings import BATCH, EXPIRY, GTIN, SERIAL, list_readings

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


def read_scan(text: str, today: date) -> Scanned | Unread:
    """Read a scan, or say why it cannot be read one way only.

    With separators a string has one reading. Without them it is taken only where batch and expiry are the same in
    every reading. `today` decides the century of a date.
    """
    code = text.strip(" \t\r\n")
    unfit = _find_unfit(code)
    if unfit is not None:
        return unfit
    if code.startswith("("):
        return _read_bracketed(code.replace(" ", ""), today)
    code = _SYMBOLOGY.sub("", code, count=1).lstrip(SEPARATOR)
    return _read_parts(code.split(SEPARATOR), today) if SEPARATOR in code else _read_bare(code, today)


def _find_unfit(code: str) -> Unread | None:
    if not code:
        return Unread("Nothing was scanned.")
    if len(code) > MOST_IN_A_SCAN:
        return Unread(f"The scan is too long: at most {MOST_IN_A_SCAN} characters (got {len(code)}). {_TYPE_IT}")
    if _BARE_GTIN.fullmatch(code):
        return Unread("This code is the product number alone: scan the square code, or type batch and expiry.")
    # Spaces are for people's eyes, in the bracketed form alone.
    plain = code.replace(" ", "") if code.startswith("(") else _SYMBOLOGY.sub("", code, count=1)
    end = _ALLOWED.match(plain)
    if end is not None and end.end() < len(plain):
        odd = ord(plain[end.end()])
        return Unread(f"The scan has a character in it that no GS1 code has (U+{odd:04X}). {_TYPE_IT}")
    return None


def _read_bracketed(code: str, today: date) -> Scanned | Unread:
    """Read "(01)0952...(17)271231(10)AB12"; a bracket inside a value could be read two ways and is refused."""
    parts = _BRACKETED.findall(code)
    if "".join(f"({ai}){value}" for ai, value in parts) != code:
        return Unread(f"The brackets of this code cannot be told from those of a batch. {_TYPE_IT}")
    return _read_parts([ai + value for ai, value in parts], today, [ai for ai, _ in parts])


def _read_parts(parts: Sequence[str], today: date, named: Sequence[str] | None = None) -> Scanned | Unread:
    """Read the parts between separators; `named` are the fields that brackets name, where there are brackets."""
    fields: list[tuple[str, str]] = []
    for part in parts:
        found = _split_part(part)
        if isinstance(found, Unread):
            return found
        fields += found
    if named is not None and [ai for ai, _ in fields] != list(named):
        return Unread(f"The brackets of this code do not stand where its fields begin. {_TYPE_IT}")
    taken: dict[str, str] = {}
    for ai, value in fields:
        if taken.setdefault(ai, value) != value:
            return Unread(f"The scan says the {_NAMES.get(ai, f'field {ai}')} twice, each time another. {_TYPE_IT}")
    return _make_scanned(taken, today)


def _split_part(part: str) -> list[tuple[str, str]] | Unread:
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
            return Unread(f"The scan has a field in it that no GS1 code has. {_TYPE_IT}")
        # biip cuts a batch that is too long, and reads on behind it as if there were a separator.
        if element.ai.separator_required and len(element) != len(part):
            return Unread(f"The scan has a field in it that is too long or of a wrong form. {_TYPE_IT}")
        fields.append((element.ai.ai, element.value))
        part = part[len(element) :]
    return fields


def _read_bare(code: str, today: date) -> Scanned | Unread:
    """Read a string without separators: from all its readings, what they agree on."""
    first: Mapping[str, str] | None = None
    for reading in list_readings(code, today):
        if first is None:
            first = reading
        elif any(reading.get(name) != first.get(name) for name in (GTIN, BATCH, EXPIRY)):
            ways = f"{_say_reading(first, today)}; or {_say_reading(reading, today)}"
            return Unread(f"The scan reads two ways: {ways}. Type batch and expiry as they stand on the container.")
        elif reading.get(SERIAL) != first.get(SERIAL):
            first = {name: value for name, value in first.items() if name != SERIAL}
    if first is None:
        return Unread(f"No reading of this scan has a product number and an expiry that can be right. {_TYPE_IT}")
    return _make_scanned(first, today)


def _say_reading(reading: Mapping[str, str], today: date) -> str:
    return f"batch {reading.get(BATCH, 'none')}, expiry {read_six_digits(reading[EXPIRY], today)}"


def _make_scanned(fields: Mapping[str, str], today: date) -> Scanned | Unread:
    for name in (GTIN, BATCH, EXPIRY):
        if name not in fields:
            return Unread(f"The scan has no {_NAMES[name]} in it: type batch and expiry.")
    gtin, batch = read_gtin(fields[GTIN]), read_batch(fields[BATCH])
    expiry = read_six_digits(fields[EXPIRY], today)
    if isinstance(gtin, Unread):
        return Unread(f"The scan cannot be right, {gtin.reason}. {_TYPE_IT}")
    if isinstance(batch, Unread):
        return batch
    if expiry is None:
        return Unread(f"The scan's expiry is no day that exists ({fields[EXPIRY]}). {_TYPE_IT}")
    return Scanned(gtin, batch, expiry, fields.get(SERIAL, ""))
