"""What the TOML parser refuses, in words for somebody who has never heard of TOML.

May import: tomli (for its error's class), the standard library.
"""

import re
from collections.abc import Sequence

import tomli

_TABLE = re.compile(r"\s*\[\[?([^\[\]]+)\]\]?\s*(?:#.*)?$")
_KEY = re.compile(r"\s*[A-Za-z0-9_-]+\s*=\s*(.*?)\s*$")
_IS_TAKEN = ("Duplicate", "overwrite", "twice", "Cannot mutate")
# The parser names a table by its Python parts: ('sources', 'example').
_NAME = r"'([^']+)'"
_NAMES = re.compile(rf"\({_NAME}(?:, {_NAME})*,?\)")
# What a value looks like that was meant to be another kind of value, and what to do about it.
_LOOKS = (
    (re.compile(r"[\N{LEFT DOUBLE QUOTATION MARK}\N{RIGHT DOUBLE QUOTATION MARK}\N{DOUBLE LOW-9 QUOTATION MARK}]"),
     'these quotes are a word processor\'s: write straight ones, "..."'),
    (re.compile(r"(?i)(yes|no|on|off|true|false)\s*(#|$)"), "write true or false, in small letters and without quotes"),
    (re.compile(r"\d{1,2}[-./]\d{1,2}[-./]\d{2,4}"), "dates are written year-month-day, such as 2027-11-30"),
    (re.compile(r"\d{4}-\d\d-\d\d"), "there is no such day: dates are written year-month-day, such as 2027-11-30"),
    (re.compile(r"\d+,\d"), "amounts stand in quotes, with a decimal point and a unit, such as \"1.5 mL\""),
    (re.compile(r"\d+\+\d"), "gestations stand in quotes, such as \"28+0\""),
    (re.compile(r"[0-9.]+ *[A-Za-z%/]"), "amounts stand in quotes, such as \"1.5 mL\""),
    (re.compile(r"[A-Za-z]"), "text stands in quotes, \"...\""),
    (re.compile(r"\"[^\"]*$"), "the text has no quote at its end"),
)  # fmt: skip


def explain_syntax(error: tomli.TOMLDecodeError, rows: Sequence[str]) -> tuple[str, str]:
    """What is wrong with the row the parser stopped at, and what to do about it as far as the row shows it."""
    row = rows[error.lineno - 1] if 0 < error.lineno <= len(rows) else ""
    said = _NAMES.sub(lambda found: f"[{'.'.join(re.findall(_NAME, found[0]))}]", error.msg)
    wrong = f"is not TOML: {said} (column {error.colno})"
    if any(word in error.msg for word in _IS_TAKEN):
        return wrong, _explain_taken(row, rows[: error.lineno - 1])
    written = _KEY.match(row)
    return wrong, next((hint for looks, hint in _LOOKS if written and looks.match(written[1])), "")


def _explain_taken(row: str, before: Sequence[str]) -> str:
    table = _TABLE.match(row)
    if table is None:
        return "each key may stand once in its table"
    single, name = re.compile(rf"\s*\[{re.escape(table[1])}\]"), table[1]
    first = next((at for at, earlier in enumerate(before, 1) if single.match(earlier)), 0)
    if first and row.lstrip().startswith("[["):
        return f"write [[{name}]] on line {first} too: a table that stands several times has two brackets each time"
    if "." in name:
        return "each table may stand once, and so may each id"
    return f"each table may stand once; one that stands several times has two brackets each time, [[{name}]]"
