"""A proof: notes on lines, criteria and products; and how findings on several tracks become one note."""

from collections.abc import Iterable, Iterator
from datetime import date
from enum import Enum, auto

from msgspec import Struct
from msgspec.structs import replace

from prepkit.kit.ward import Ward
from prepkit.proof.domain import Run, join
from prepkit.proof.findings import BlockedRuns, NoteKind, ProofFinding, StandsIn
from prepkit.proof.situations import Told


class Whereabouts(Struct, frozen=True):
    """Where something holds: in which situations and for which gestations; none named where in every one."""

    situations: tuple[Told, ...]
    days: tuple[Run, ...]


class Note(Struct, frozen=True):
    """One thing found about one line, criterion or product."""

    about: str
    """The id of the line, the criterion or the product."""
    finding: ProofFinding
    where: tuple[Whereabouts, ...] = ()
    is_gap: bool = False
    """Whether a baby that meets the criteria is left without the line."""

    @property
    def kind(self) -> NoteKind:
        """The finding's."""
        return self.finding.kind

    @property
    def is_marked(self) -> bool:
        """Whether it is one to look at: a gap, or a product that takes another one's place."""
        return self.is_gap or self.kind is NoteKind.STANDS_IN


class TrackFinding(Struct, frozen=True):
    """One thing found on one track, before what is the same on several is told once."""

    finding: ProofFinding
    situation: Told
    days: Run | None
    is_gap: bool = False


class NotWalked(Enum):
    """What no proof walks."""

    UNGIVEN_FACTS = auto()
    UNKNOWN_SIZES = auto()
    BETWEEN_ENDS = auto()
    BARRED_DOSES = auto()
    ORDERS = auto()
    QUESTIONS = auto()
    OUTSIDE = auto()


class WalkedLine(Struct, frozen=True):
    """A line of the kit, and the situations that it was walked in."""

    id: str
    name: str
    kind: str
    situations: tuple[Told, ...]


class Proof(Struct, frozen=True):
    """Everything found over a kit's domain."""

    kit: str
    edition: str
    ward: Ward | None
    today: date
    """Approvals are in force, or not, as of this day."""
    domain: tuple[Run, ...]
    """Along each weight and each gestation that a line was walked along."""
    lists: int
    """How many times a line was worked out."""
    lines: tuple[WalkedLine, ...]
    criteria: tuple[str, ...]
    """The ids of the kit's criteria, to tell them from products."""
    notes: tuple[Note, ...]
    not_walked: tuple[NotWalked, ...]

    @property
    def gaps(self) -> tuple[Note, ...]:
        """The notes that keep the kit from being proved."""
        return tuple(note for note in self.notes if note.is_gap)


def merge_findings(
    about: str, seen: Iterable[TrackFinding], situations: Iterable[Told], days: Run | None
) -> tuple[Note, ...]:
    """Tell once what is the same for several gestations or in several situations, and where it is.

    Args:
        about: the line's id.
        seen: what was found on its tracks.
        situations: all that it was walked in.
        days: all gestations that it was walked along, if it was.
    """
    groups: dict[object, list[TrackFinding]] = {}
    for each in seen:
        groups.setdefault((_find_shared(each.finding), each.is_gap), []).append(each)
    every = tuple(situations)
    return tuple(
        Note(about, group[0].finding, tuple(_find_where(group, every, days)), group[0].is_gap)
        for group in groups.values()
    )


def _find_shared(finding: ProofFinding) -> ProofFinding:
    """The finding as it is the same for another gestation."""
    return replace(finding, reason=None) if isinstance(finding, BlockedRuns | StandsIn) else finding


def _find_where(group: list[TrackFinding], every: tuple[Told, ...], days: Run | None) -> Iterator[Whereabouts]:
    runs: dict[Told, list[Run]] = {}
    for each in group:
        runs.setdefault(each.situation, []).extend([each.days] if each.days else [])
    by_days: dict[tuple[Run, ...], list[Told]] = {}
    for situation, found in runs.items():
        by_days.setdefault(join(found), []).append(situation)
    for found_days, situations in by_days.items():
        where = Whereabouts(
            () if len(situations) == len(every) else tuple(situations), () if found_days == (days,) else found_days
        )
        if where.situations or where.days:
            yield where
