"""The fields of a product code, each by itself: batch, expiry, GTIN; as typed and as GS1 writes them.

Source of the rules: GS1 General Specifications (characters of a batch: set 82; two-digit years: a window of a hundred
years around today; day 00: the last of the month; the check digit).
"""

import re
from calendar import monthrange
from datetime import date

from msgspec import Struct

SET_82 = r"[!\"%&'()*+,\-./0-9:;<=>?A-Z_a-z]"
"""The characters a batch or a serial number may have, as a regular expression."""

MOST_IN_A_BATCH = 20
GTIN_DIGITS = 14

_BATCH = re.compile(rf"{SET_82}{{1,{MOST_IN_A_BATCH}}}")
_TYPED_EXPIRY = re.compile(r"([0-9]{4})-([0-9]{2})(?:-([0-9]{2}))?")
_SIX_DIGITS = re.compile(r"[0-9]{6}")
_GTIN = re.compile(r"[0-9]{8}|[0-9]{12,14}")
_EXPIRY_FORM = "write the expiry as 2027-03 (to the end of the month) or as 2027-03-31"


class Unreadable(Struct, frozen=True):
    """A code or a field that cannot be used, and why, in a sentence for a person. It quotes nothing unprintable."""

    reason: str


def read_batch(typed: str) -> str | Unreadable:
    """Read a batch as typed: 1 to 20 characters that GS1 allows, without outer spaces, letters as they are."""
    batch = typed.strip()
    if not batch:
        return Unreadable("The batch is empty: type it as it stands on the container.")
    if len(batch) > MOST_IN_A_BATCH:
        return Unreadable(f"The batch is too long: at most {MOST_IN_A_BATCH} characters (got {len(batch)}).")
    if not _BATCH.fullmatch(batch):
        odd = next(character for character in batch if not _BATCH.fullmatch(character))
        return Unreadable(f"The batch has a character in it that no batch has ({_name(odd)}): look at it again.")
    return batch


def read_expiry(typed: str) -> date | Unreadable:
    """Read an expiry as typed: "2027-03-31", or "2027-03" for the last day of that month."""
    found = _TYPED_EXPIRY.fullmatch(typed.strip())
    if not found:
        return Unreadable(f"This is no expiry: {_EXPIRY_FORM}.")
    year, month, day = found.groups()
    expiry = _make_date(int(year), int(month), int(day) if day is not None else None)
    return expiry or Unreadable(f"There is no such day: {_EXPIRY_FORM}.")


def read_six_digits(digits: str, today: date) -> date | None:
    """Read YYMMDD, day 00 being the last of the month; None where there is no such day."""
    if not _SIX_DIGITS.fullmatch(digits):
        return None
    day = int(digits[4:])
    return _make_date(compute_year(int(digits[:2]), today), int(digits[2:4]), day or None)


def compute_year(two_digits: int, today: date) -> int:
    """Compute the year that ends in these digits, from 49 years back to 50 years ahead (GS1)."""
    century = today.year - today.year % 100
    ahead = two_digits - today.year % 100
    if ahead > 50:  # noqa: PLR2004  (the window of GS1)
        return century - 100 + two_digits
    if ahead < -49:  # noqa: PLR2004  (as above)
        return century + 100 + two_digits
    return century + two_digits


def read_gtin(text: str) -> str | Unreadable:
    """Read a GTIN of 8, 12, 13 or 14 digits whose check digit is right, as 14 digits."""
    if not _GTIN.fullmatch(text):
        return Unreadable("a GTIN has 8, 12, 13 or 14 digits, the last one its check digit")
    if not int(text):
        return Unreadable("a GTIN is not made of zeros alone")
    due = compute_check_digit(text[:-1])
    if int(text[-1]) != due:
        return Unreadable(f"the GTIN's check digit is wrong: {text[-1]} stands where {due} is due")
    return text.zfill(GTIN_DIGITS)


def compute_check_digit(digits: str) -> int:
    """Compute GS1's check digit of all the digits before it: weights 3 and 1 by turns, from the right."""
    weighted = sum(int(digit) * (1 if at % 2 else 3) for at, digit in enumerate(reversed(digits)))
    return -weighted % 10


def _make_date(year: int, month: int, day: int | None) -> date | None:
    if year < 1 or not 1 <= month <= 12:  # noqa: PLR2004  (months)
        return None
    last = monthrange(year, month)[1]
    return date(year, month, last if day is None else day) if day is None or 1 <= day <= last else None


def _name(character: str) -> str:
    is_plain = character.isascii() and character.isprintable() and character != " "
    return f'"{character}"' if is_plain else f"U+{ord(character):04X}"
