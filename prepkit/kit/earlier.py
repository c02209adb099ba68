"""Doses that a baby had before: what, how much, when, each as far as anybody knows.

One dose is written "poractant-alfa, 250 mg, 2026-11-28T08:00+00:00": a product's id, an amount (mg, mg/kg or mL), a
moment; any of the three may be "not known". A dose that was given in part says of what it is ("part of 290 mg"), and
one that goes on with it says "rest". Several stand one after the other with semicolons; "none" is none.
"""

from collections.abc import Mapping
from datetime import UTC, datetime
from typing import ClassVar

from msgspec import Struct

from prepkit.kit.moments import read_moment
from prepkit.kit.names import NOT_KNOWN
from prepkit.kit.problems import Problem, quote, suggest
from prepkit.quantities.amount import Amount
from prepkit.quantities.text import UnreadableAmountError, read_amount, show_amount, write_amount
from prepkit.quantities.units import Dimension

NONE = "none"
_UNITS = (Dimension.MASS, Dimension.MASS_PER_WEIGHT, Dimension.VOLUME)
_PARTS = 3
_PART, _REST = "part of ", "rest"
_FIRST = datetime.min.replace(tzinfo=UTC)
MOST_DOSES = 12
"""More doses than any course has: a guard against a slip, ours."""


class EarlierDose(Struct, frozen=True):
    """One dose that was given before; whatever came back of it, it counts whole."""

    product: str
    """The product's id; empty where it is not known."""
    amount: Amount | None
    """In mg, mg/kg or mL; None where it is not known."""
    at: datetime | None
    name: str = ""
    """What the product is called, for a reader."""
    part_of: Amount | None = None
    """What was due, a mass, of a dose that was given in part."""
    is_rest: bool = False
    """Whether it is the rest of the dose before it: the two are one."""

    COUNTS: ClassVar[tuple[str, ...]] = ("product", "amount", "at", "part_of", "is_rest")

    @property
    def is_counted(self) -> bool:
        """Whether product and amount are known, so that it counts towards a course."""
        return bool(self.product) and self.amount is not None

    @property
    def is_known(self) -> bool:
        """Whether its time is known too, so that nobody has to be asked."""
        return self.is_counted and self.at is not None

    def __str__(self) -> str:
        amount = write_amount(self.amount) if self.amount else NOT_KNOWN
        at = self.at.isoformat(timespec="minutes") if self.at else NOT_KNOWN
        part = f", part of {write_amount(self.part_of)}" if self.part_of else ""
        return f"{self.product or NOT_KNOWN}, {amount}, {at}{part}{f', {_REST}' if self.is_rest else ''}"

    def words(self) -> str:
        """In words: "Poractant alfa, 250 mg, 28 Nov 08:00"."""
        amount = show_amount(self.amount) if self.amount else "amount not known"
        at = f"{self.at:%d %b %H:%M}" if self.at else "time not known"
        part = f", part of {show_amount(self.part_of)}" if self.part_of else ", the rest of it" if self.is_rest else ""
        return f"{self.name or self.product or 'product not known'}, {amount}, {at}{part}"


class EarlierDoses(Struct, frozen=True):
    """All of them, the first given first; those of an unknown time come first of all."""

    doses: tuple[EarlierDose, ...] = ()

    def __str__(self) -> str:
        return "; ".join(map(str, self.doses)) or NONE

    def words(self) -> str:
        """In words; "none" where there are none."""
        return "; ".join(dose.words() for dose in self.doses) or NONE


def read_earlier(label: str, typed: str, products: Mapping[str, str], now: datetime) -> EarlierDoses | Problem:
    """Read doses as they are typed or kept; a problem quotes the one that is wrong.

    Args:
        label: what the fact is called.
        typed: the doses with semicolons between them, or "none".
        products: the name of each product that the kit knows, by its id.
        now: no dose was given after it.
    """
    if typed.strip().lower() in {NONE, "0", ""}:
        return EarlierDoses()
    read = [_read_dose(label, each.strip(), products, now) for each in typed.split(";") if each.strip()]
    if problem := next((each for each in read if isinstance(each, Problem)), None):
        return problem
    doses = [each for each in read if isinstance(each, EarlierDose)]
    if len(doses) > MOST_DOSES:
        return Problem("", 0, label, f"{len(doses)} doses are more than any course has", "look at the doses")
    return EarlierDoses(tuple(sorted(doses, key=lambda dose: dose.at.astimezone(UTC) if dose.at else _FIRST)))


def _read_dose(label: str, typed: str, products: Mapping[str, str], now: datetime) -> EarlierDose | Problem:
    parts = [part.strip() for part in typed.split(",")]
    part_of, is_rest = None, parts[_PARTS:] == [_REST]
    if len(parts) == _PARTS + 1 and parts[_PARTS].startswith(_PART):
        part_of = _read_given(label, parts[_PARTS].removeprefix(_PART))
    if isinstance(part_of, Problem):
        return part_of
    if len(parts) != _PARTS + (is_rest or part_of is not None):
        hint = 'write product, amount, time: "poractant-alfa, 250 mg, 2026-11-28 08:00"; "not known" for any of them'
        return Problem("", 0, label, f"{quote(typed)} is not a dose", hint)
    product, amount, at = (None if part.lower() == NOT_KNOWN else part for part in parts[:_PARTS])
    if product is not None and product not in products:
        return Problem("", 0, label, f"no product {quote(product)} is known", suggest(product, products))
    given = _read_given(label, amount)
    if isinstance(given, Problem):
        return given
    moment = _read_kept(at) or read_moment(label, at, now) if at is not None else None
    if isinstance(moment, Problem):
        return moment
    return EarlierDose(product or "", given, moment, products[product] if product else "", part_of, is_rest)


def _read_given(label: str, typed: str | None) -> Amount | Problem | None:
    if typed is None:
        return None
    try:
        amount = read_amount(typed)
    except UnreadableAmountError as error:
        return Problem("", 0, label, f"{quote(typed)} {error.reason}", 'such as "250 mg", "200 mg/kg" or "3.2 mL"')
    if amount.dimension not in _UNITS or amount.value <= 0:
        return Problem("", 0, label, f"{quote(typed)} is not a dose", 'in mg, mg/kg or mL: "250 mg"')
    return amount


def _read_kept(text: str) -> datetime | None:
    """A moment with its offset, as a record holds it: not held against a clock that may have been set back."""
    try:
        moment = datetime.fromisoformat(text)
        moment.astimezone(UTC)  # a moment that has none would break every comparison
    except (ValueError, OverflowError):
        return None
    return moment if moment.tzinfo and text == moment.isoformat(timespec="minutes") else None
