"""The kept store: a whole night, and two preparations still in progress, with what was printed from them.

    python tests/papers/make_kept.py

makes it anew from the code as it is, which is right only where a change of what is stored was meant.
`test_kept_store.py` says what it guards.
"""

import contextlib
import hashlib
import io
import itertools
import os
import shutil
import time
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta, tzinfo
from pathlib import Path
from tempfile import TemporaryDirectory

from papers_scene import WARD as DEMO_WARD
from papers_scene import load_night

from prepkit.app import clock
from prepkit.app.demo import CHOSEN
from prepkit.app.files import WorkstationFiles
from prepkit.app.open_preparation import OpenPreparation
from prepkit.app.workstation import Workstation
from prepkit.cli.main import main
from prepkit.store import Store

KEPT = Path(__file__).with_name("kept")
STORE = KEPT / "preparations.sqlite"
WARD = KEPT / "ward.toml"
DIGESTS = KEPT / "papers.sha256"
ANYWHERE = ("list", "sheet", "chart")
"""Commands that need no store."""
WHERE = "ward desk"
PRINTED = datetime(2026, 11, 25, 9, 0, tzinfo=UTC)
KIT = "surfactant-supraglottic"
KITS = (KIT, "surfactant-thin-catheter", "surfactant-brief-ventilation")
CLOSED = ("Cot 4", "Cot 2", "Cot 9")
IN_PROGRESS = ("Cot 7", "Cot 8")
FACTS = {
    "birth_weight": "1240",
    "birth_gestation": "29+1",
    "born": "today",
    "sex": "girl",
    "cpap": "6",
    "fio2": "40",
    "gastric_tube": "no",
    "line_patent": "yes",
    "nil_by_mouth": "yes",
    "earlier_surfactant": "none",
    "leads": "LB, supervised by KM",
    "intubates": "KM, on the unit",
}
THIRD_DAY = {"birth_weight": "1450", "birth_gestation": "30+2", "born": "2026-11-23"}
BABIES = (
    THIRD_DAY,
    THIRD_DAY | {"weight_now": "1310 on 2026-11-25"},
    THIRD_DAY | {"weight_now": "1310 on 2026-11-24", "birth_weight": "not known"},
    THIRD_DAY | {"weight_now": "not weighed since", "birth_gestation": "not known"},
)
"""Who are not of today: still to be weighed, weighed, with no birth weight, with no gestation and not weighed since."""
SURFACTANT, ATROPINE, DEVICE = "09524000000002", "9524000000019", "09524000000026"
"""Product numbers that GS1 keeps for examples: none is a real product's."""


def write_ward() -> str:
    """The demo ward, with product numbers of no real product, that wants batch and expiry of what is in hand."""
    text = DEMO_WARD.read_text("utf-8")
    text = text.replace('air = "0.5 mL"', 'air = "0.5 mL"\nin_hand = true', 1)
    text = text.replace('holds = ["1.5 mL", "3 mL"]', f'holds = ["1.5 mL", "3 mL"]\ngtin = ["{SURFACTANT}"]', 1)
    text = text.replace('use = ["atropine-50"]', f'use = ["atropine-50"]\ngtin = ["{ATROPINE}"]', 1)
    return text + f'\n[[device]]\nline = "airway-device"\nsize = "1"\ngtin = ["{DEVICE}"]\n'


class Evening:
    """Two preparations begun at one desk and left in progress."""

    def __init__(self, store: Store, begun: datetime) -> None:
        """Sit down at a desk whose clock moves by some seconds with every act."""
        self.now = begun
        self.desk = Workstation(store, WorkstationFiles(WARD, None), clock=self._tell)
        self.desk.identity.where = WHERE

    def _tell(self) -> datetime:
        return self.now

    def act(self, refusal: str) -> None:
        """Go on after an act that was not refused."""
        if refusal:
            raise ValueError(refusal)
        self.now += timedelta(seconds=11)

    def start(self, who: str, cot: str, facts: dict[str, str]) -> OpenPreparation:
        """Begin a preparation and give its facts."""
        self.desk.identity.who = who
        opened = self.desk.start(KIT, cot)
        if isinstance(opened, str):
            raise TypeError(opened)
        for fact, typed in facts.items():
            self.act(opened.baby.give_fact(fact, typed))
        return opened

    def prepare_half(self) -> None:
        """Cot 7: batches in hand, half of it ticked, a line set aside, a weight corrected, a check stopped half way."""
        opened = self.start("RA", "Cot 7", FACTS | {"born": "yesterday", "weight_now": "1210"})
        for line, code in (("airway-device", DEVICE), ("surfactant", SURFACTANT), ("atropine", ATROPINE)):
            self.act(opened.batches.scan(line, f"01{code.zfill(14)}1727123110AB12"))
        self.act(opened.batches.give("surfactant", "CD34", "2027-10"))
        self.act(opened.lines.set_aside("drape", "lies in the pack"))
        lines = [line.id for line in opened.session.state.lines if not opened.session.state.is_set_aside(line.id)]
        for line in lines[:20]:
            self.act(opened.lines.tick(line, CHOSEN.get(line, "")))
        self.act(opened.lines.tick(lines[3]))  # taken back
        self.act(opened.baby.give_fact("birth_weight", "1260"))
        self.act(opened.baby.touch("malformation"))
        self.act(opened.baby.touch("malformation"))  # taken back
        self.act(opened.baby.answer("malformation", "no"))
        self.act(opened.baby.touch("parents-told"))
        self.act(opened.check.begin("LB"))
        self.act(opened.check.enter_fact("birth_weight", "1260"))
        self.act(opened.check.enter_fact("weight_now", "1210"))
        self.act(opened.check.enter("airway-device", "1"))
        self.act(opened.check.stop())

    def check_half(self) -> None:
        """Cot 8: all ticked, a check ended with a difference, then handed over and taken over."""
        opened = self.start("KM", "Cot 8", FACTS | {"birth_weight": "1610", "birth_gestation": "31+0"})
        for line, code in (("airway-device", DEVICE), ("surfactant", SURFACTANT), ("atropine", ATROPINE)):
            self.act(opened.batches.scan(line, f"01{code.zfill(14)}1727123110EF56"))
        for line in [line.id for line in opened.session.state.lines]:
            self.act(opened.lines.tick(line, CHOSEN.get(line, "")))
        self.act(opened.check.begin("TO"))
        self.act(opened.check.enter_fact("birth_weight", "1610"))
        self.act(opened.check.enter_fact("born", "today"))
        while (field := opened.check.show_check().field) is not None:
            self.act(opened.check.enter(field.line, *_work_out(opened, field.line)))
        self.act(opened.handover.hand_over("surfactant differs, ask again"))
        self.desk.identity.who = "RA"
        self.act(opened.handover.take_over(opened.handover.show_handover().standing))


def _work_out(opened: OpenPreparation, line: str) -> tuple[str, dict[str, str]]:
    """What a checker types: as on the list, but for the surfactant."""
    from prepkit.quantities.text import show_amount, write_decimal  # noqa: PLC0415  (loads units)

    tray = opened.session.work_out().tray
    if tray is None:
        raise ValueError(opened.session.state.withheld)
    found = next(each for each in tray.lines if each.id == line)
    outcome = found.outcome
    if found.declared.choices:
        return outcome.sizes[0], {}
    amount = outcome.amount or outcome.high
    if amount is None:
        raise ValueError(line)
    counts = {show_amount(vial.size): str(vial.count) for vial in outcome.vials}
    return "3.4" if line == "surfactant" else write_decimal(amount.value), counts


def make_store(path: Path) -> None:
    """Keep the night and the two preparations in a new store, in a folder of its own."""
    module = load_night()
    night = module.Night(path.parent)
    night.desk.where = WHERE
    with night.store:
        for step in module.STEPS:
            if refusal := night.follow(step):
                raise ValueError(refusal)
        evening = Evening(night.store, night.now + timedelta(hours=1))
        evening.prepare_half()
        evening.check_half()
    shutil.copyfile(path, STORE)


def list_papers() -> Iterator[tuple[str, ...]]:
    """Every command whose output is kept."""
    for cot in (*CLOSED, *IN_PROGRESS):
        yield from (("record", cot, "--format", form) for form in ("text", "html", "json", "fhir"))
    for cot in IN_PROGRESS:
        yield from (("labels", cot, "--format", form) for form in ("text", "html"))
    yield from (("audit", "--format", form) for form in ("text", "csv", "html"))
    yield from (("mine", who) for who in ("RA", "KM", "TO", "LB"))
    yield ("verify",)
    for kit, weight, gestation in itertools.product(KITS, ("900", "1450", "2140"), ("27+3", "30+2", "34+0")):
        asked = (kit, "--birth-weight", weight, "--birth-gestation", gestation, "--ward", "WARD")
        yield from (("list", *asked, "--format", form) for form in ("text", "json"))
        yield ("sheet", *asked, "--format", "html")
    for kit, facts in itertools.product(KITS, BABIES):
        flags = [part for fact, typed in facts.items() for part in (f"--{fact.replace('_', '-')}", typed)]
        yield from (("list", kit, *flags, "--ward", "WARD", "--format", form) for form in ("text", "json"))
    for kit in KITS:
        yield from (("chart", kit, "--ward", "WARD", "--format", form) for form in ("text", "csv", "html"))


@contextlib.contextmanager
def stop_clock(now: datetime = PRINTED) -> Iterator[None]:
    """This machine's clock stands still, in UTC, while papers are printed."""

    class Stopped(datetime):
        @classmethod
        def now(cls, tz: tzinfo | None = None) -> datetime:
            return now.astimezone(tz).replace(tzinfo=tz)

    zone = os.environ.get("TZ")
    os.environ["TZ"] = "UTC"
    time.tzset()
    clock.datetime, real = Stopped, clock.datetime
    try:
        yield
    finally:
        clock.datetime = real
        os.environ.pop("TZ")
        if zone is not None:
            os.environ["TZ"] = zone
        time.tzset()


def print_paper(command: tuple[str, ...], store: Path) -> bytes:
    """What a command writes, paths left out; a list that is blocked is one too. Raises ValueError where it fails."""
    given = [str(WARD) if each == "WARD" else each for each in command]
    kept_in = [] if command[0] in ANYWHERE else ["--store", str(store)]
    kept = io.BytesIO()
    out = io.TextIOWrapper(kept, "utf-8", newline="")
    with contextlib.redirect_stdout(out), stop_clock():
        code = main([*given, *kept_in])
    out.flush()
    if code > (command[0] in ANYWHERE):
        raise ValueError(f"prepkit {' '.join(command)}: exit code {code}")
    return kept.getvalue().replace(str(store).encode(), b"STORE").replace(str(WARD).encode(), b"WARD")


def write_digest(command: tuple[str, ...], store: Path) -> str:
    """One row of `papers.sha256`."""
    return f"{hashlib.sha256(print_paper(command, store)).hexdigest()}  {' '.join(command)}"


def make_anew() -> None:
    """Make the store, its ward file and the digests of its papers."""
    WARD.write_text(write_ward(), "utf-8")
    with TemporaryDirectory() as folder:
        store = Path(folder) / "preparations.sqlite"
        make_store(store)
        DIGESTS.write_text("".join(f"{write_digest(command, store)}\n" for command in list_papers()), "utf-8")


if __name__ == "__main__":
    make_anew()
