"""What an event has beside its own fields: the kind and form it is stored under, and what it does to a preparation.

Once a release has closed a form, what an event of it means stays so for ever: its kind is never renamed, and a payload
whose fields change gets a new form. Until then both change freely.
Constructors refuse what could never be true (`ValueError`).
"""

from typing import ClassVar

from msgspec import Struct


class StoredPayload(Struct, frozen=True):
    """What one event of any stream says."""

    KIND: ClassVar[str]
    FORM: ClassVar[int] = 1


class EventPayload(StoredPayload, frozen=True):
    """What one event of a preparation says. A kind is a subclass that stands in its subject's union."""

    IS_PREPARING: ClassVar[bool] = False
    """Whether it makes somebody one of those who prepared, so that they cannot check."""
    KEEPS_READ_ALOUD: ClassVar[bool] = False
    """Whether a summary that was read aloud still counts after it. It does where the event is about the time since."""
