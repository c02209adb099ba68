"""A worked night on an invented ward with invented babies: prepared, checked, given, recovered, closed, printed.

    python demo/worked_night.py FOLDER

keeps the night's preparations in FOLDER/preparations.sqlite and prints its papers beside them. `STEPS` is the whole
night as one table, in the order in which things were done: it is followed here through the desk, and can be followed
key by key on the screens.
"""

import contextlib
import io
import sys
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta, timezone
from pathlib import Path

from prepkit.app.demo import CHOSEN
from prepkit.app.files import WorkstationFiles
from prepkit.app.open_preparation import OpenPreparation
from prepkit.app.workstation import Workstation
from prepkit.cli.main import main
from prepkit.paths import find_shipped
from prepkit.store import open_sqlite

KIT = "surfactant-supraglottic"
BEGUN = datetime(2026, 11, 25, 2, 0, tzinfo=timezone(timedelta(hours=1)))


@dataclass(frozen=True, slots=True)
class Step:
    """One thing that one person did."""

    after: int
    """Seconds since the step before."""
    who: str
    cot: str
    do: str
    """One of `ACTIONS`."""
    what: tuple[str, ...] = ()


def _prepare(cot: str, who: str, facts: Mapping[str, str], *, practice: bool = False) -> tuple[Step, ...]:
    start = "start for practice" if practice else "start"
    return (
        Step(60, who, cot, start, (KIT,)),
        *(Step(8, who, cot, "give a fact", (fact, typed)) for fact, typed in facts.items()),
        Step(24, who, cot, "say that no reason applies"),
    )


def _check(cot: str, who: str, read: Mapping[str, str], lines: Mapping[str, tuple[str, ...]]) -> tuple[Step, ...]:
    return (
        Step(120, who, cot, "begin the check"),
        *(Step(15, who, cot, "read a fact", (fact, typed)) for fact, typed in read.items()),
        *(Step(30, who, cot, "enter a checked line", (line, *typed)) for line, typed in lines.items()),
    )


def _give(cot: str, who: str, *, attempt: str, depth: str, given: str, recovered: str) -> tuple[Step, ...]:
    return (
        Step(240, who, cot, "do a step", ("t-piece-on",)),
        Step(10, who, cot, "read at a step", ("t-piece-on", "heart_rate", "152")),
        Step(30, who, cot, "do a step", ("stomach-emptied",)),
        Step(40, who, cot, "do a step", ("atropine-given",)),
        Step(60, who, cot, "do a step", ("sucrose-given",)),
        Step(20, who, cot, "do a step", ("lubricant-on",)),
        Step(100, who, cot, "do a step", ("device-in",)),
        Step(5, who, cot, "read at a step", ("device-in", "attempts", attempt)),
        Step(5, who, cot, "read at a step", ("device-in", "device_holder", "TO")),
        Step(10, who, cot, "do a step", ("t-piece-on-device",)),
        Step(10, who, cot, "do a step", ("cpap-gas-off",)),
        Step(15, who, cot, "do a step", ("co2-seen",)),
        Step(30, who, cot, "do a step", ("catheter-in",)),
        Step(5, who, cot, "read at a step", ("catheter-in", "catheter_depth", depth)),
        Step(20, who, cot, "do a step", ("surfactant-begun",)),
        Step(5, who, cot, "read at a step", ("surfactant-begun", "instiller", who)),
        Step(195, who, cot, "do a step", ("catheter-out",)),
        Step(5, who, cot, "read at a step", ("catheter-out", "volume_given", given)),
        Step(30, who, cot, "do a step", ("cpap-on",)),
        Step(20, who, cot, "do a step", ("device-out",)),
        Step(120, who, cot, "do a step", ("new-tube",)),
        Step(60, who, cot, "do a step", ("stomach-measured",)),
        Step(10, who, cot, "read at a step", ("stomach-measured", "volume_recovered", recovered)),
    )


def _follow(cot: str, who: str, fio2: tuple[str, str], missed: str) -> tuple[Step, ...]:
    early = {
        "spo2": "93",
        "fio2_now": fio2[0],
        "heart_rate": "158",
        "respiratory_rate": "62",
        "breathing": "some effort",
    }
    later = {"spo2": "94", "fio2_now": fio2[1], "heart_rate": "150", "respiratory_rate": "54", "breathing": "easy"}
    return (
        *(
            Step(1560 if each == "spo2" else 5, who, cot, "follow up", ("after-30-min", each, read))
            for each, read in early.items()
        ),
        *(
            Step(1780 if each == "spo2" else 5, who, cot, "follow up", ("after-1-h", each, read))
            for each, read in later.items()
        ),
        *(Step(20, who, cot, "miss a follow-up", (each, missed)) for each in ("after-2-h", "after-3-h", "after-6-h")),
    )


_COT_4 = {
    "birth_weight": "1450",
    "birth_gestation": "30+2",
    "born": "2026-11-25",
    "sex": "girl",
    "cpap": "6",
    "fio2": "38",
    "gastric_tube": "yes",
    "line_patent": "yes",
    "nil_by_mouth": "yes",
    "earlier_surfactant": "none",
    "leads": "RA, skilled",
    "intubates": "KM, on the unit",
}
_COT_2 = _COT_4 | {
    "birth_weight": "2140",
    "birth_gestation": "33+4",
    "born": "2026-11-23",
    "weight_now": "2080",
    "sex": "boy",
    "cpap": "7",
    "earlier_surfactant": "poractant-alfa, 200 mg/kg, 2026-11-24 12:00",
}
_COT_9 = _COT_4 | {"birth_weight": "1800", "birth_gestation": "32+0"}

STEPS: tuple[Step, ...] = (
    # Cot 4: a first dose. The checker works the surfactant out wrong; they look at it together and the line stands.
    *_prepare("Cot 4", "RA", _COT_4),
    Step(20, "RA", "Cot 4", "set a line aside", ("drape", "lies in the pack")),
    Step(300, "RA", "Cot 4", "tick every line"),
    *_check(
        "Cot 4",
        "TO",
        {"birth_weight": "1450", "born": "2026-11-25"},
        {
            "airway-device": ("1",),
            "surfactant": ("3.4", "3 mL=1", "1.5 mL=1"),
            "catheter-depth": ("15",),
            "atropine": ("0.58", "1 mL=1"),
            "sucrose": ("0.2",),
        },
    ),
    Step(60, "RA", "Cot 4", "settle a difference", ("surfactant", "worked again together: 3.625 mL, so 3.6 mL")),
    Step(30, "RA", "Cot 4", "read aloud"),
    *_give("Cot 4", "RA", attempt="first", depth="15", given="3.6", recovered="0.4"),
    *_follow("Cot 4", "KM", ("30", "25"), "gone to another ward"),
    Step(60, "KM", "Cot 4", "say the outcome", ("given in full",)),
    Step(5, "KM", "Cot 4", "say the complications"),
    Step(60, "KM", "Cot 4", "sign"),
    # Cot 2: weighed again on its third day; a second dose, handed over half done; more than half of it comes back.
    *_prepare("Cot 2", "KM", _COT_2),
    Step(200, "KM", "Cot 2", "tick every line"),
    Step(20, "KM", "Cot 2", "hand over", ("all laid out, to be checked",)),
    Step(60, "RA", "Cot 2", "take over"),
    *_check(
        "Cot 2",
        "TO",
        {"birth_weight": "2140", "weight_now": "2080"},
        {
            "airway-device": ("1",),
            "surfactant": ("2.6", "3 mL=1"),
            "catheter-depth": ("15",),
            "atropine": ("0.83", "1 mL=1"),
            "sucrose": ("0.2",),
        },
    ),
    Step(30, "RA", "Cot 2", "read aloud"),
    *_give("Cot 2", "RA", attempt="second", depth="15", given="2.6", recovered="1.6"),
    Step(20, "RA", "Cot 2", "note a happening", ("desaturation", "after the device came out")),
    *_follow("Cot 2", "RA", ("45", "40"), "the day team looks"),
    Step(60, "RA", "Cot 2", "say the outcome", ("given in part", "more than half came back")),
    Step(5, "RA", "Cot 2", "say the complications", ("desaturation",)),
    Step(60, "RA", "Cot 2", "sign"),
    # Cot 9: a learner practises on an invented baby, and stands it down.
    *_prepare("Cot 9", "LB", _COT_9, practice=True),
    Step(120, "LB", "Cot 9", "tick every line"),
    Step(60, "LB", "Cot 9", "stand down", ("end of the practice",)),
)


class Night:
    """The night at one desk, whose clock the steps move."""

    def __init__(self, folder: Path) -> None:
        """Sit down at a desk over a new store in a folder."""
        self.now = BEGUN
        self.store = open_sqlite(folder / "preparations.sqlite")
        self.desk = Workstation(
            self.store, WorkstationFiles(find_shipped("demo") / "ward.toml", None), clock=lambda: self.now
        )
        self.opened: dict[str, OpenPreparation] = {}

    def follow(self, step: Step) -> str:
        """Do one step; the refusal in words, or an empty string."""
        self.now += timedelta(seconds=step.after)
        self.desk.identity.who = step.who
        if step.do.startswith("start"):
            return self._start(step.cot, *step.what, practice=step.do == "start for practice")
        opened = self.opened[step.cot]
        if step.do in CHECKER_ACTIONS:
            # The checker signs in for the check; the desk stays with whoever prepared.
            self.desk.identity.who = opened.session.state.started.who
            return CHECKER_ACTIONS[step.do](opened, step.who, *step.what)
        return ACTIONS[step.do](opened, *step.what)

    def _start(self, cot: str, kit: str, *, practice: bool) -> str:
        opened = self.desk.start(kit, cot, practice=practice)
        if isinstance(opened, str):
            return opened
        self.opened[cot] = opened
        return ""


def _tick_all(opened: OpenPreparation) -> str:
    lines = [line.id for line in opened.session.state.lines if not opened.session.state.is_set_aside(line.id)]
    return next((refusal for line in lines if (refusal := opened.lines.tick(line, CHOSEN.get(line, "")))), "")


def _find_entry(opened: OpenPreparation, step: str) -> str:
    return next(row.entry for row in opened.bedside.show_cot().steps if row.step == step)


def _enter_line(opened: OpenPreparation, _who: str, line: str, typed: str, *counts: str) -> str:
    return opened.check.enter(line, typed, dict(count.split("=") for count in counts))


ACTIONS: Mapping[str, Callable[..., str]] = {
    "give a fact": lambda opened, *what: opened.baby.give_fact(*what),
    "say that no reason applies": lambda opened: opened.baby.answer_others(),
    "set a line aside": lambda opened, *what: opened.lines.set_aside(*what),
    "tick every line": _tick_all,
    "settle a difference": lambda opened, line, reason: opened.check.settle(line, reason),
    "hand over": lambda opened, note: opened.handover.hand_over(note),
    "take over": lambda opened: opened.handover.take_over(opened.handover.show_handover().standing),
    "read aloud": lambda opened: opened.ready.read_aloud(),
    "do a step": lambda opened, step: opened.bedside.do_step(step),
    "read at a step": lambda opened, step, *given: opened.bedside.give_reading(_find_entry(opened, step), *given),
    "note a happening": lambda opened, *what: opened.bedside.note_happening(*what),
    "follow up": lambda opened, *given: opened.bedside.give_reading(*given),
    "miss a follow-up": lambda opened, *what: opened.bedside.miss_follow_up(*what),
    "say the outcome": lambda opened, *what: opened.bedside.give_outcome(*what),
    "say the complications": lambda opened, *said: opened.bedside.say_complications(said),
    "sign": lambda opened: opened.bedside.sign(opened.bedside.show_record().standing),
    "stand down": lambda opened, reason: opened.ready.stand_down(reason),
}
CHECKER_ACTIONS: Mapping[str, Callable[..., str]] = {
    "begin the check": lambda opened, who: opened.check.begin(who),
    "read a fact": lambda opened, _who, *what: opened.check.enter_fact(*what),
    "enter a checked line": _enter_line,
}

PAPERS: Mapping[str, tuple[str, ...]] = {
    "cot-4.txt": ("record", "cot 4"),
    "cot-4.html": ("record", "Cot 4", "--format", "html"),
    "cot-4.json": ("record", "Cot 4", "--format", "json"),
    "cot-4.fhir.json": ("record", "Cot 4", "--format", "fhir"),
    "cot-2.html": ("record", "Cot 2", "--format", "html"),
    "cot-9-practice.html": ("record", "Cot 9", "--format", "html"),
    "audit.txt": ("audit",),
    "audit.csv": ("audit", "--format", "csv"),
    "audit.html": ("audit", "--format", "html"),
    "verify.txt": ("verify",),
    "mine-RA.txt": ("mine", "RA"),
    "mine-LB.txt": ("mine", "LB"),
}
"""What is printed in the morning, each with the command that prints it."""


def work_the_night(folder: Path) -> None:
    """Follow every step. Raises ValueError for one that is refused."""
    night = Night(folder)
    with night.store:
        for number, step in enumerate(STEPS, 1):
            refusal = night.follow(step)
            if refusal:
                raise ValueError(f"step {number}, {step.cot}, {step.who}, {step.do} {' '.join(step.what)}: {refusal}")


def print_papers(folder: Path) -> None:
    """Print every paper with its public command. Raises ValueError for a command that fails."""
    for name, command in PAPERS.items():
        kept = io.BytesIO()
        out = io.TextIOWrapper(kept, "utf-8", newline="")
        with contextlib.redirect_stdout(out):
            code = main([*command, "--store", str(folder / "preparations.sqlite")])
        if code:
            raise ValueError(f"prepkit {' '.join(command)}: exit code {code}")
        out.flush()
        (folder / name).write_bytes(kept.getvalue())


if __name__ == "__main__":
    if len(sys.argv) != 2:  # noqa: PLR2004  (the program and its folder)
        sys.exit("usage: python demo/worked_night.py FOLDER")
    target = Path(sys.argv[1])
    target.mkdir(parents=True, exist_ok=True)
    work_the_night(target)
    print_papers(target)
    print(*sorted(path.name for path in target.iterdir()), sep="\n")
