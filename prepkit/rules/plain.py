"""Findings as plain values: what a tick or an agreement was made for, and what its fingerprint covers.

A word may change at any time, the name of a kind or of a value only before a release closes the form.
"""

from collections.abc import Callable, Iterable, Mapping
from datetime import UTC, date, datetime
from decimal import Decimal
from enum import StrEnum
from fractions import Fraction
from types import MappingProxyType

from prepkit.quantities.amount import Amount
from prepkit.quantities.gestation import Gestation
from prepkit.rules.findings import Finding

_CLOCK = "now"
"""The value by which a sentence tells the time. It is none of what was found: it differs at each look."""


def write_plain(value: object) -> object:
    """Write what was found as plain values for canonical JSON: kinds, exact amounts, days, ids, and a struct's fields.

    A struct that holds more than what counts names in `COUNTS` what does.
    """
    return value if type(value) in _PLAIN else _WRITERS.get(type(value), _write_struct)(value)


def _write_finding(found: Finding) -> list[object]:
    written = _write_table(found.values)
    written.pop(_CLOCK, None)
    return [found.kind, written]


def _write_struct(value: object) -> object:
    if isinstance(value, StrEnum):
        return str(value)
    names: tuple[str, ...] = getattr(value, "COUNTS", getattr(value, "__struct_fields__", ()))
    if not names:
        raise TypeError(f"nothing says how a {type(value).__name__} is written that was found")
    return {name: write_plain(getattr(value, name)) for name in names}


# Both look for themselves at what is plain: a call for each empty field of a line is a tenth of a list.
def _write_each(values: Iterable[object]) -> list[object]:
    return [each if type(each) in _PLAIN else write_plain(each) for each in values]


def _write_table(values: Mapping[str, object]) -> dict[str, object]:
    return {name: each if type(each) in _PLAIN else write_plain(each) for name, each in values.items()}


_PLAIN = frozenset({str, int, bool, type(None)})
_WRITERS: Mapping[type, Callable[..., object]] = {
    Finding: _write_finding,
    Amount: lambda amount: f"{amount.value.numerator}/{amount.value.denominator} {amount.unit.text}",
    Gestation: lambda gestation: gestation.days,
    tuple: _write_each,
    dict: _write_table,
    MappingProxyType: _write_table,
    Fraction: str,
    Decimal: str,
    date: date.isoformat,
    datetime: lambda moment: moment.astimezone(UTC).isoformat(),
}
