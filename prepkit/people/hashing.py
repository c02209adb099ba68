"""PINs hashed and compared, with a function that is slow and needs much memory.

The profile is the second recommended option of RFC 9106, section 4: Argon2id with 3 passes over 64 MiB in 4 lanes, a
salt of 128 bits and a tag of 256 bits. It slows down somebody who has a copy of the store and tries every PIN; it does
not stop them, since a PIN is short: whoever may read the store's file has to be trusted.

The library loads with the first PIN, not with the first screen. It draws the salt itself; nothing else of this layer
draws chance. May import: `prepkit.people.pin`, argon2.
"""

from functools import cache
from typing import TYPE_CHECKING

from prepkit.people.pin import Pin

if TYPE_CHECKING:
    from argon2 import PasswordHasher

NOBODYS = "$argon2id$v=19$m=65536,t=3,p=4$O5hHI2LZs9/gUt12Mkveqw$o3/liL8tuXe3nd4GAuf0VBgioO2q5NIYsJmT7IJJcrs"
"""A hash of a secret that nobody knows, with the very same profile: unknown initials are compared with this one, so
that they take as much work as a wrong PIN."""


def hash_pin(pin: Pin) -> str:
    """Hash a PIN with a new salt; the encoded text holds the profile, the salt and the tag."""
    return _make_hasher().hash(pin.digits)


def is_pin(pin: Pin, encoded: str) -> bool:
    """Say whether this PIN gives this hash. The work is the same for a right PIN and for a wrong one.

    Raises `ValueError` where the text is no hash at all.
    """
    from argon2.exceptions import VerificationError  # noqa: PLC0415  (as below)

    try:
        return _make_hasher().verify(encoded, pin.digits)
    except VerificationError:
        return False


@cache
def _make_hasher() -> "PasswordHasher":
    from argon2 import PasswordHasher, profiles  # noqa: PLC0415  (loads a library in C, which the first screen does not need)

    return PasswordHasher.from_parameters(profiles.RFC_9106_LOW_MEMORY)
