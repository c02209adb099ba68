"""What a proof says: notes on lines, some of them gaps. May import: the standard library, `prepkit.quantities`."""

from dataclasses import dataclass
from enum import StrEnum

from prepkit.proof.classes import Run
from prepkit.quantities.gestation import Gestation


class NoteKind(StrEnum):
    """What a note is about."""

    BLOCKED = "blocked"
    ROUNDING = "rounding"
    STEP = "step"
    CEILING = "ceiling"
    CHANGE = "change"
    CRITERION = "criterion"
    UNUSED = "unused"


@dataclass(frozen=True, slots=True)
class Note:
    """One thing found about one line (or criterion)."""

    about: str
    """The id of the line, the criterion or the product."""
    kind: NoteKind
    words: str
    is_gap: bool = False
    """Whether a baby that meets the criteria is left without the line."""


@dataclass(frozen=True, slots=True)
class Proof:
    """Everything found over a kit's domain."""

    kit: str
    edition: str
    ward: str
    grams: Run
    days: Run
    babies: int
    """How many pairs of a gram and a day the domain holds."""
    lists: int
    """How many times a line was worked out."""
    notes: tuple[Note, ...]

    @property
    def gaps(self) -> tuple[Note, ...]:
        """The notes that keep the kit from being proved."""
        return tuple(note for note in self.notes if note.is_gap)


def say_grams(run: Run) -> str:
    """Say a run of weights: 1200-1999 g."""
    return f"{run.first} g" if run.first == run.last else f"{run.first}\N{EN DASH}{run.last} g"


def say_days(run: Run) -> str:
    """Say a run of gestations: 28+0 to 31+6."""
    first, last = Gestation(run.first), Gestation(run.last)
    return str(first) if first == last else f"{first} to {last}"
