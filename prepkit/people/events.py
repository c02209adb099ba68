"""The events of the staff list: who was added and removed, which PINs were accepted and which refused.

No event holds a PIN: only its hash, which no `repr` shows. Kinds and versions are stored for years.
"""

from typing import ClassVar, TypeAlias, get_args

from msgspec import Struct

from prepkit.people.pin import Secret

_HASH = "$argon2id$"


class PersonAdded(Secret, frozen=True):
    """A person was put on the staff list."""

    KIND: ClassVar[str] = "person-added"
    VERSION: ClassVar[int] = 1
    HIDDEN: ClassVar[str] = "pin"
    initials: str
    role: str
    pin: str
    """The encoded hash of the PIN; empty for a person without one, who cannot sign in where PINs are asked for."""

    def __post_init__(self) -> None:
        _check_hash(self.pin, may_be_empty=True)


class PersonRemoved(Struct, frozen=True):
    """A person was taken off the staff list."""

    KIND: ClassVar[str] = "person-removed"
    VERSION: ClassVar[int] = 1
    initials: str


class PinReset(Secret, frozen=True):
    """A person was given another PIN."""

    KIND: ClassVar[str] = "pin-reset"
    VERSION: ClassVar[int] = 1
    HIDDEN: ClassVar[str] = "pin"
    initials: str
    pin: str
    """The encoded hash of the PIN."""

    def __post_init__(self) -> None:
        _check_hash(self.pin, may_be_empty=False)


class PinRefused(Struct, frozen=True):
    """A PIN that does not go with these initials was tried; the initials may be on the list or not."""

    KIND: ClassVar[str] = "pin-refused"
    VERSION: ClassVar[int] = 1
    initials: str


class WaitBegun(Struct, frozen=True):
    """The wait after too many refusals began again at this moment, because the clock had been put back behind them."""

    KIND: ClassVar[str] = "wait-begun"
    VERSION: ClassVar[int] = 1
    initials: str


class SignedIn(Struct, frozen=True):
    """A person gave the right PIN, at the desk or as a second person on the spot."""

    KIND: ClassVar[str] = "signed-in"
    VERSION: ClassVar[int] = 1
    initials: str


StaffPayload: TypeAlias = PersonAdded | PersonRemoved | PinReset | PinRefused | WaitBegun | SignedIn
STAFF_PAYLOADS: tuple[type[StaffPayload], ...] = get_args(StaffPayload)


def _check_hash(text: str, *, may_be_empty: bool) -> None:
    """Keep a PIN that was not hashed out of the store; the message does not quote it."""
    if not (text.startswith(_HASH) or (may_be_empty and not text)):
        raise ValueError("pin must be the encoded hash of a PIN")
