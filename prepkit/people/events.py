"""The events of the staff list: who was added and removed, which PINs were accepted and which refused.

No event holds a PIN: only its hash, which no `repr` shows.
"""

from typing import ClassVar, TypeAlias, get_args

from prepkit.people.pin import Secret
from prepkit.preparation.payload import StoredPayload

_HASH = "$argon2id$"


class PersonAdded(Secret, StoredPayload, frozen=True):
    """A person was put on the staff list."""

    KIND: ClassVar[str] = "person-added"
    HIDDEN: ClassVar[str] = "pin"
    initials: str
    role: str
    pin: str
    """The encoded hash of the PIN; empty for a person without one, who cannot sign in where PINs are asked for."""

    def __post_init__(self) -> None:
        _check_hash(self.pin, may_be_empty=True)


class PersonRemoved(StoredPayload, frozen=True):
    """A person was taken off the staff list."""

    KIND: ClassVar[str] = "person-removed"
    initials: str


class PinReset(Secret, StoredPayload, frozen=True):
    """A person was given another PIN."""

    KIND: ClassVar[str] = "pin-reset"
    HIDDEN: ClassVar[str] = "pin"
    initials: str
    pin: str
    """The encoded hash of the PIN."""

    def __post_init__(self) -> None:
        _check_hash(self.pin, may_be_empty=False)


class PinRefused(StoredPayload, frozen=True):
    """A PIN that does not go with these initials was tried; the initials may be on the list or not."""

    KIND: ClassVar[str] = "pin-refused"
    initials: str


class WaitBegun(StoredPayload, frozen=True):
    """The wait after too many refusals began again at this moment, because the clock had been put back behind them."""

    KIND: ClassVar[str] = "wait-begun"
    initials: str


class SignedIn(StoredPayload, frozen=True):
    """A person gave the right PIN, at the desk or as a second person on the spot."""

    KIND: ClassVar[str] = "signed-in"
    initials: str


StaffPayload: TypeAlias = PersonAdded | PersonRemoved | PinReset | PinRefused | WaitBegun | SignedIn
STAFF_PAYLOADS: tuple[type[StaffPayload], ...] = get_args(StaffPayload)


def _check_hash(text: str, *, may_be_empty: bool) -> None:
    """Keep a PIN that was not hashed out of the store; the message does not quote it."""
    if not (text.startswith(_HASH) or (may_be_empty and not text)):
        raise ValueError("pin must be the encoded hash of a PIN")
