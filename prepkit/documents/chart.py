"""The chart: a kit's amounts by weight, for the wall on a day without the computer.

What every row would repeat stands once, above the rows. May import: `prepkit.list` and below.
"""

from collections.abc import Iterable, Sequence
from datetime import datetime

from msgspec import Struct

from prepkit.kit.baby import make_baby
from prepkit.kit.kit import Kit
from prepkit.kit.read import Written
from prepkit.kit.ward import Ward
from prepkit.list.compute import compute_prepared
from prepkit.list.lines import ListLine, TrayList
from prepkit.list.prepare import prepare
from prepkit.rules.growth import Belief, Sex, check_weight

CAUTION = (
    "An aid to preparation by trained staff. Check each number against the prescription and its working; local policy, "
    "pharmacy and the prescriber decide. Not valid after the review dates given here."
)
BLOCKED = "BLOCKED"


class Cell(Struct, frozen=True):
    """What one line is at one weight, in words."""

    show: str
    details: tuple[str, ...] = ()
    blocked: str = ""
    """Why it cannot be prepared; empty where it can."""

    @property
    def words(self) -> str:
        """All of it in one text."""
        return f"{BLOCKED}: {self.blocked}" if self.blocked else "; ".join(filter(None, (self.show, *self.details)))


class Column(Struct, frozen=True):
    """One line at every weight."""

    name: str
    always: tuple[str, ...]
    """The details that are the same at every weight; the cells leave them out."""
    cells: tuple[Cell, ...]


class Chart(Struct, frozen=True):
    """The chart's cells, in words, with what it was made from."""

    title: str
    made: tuple[str, ...]
    """Date, edition, ward, fingerprints, the gestation and the facts it stands for, and what is out of date."""
    always: tuple[tuple[str, str], ...]
    """Lines that are the same at every weight: name and words."""
    weights: tuple[str, ...]
    doubts: tuple[str, ...]
    """For each weight, why the list would not be given for it without more; empty where it would."""
    columns: tuple[Column, ...]


def make_chart(
    kit: Written[Kit], ward: Written[Ward] | None, grams: Iterable[int], gestation: str, now: datetime
) -> Chart:
    """One row a weight, one column a line that has an amount; facts stand at the kit's defaults.

    Args:
        kit: the kit as read.
        ward: the ward file as read.
        grams: the weights of the rows, each within what a baby may weigh; at least one.
        gestation: the one the chart is made for.
        now: printed on it; decides approvals.
    """
    trays, prepared = [], prepare(kit, ward)
    for weight in grams:
        baby, problems = make_baby(kit.model, {"weight": str(weight), "gestation": gestation}, now)
        if baby is None:
            raise ValueError(problems[0].words())
        trays.append(compute_prepared(prepared, baby, {}, now))
    columns, always = [], []
    for at, line in enumerate(trays[0].lines):
        cells = tuple(_make_cell(tray.lines[at]) for tray in trays)
        if line.kind == "trial" or not any(cell.words for cell in cells):
            continue
        if len(set(cells)) == 1:
            always.append((line.name, cells[0].words))
        else:
            columns.append(_make_column(line.name, cells))
    return Chart(
        title=kit.model.name,
        made=(*_say_made(kit, ward, gestation, now), *trays[0].overdue),
        always=tuple(always),
        weights=tuple(f"{tray.baby.weight_g} g" for tray in trays),
        doubts=tuple(_find_doubt(tray) for tray in trays),
        columns=tuple(columns),
    )


def _make_cell(line: ListLine) -> Cell:
    return Cell("", (), line.blocked) if line.blocked else Cell(line.show, line.details)


def _make_column(name: str, cells: Sequence[Cell]) -> Column:
    there = [cell for cell in cells if not cell.blocked]
    always = [words for words in there[0].details if all(words in cell.details for cell in there)] if there else []
    kept = [tuple(words for words in cell.details if words not in always) for cell in cells]
    shortened = (Cell(cell.show, details, cell.blocked) for cell, details in zip(cells, kept, strict=True))
    return Column(name, tuple(always), tuple(shortened))


def _find_doubt(tray: TrayList) -> str:
    """Why this baby's list would wait: the kit is not for it, or its weight has to be entered again."""
    if tray.verdict == "not suitable":
        return "not suitable for this kit"
    belief = check_weight(tray.baby.weight_g, tray.baby.gestation.days, Sex(tray.baby.sex)).belief
    return {
        Belief.LIKELY: "",
        Belief.UNLIKELY: f"unlikely at {tray.baby.gestation}",
        Belief.VERY_UNLIKELY: f"very unlikely at {tray.baby.gestation}",
        Belief.NO_REFERENCE: f"no growth reference at {tray.baby.gestation}",
    }[belief]


def _say_made(kit: Written[Kit], ward: Written[Ward] | None, gestation: str, now: datetime) -> tuple[str, ...]:
    file = (
        f"ward {ward.model.name}, edition {ward.model.edition}, review by {ward.model.review_by}"
        if ward
        else "no ward file"
    )
    prints = f"kit {kit.sha256[:16]}" + (f", ward {ward.sha256[:16]}" if ward else "")
    return (
        f"Printed {now:%Y-%m-%d %H:%M}. Kit edition {kit.model.edition}, review by {kit.model.review_by}; {file}.",
        f"Fingerprints: {prints}.",
        f"For a gestation of {gestation}, a first dose, and every other fact at the kit's default.",
    )
