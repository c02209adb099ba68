"""Who did something, when and where: one value, from a decision to its record in the store."""

from datetime import datetime

from msgspec import Struct


class Attribution(Struct, frozen=True):
    """Who, when and where; goes with every payload, and is recorded with every event."""

    who: str
    """Initials."""
    at: datetime
    """Aware; sentences show the time of day of its own offset."""
    where: str
    """The workstation."""
    verified: bool = False
    """Whether `who` was proven by a PIN; otherwise somebody only said so."""

    def __post_init__(self) -> None:
        if self.at.tzinfo is None or self.at.utcoffset() is None:
            raise ValueError(f"a stamp needs a time with an offset (got {self.at.isoformat()})")

    @property
    def recorded_at(self) -> str:
        """The time as a record keeps it: RFC 3339 with milliseconds and its own offset."""
        return self.at.isoformat(timespec="milliseconds")
