"""Sign and banner, with which every screen begins; apart from `models`, so that the first screen loads no more."""

from enum import StrEnum

from msgspec import Struct


class Sign(StrEnum):
    """How a thing stands, as one cell; the word beside it says the same, so that neither colour nor sign is alone."""

    TO_DO = "○"
    DONE = "✓"
    NOT_NEEDED = "–"
    BLOCKED = "✗"
    CHANGED = "↻"
    QUESTION = "?"
    ADVICE = "i"


class Banner(Struct, frozen=True):
    """What stands on top of every screen of one preparation."""

    cot: str
    baby: str
    """Weights and gestation at birth in words ("1450 g · 30+2"), or what is still to be entered."""
    kit: str
    practice: bool
    today: str = ""
    """Today's gestation where it is another one ("today 30+5"); for where there is room."""
