"""What a proof says: notes on lines, some of them gaps; and how findings on several tracks become one note."""

from collections.abc import Iterable
from datetime import date
from enum import StrEnum

from msgspec import Struct

from prepkit.proof.domain import Run, join
from prepkit.quantities.gestation import Gestation


class NoteKind(StrEnum):
    """What a note is about."""

    BLOCKED = "blocked"
    UNMEASURED = "unmeasured"
    CHANGE = "change"
    ROUNDING = "rounding"
    STEP = "step"
    CEILING = "ceiling"
    CAUTION = "caution"
    CRITERION = "criterion"
    UNUSED = "unused"


class Note(Struct, frozen=True):
    """One thing found about one line (or criterion)."""

    about: str
    """The id of the line, the criterion or the product."""
    kind: NoteKind
    words: str
    is_gap: bool = False
    """Whether a baby that meets the criteria is left without the line."""


class TrackFinding(Struct, frozen=True):
    """One thing found on one track, before what is the same on several is said once."""

    kind: NoteKind
    words: str
    situation: str
    days: Run
    is_gap: bool = False
    key: str = ""
    """What makes it the same as another, where that is not its words."""


class WalkedLine(Struct, frozen=True):
    """A line of the kit, and the situations that it was walked in."""

    id: str
    name: str
    kind: str
    situations: tuple[str, ...]


class Proof(Struct, frozen=True):
    """Everything found over a kit's domain."""

    kit: str
    edition: str
    ward: str
    today: date
    """Approvals are in force, or not, as of this day."""
    grams: Run
    days: Run
    babies: int
    """How many pairs of a gram and a day the domain holds."""
    lists: int
    """How many times a line was worked out."""
    lines: tuple[WalkedLine, ...]
    criteria: tuple[str, ...]
    """The ids of the kit's criteria, to tell them from products."""
    notes: tuple[Note, ...]

    @property
    def gaps(self) -> tuple[Note, ...]:
        """The notes that keep the kit from being proved."""
        return tuple(note for note in self.notes if note.is_gap)


def merge_findings(about: str, seen: Iterable[TrackFinding], situations: Iterable[str], days: Run) -> tuple[Note, ...]:
    """Say once what is the same for several gestations or in several situations, and where it is, unless everywhere."""
    groups: dict[tuple[NoteKind, str, bool], list[TrackFinding]] = {}
    for each in seen:
        groups.setdefault((each.kind, each.key or each.words, each.is_gap), []).append(each)
    return tuple(
        Note(about, kind, _place(group[0].words, group, tuple(situations), days), is_gap)
        for (kind, _, is_gap), group in groups.items()
    )


def _place(words: str, group: list[TrackFinding], situations: tuple[str, ...], days: Run) -> str:
    runs: dict[str, list[Run]] = {}
    for each in group:
        runs.setdefault(each.situation, []).append(each.days)
    by_days: dict[tuple[Run, ...], list[str]] = {}
    for situation, found in runs.items():
        by_days.setdefault(join(found), []).append(situation)
    places = [_say_place(names, found, situations, days) for found, names in by_days.items()]
    said = "; and ".join(place for place in places if place)
    return f"{words} ({said})" if said else words


def _say_place(names: list[str], runs: tuple[Run, ...], situations: tuple[str, ...], days: Run) -> str:
    who = "" if len(names) == len(situations) else " or ".join(names)
    when = "" if runs == (days,) else "gestation " + ", ".join(say_days(run) for run in runs)
    return "; ".join(part for part in (who, when) if part)


def say_grams(run: Run) -> str:
    """Say a run of weights: 1200-1999 g."""
    return f"{run.first} g" if run.first == run.last else f"{run.first}\N{EN DASH}{run.last} g"


def say_days(run: Run) -> str:
    """Say a run of gestations: 28+0 to 31+6."""
    first, last = Gestation(run.first), Gestation(run.last)
    return str(first) if first == last else f"{first} to {last}"
