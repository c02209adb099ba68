"""What every event of a preparation has beside its own fields.

Kinds and versions are stored for years: a kind is never renamed, and a payload whose fields change gets a new version.
Constructors refuse what could never be true (`ValueError`).
"""

from typing import ClassVar

from msgspec import Struct


class EventPayload(Struct, frozen=True):
    """What one event says. A kind is a subclass that stands in its subject's union and has a reducer there."""

    KIND: ClassVar[str]
    VERSION: ClassVar[int] = 1
    IS_PREPARING: ClassVar[bool] = False
    """Whether it makes somebody one of those who prepared, so that they cannot check."""
    KEEPS_READ_ALOUD: ClassVar[bool] = False
    """Whether a summary that was read aloud still counts after it: so it does after what is about the time since."""
