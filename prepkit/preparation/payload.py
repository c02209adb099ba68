"""What an event has beside its own fields: the kind and version it is stored under, and what it does to a preparation.

Kinds and versions are stored for years: a kind is never renamed, and a payload whose fields change gets a new version.
Constructors refuse what could never be true (`ValueError`).
"""

from typing import ClassVar

from msgspec import Struct


class StoredPayload(Struct, frozen=True):
    """What one event of any stream says."""

    KIND: ClassVar[str]
    VERSION: ClassVar[int] = 1


class EventPayload(StoredPayload, frozen=True):
    """What one event of a preparation says. A kind is a subclass that stands in its subject's union."""

    IS_PREPARING: ClassVar[bool] = False
    """Whether it makes somebody one of those who prepared, so that they cannot check."""
    KEEPS_READ_ALOUD: ClassVar[bool] = False
    """Whether a summary that was read aloud still counts after it. It does where the event is about the time since."""
