"""PINs: typed, hidden from everything that shows a value, judged too easy, hashed and verified.

Hashing is deliberately slow and memory-hard: Argon2id by the second recommended option of RFC 9106, section 4 (3 passes
over 64 MiB in 4 lanes, a salt of 128 bits and a tag of 256 bits). It slows down somebody who has a copy of the store
and tries every PIN; it does not stop them, since a PIN is short: whoever may read the store's file has to be trusted.

argon2 loads with the first PIN, not with the first screen. It draws the salt; nothing else in this package uses chance.
"""

import re
from functools import cache
from itertools import pairwise
from typing import TYPE_CHECKING, Any, ClassVar

from msgspec import Struct

from prepkit.preparation.text import Refusal

if TYPE_CHECKING:
    from argon2 import PasswordHasher


class Secret(Struct, frozen=True):
    """A value of which one field is in no `repr`: not Python's own, nor rich's, with which a crash report is drawn."""

    HIDDEN: ClassVar[str]
    """The field that holds the secret."""

    def __repr__(self) -> str:
        return f"{type(self).__name__}({', '.join(f'{name}={value!r}' for name, value in self.__rich_repr__())})"

    def __rich_repr__(self) -> list[tuple[str, Any]]:
        return [(name, getattr(self, name)) for name in self.__struct_fields__ if name != self.HIDDEN]


_FORM = re.compile(r"[0-9]{4,8}")
_ALL_DIGITS = 10


class Pin(Secret, frozen=True):
    """What somebody typed for a PIN. An error, a log or a debugger shows it as "Pin(...)"."""

    HIDDEN: ClassVar[str] = "digits"
    digits: str

    def __repr__(self) -> str:
        return "Pin(...)"


def hide_pin(typed: str | Pin) -> Pin:
    """Wrap what was typed, unchecked. Functions do this first, so that no stack frame holds the digits."""
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


NOBODYS = "$argon2id$v=19$m=65536,t=3,p=4$O5hHI2LZs9/gUt12Mkveqw$o3/liL8tuXe3nd4GAuf0VBgioO2q5NIYsJmT7IJJcrs"
"""A hash of a secret that nobody knows, with the very same profile: unknown initials are compared with this one, so
that they take as much work as a wrong PIN."""


def hash_pin(pin: Pin) -> str:
    """Hash a PIN with a new salt; the encoded text holds the profile, the salt and the tag."""
    return _make_hasher().hash(pin.digits)


def is_pin(pin: Pin, encoded: str) -> bool:
    """Say whether this PIN gives this hash. The work is the same for a right PIN and for a wrong one.

    Raises `ValueError` for a text that is no hash.
    """
    from argon2.exceptions import VerificationError  # noqa: PLC0415  (as below)

    try:
        return _make_hasher().verify(encoded, pin.digits)
    except VerificationError:
        return False


@cache
def _make_hasher() -> "PasswordHasher":
    from argon2 import PasswordHasher, profiles  # noqa: PLC0415  (a library in C: 4 ms that the first screen does not need)

    return PasswordHasher.from_parameters(profiles.RFC_9106_LOW_MEMORY)
