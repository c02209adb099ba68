"""Attributions for the tests of a store."""

from datetime import UTC, datetime

from prepkit.attribution import Attribution

_SOME_TIME = datetime(2031, 5, 4, tzinfo=UTC)


class AsWritten(Attribution, frozen=True):
    """Its time is recorded to the letter as given, which no clock has to have shown: a store looks for itself."""

    text: str = ""

    @property
    def recorded_at(self) -> str:
        return self.text


def attribute(at: str, who: str, where: str, *, verified: bool = False) -> Attribution:
    return AsWritten(who, _SOME_TIME, where, verified, text=at)
