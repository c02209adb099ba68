"""A PIN as typed: its form, and which ones are too easy to guess.

May import: a preparation's refusals, and the standard library.
"""

import re
from itertools import pairwise
from typing import ClassVar

from prepkit.people.secret import Secret
from prepkit.preparation.text import Refusal

_FORM = re.compile(r"[0-9]{4,8}")
_ALL_DIGITS = 10


class Pin(Secret, frozen=True):
    """What was typed for a PIN. What shows a value (an error, a log, a debugger's line) shows "Pin(...)"."""

    HIDDEN: ClassVar[str] = "digits"
    digits: str

    def __repr__(self) -> str:
        return "Pin(...)"


def hide_pin(typed: str | Pin) -> Pin:
    """Wrap what was typed, as it is: the first thing a function does with it, so that no frame holds the digits."""
    return typed if isinstance(typed, Pin) else Pin(typed)


def read_pin(typed: str | Pin) -> Pin | Refusal:
    """Read a PIN that somebody signs in with: 4 to 8 digits. What was typed is never quoted."""
    typed = hide_pin(typed)
    if not typed.digits:
        return Refusal("Enter the PIN.")
    return typed if _FORM.fullmatch(typed.digits) else Refusal("A PIN is 4 to 8 digits.")


def read_new_pin(typed: str | Pin) -> Pin | Refusal:
    """Read a PIN that somebody chooses: neither one digit repeated nor a run such as 1234 or 9876.

    The rule is our own: these are what people try first. A run goes round the keypad's end (7890, 2109).
    """
    pin = read_pin(typed)
    if isinstance(pin, Refusal):
        return pin
    steps = {(int(second) - int(first)) % _ALL_DIGITS for first, second in pairwise(pin.digits)}
    if steps == {0}:
        return Refusal("This PIN is one digit repeated: choose another.")
    if steps in ({1}, {_ALL_DIGITS - 1}):
        return Refusal("This PIN is a run of digits: choose another.")
    return pin
