"""The demo: an invented ward with a few invented babies, prepared through a workstation like any others."""

from collections.abc import Mapping
from datetime import datetime, timedelta
from pathlib import Path

from msgspec import Struct

from prepkit.app.clock import fix_offset, read_clock
from prepkit.app.files import WorkstationFiles
from prepkit.app.workstation import Workstation
from prepkit.store import Store

KIT = "surfactant-supraglottic"
_ALL = 1000


class DemoBaby(Struct, frozen=True):
    """One invented baby, and how far its preparation has come."""

    cot: str
    minutes_ago: int
    facts: Mapping[str, str]
    answers: Mapping[str, str]
    ticks: int
    """How many lines were ticked, from the top of the list."""
    people: tuple[str, ...]
    """Invented initials, taking turns."""


_NO_REASON = dict.fromkeys(("intubation-near", "pneumothorax", "malformation", "major-anomaly", "other-cause"), "no")
_USUAL = {
    "born": "today",
    "fio2": "38",
    "gastric_tube": "yes",
    "line_patent": "yes",
    "nil_by_mouth": "yes",
    "earlier_surfactant": "none",
    "leads": "KM, skilled",
    "intubates": "TO, on the unit",
}

BABIES = (
    DemoBaby(
        "Cot 2",
        95,
        {"birth_weight": "2140", "birth_gestation": "33+4", "sex": "boy", "cpap": "7"} | _USUAL,
        _NO_REASON,
        _ALL,
        ("KM", "TO"),
    ),
    DemoBaby(
        "Cot 4",
        40,
        {"birth_weight": "1450", "birth_gestation": "30+2", "sex": "girl", "cpap": "6"} | _USUAL,
        {"malformation": "no"},
        12,
        ("RA", "KM"),
    ),
    DemoBaby("Cot 7", 6, {"birth_weight": "1240", "birth_gestation": "29+1"}, {}, 0, ("RA",)),
)


CHOSEN = {"catheter-depth": "15"}
"""What the demo's people enter with the ticks of lines whose one value is chosen within a range."""


def lay_out_demo(store: Store, ward: Path) -> None:
    """Fill an empty store with the demo's preparations, marked as practice."""
    now = fix_offset(read_clock())
    for baby in BABIES:
        _prepare(store, ward, baby, now - timedelta(minutes=baby.minutes_ago))


def _prepare(store: Store, ward: Path, baby: DemoBaby, begun: datetime) -> None:
    desk = Workstation(store, WorkstationFiles(ward, None), practice=True, who=baby.people[0], clock=lambda: begun)
    session = desk.start(KIT, baby.cot)
    if isinstance(session, str):
        raise ValueError(f"the demo cannot be laid out: {session}")  # noqa: TRY004  (a refusal is a text)
    refusals = [session.baby.give_fact(fact, typed) for fact, typed in baby.facts.items()]
    refusals += [session.baby.answer(criterion, answer) for criterion, answer in baby.answers.items()]
    lines = [line.id for group in session.lines.show_list().groups for line in group.lines]
    for count, line in enumerate(lines[: baby.ticks]):
        desk.identity.who = baby.people[count % len(baby.people)]
        refusals.append(session.lines.tick(line, CHOSEN.get(line, "")))
    if any(refusals):
        raise ValueError(f"the demo cannot be laid out: {next(filter(None, refusals))}")
