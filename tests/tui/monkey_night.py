"""One night of the monkey: a ward, a store, an app that is killed and opened again, another desk, a clock that jumps.

A step is a kind and a number; what it does follows from these and from what is on the screen, so that any part of a
night can be done again.
"""

import random  # noqa: TID251  (seeded: the same steps at every run)
import traceback
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path

import pytest
from argon2 import PasswordHasher, profiles
from cot_scene import complete, do_all
from monkey_drive import Driver, quieten
from monkey_moves import MOVES, SIZES
from monkey_other import do_one
from monkey_ticks import TickBook
from monkey_usual import PINS
from tui_samples import IN_HAND, PEOPLE, STAFF, write_ward
from workstation_scene import Clock, answer_all, check_all, start, tick_all

from prepkit.app.eventlog.repository import read_preparation
from prepkit.app.eventlog.stream_index import read_open
from prepkit.app.files import WorkstationFiles
from prepkit.app.open_preparation import OpenPreparation
from prepkit.app.staff import StaffList
from prepkit.app.workstation import Workstation
from prepkit.people.pin import Pin
from prepkit.store import SqliteStore, check_store, open_sqlite
from prepkit.tui.app import PrepkitApp
from prepkit.tui.place import HOME, Place
from prepkit.tui.screens.base import WorkstationScreen
from prepkit.tui.screens.cot import CotScreen
from prepkit.tui.screens.overlays import MessageScreen
from prepkit.tui.screens.preparation import PreparationScreen

Chance = random.Random

WARDS = ("plain", "pins", "in hand", "pins and in hand")
SCENES = ("empty", "begun", "checked", "differs", "at the cot", "afterwards", "to sign")
OPENS_AT = {"differs": "checked", "at the cot": "cot", "afterwards": "record", "to sign": "record"}
"""The screen a scene opens at, where that is not the list and no PIN is asked for first."""
AROUND = {"time": 5.0, "jump": 1.0, "other": 6.0, "kill": 1.0}
"""What happens around the screen, and how often, beside `MOVES`."""
KINDS = {**{name: weight for name, (_, weight) in MOVES.items()}, **AROUND}
JUMPS = (
    {"minutes": 1},
    {"minutes": 6},
    {"minutes": 45},
    {"hours": 5},
    {"days": 1},
    {"days": 400},
    {"hours": -1},
    {"days": -1},
)
LOOK_EVERY = 50


@dataclass(frozen=True, slots=True)
class Step:
    """One step: its kind, and the number that decides the rest."""

    kind: str
    number: int

    def __str__(self) -> str:
        return f"{self.kind}:{self.number}"


@dataclass
class Outcome:
    """What came of a night."""

    fault: str = ""
    """Empty where there was none; the same fault has the same first line."""
    said: list[str] = field(default_factory=list)
    """Each step in words."""
    visits: Counter[str] = field(default_factory=Counter)
    keys: int = 0
    touches: int = 0
    ticks: int = 0
    """Different ticks that were shown."""


def plan_night(seed: int, count: int) -> tuple[Step, ...]:
    """The steps of a night."""
    chance = random.Random(seed)  # noqa: S311  (no secret)
    kinds = chance.choices(list(KINDS), list(KINDS.values()), k=count)
    return tuple(Step(kind, chance.randrange(1_000_000)) for kind in kinds)


class Night:
    """The world in which the steps are done."""

    def __init__(self, folder: Path, ward: str, scene: str) -> None:
        self.path = folder / "store" / "preparations.sqlite"
        self.clock = Clock()
        self.outcome = Outcome()
        changes = IN_HAND if "in hand" in ward else ()
        self._ward = write_ward(folder / "ward.toml", *changes, more=PEOPLE if "pins" in ward else "")
        self._place = HOME
        self._size = SIZES[1]
        self._others: dict[str, OpenPreparation] = {}
        store = self._lay(scene)
        self._other = self._sit_down("KM")
        self.book = TickBook(self.path)
        store.close()

    def _sit_down(self, who: str) -> Workstation:
        store = open_sqlite(self.path)
        desk = Workstation(store, WorkstationFiles(self._ward, None), clock=self.clock)
        if who:
            assert desk.identity.sign_on(who, PINS[who]) == ""
        desk.warm_up()
        return desk

    def _lay(self, scene: str) -> SqliteStore:
        """Bring a preparation as far as the scene has it."""
        store = open_sqlite(self.path)
        desk = Workstation(store, WorkstationFiles(self._ward, None), clock=self.clock)
        staff = StaffList(store, self.clock, "office")
        for who, pin in PINS.items():
            assert staff.add(who, STAFF.get(who, ("nurse", ""))[0], Pin(pin), "admin") == ""
        assert desk.identity.sign_on("RA", PINS["RA"]) == ""
        if scene != "empty":
            opened = start(desk)
            self._bring_on(opened, SCENES.index(scene), {"surfactant": "3.2"} if scene == "differs" else {})
            self._place = Place("RA", opened.session.prep, OPENS_AT.get(scene, "list"))
        return store

    def _bring_on(self, opened: OpenPreparation, far: int, wrong: dict[str, str]) -> None:
        if far < SCENES.index("checked"):
            return
        for row in (row for group in opened.lines.show_list().groups for row in group.lines):
            opened.batches.give(row.id, "AB12", "2027-12-31")
        tick_all(opened)
        answer_all(opened)
        check_all(opened, wrong=wrong, pin=PINS["TO"])
        if far >= SCENES.index("at the cot"):
            assert opened.ready.read_aloud() == ""
        if far == SCENES.index("afterwards"):
            do_all(opened, self.clock)
        if far == SCENES.index("to sign"):
            complete(opened, self.clock)

    # Steps

    async def live(self, steps: Sequence[Step]) -> Outcome:
        """Do the steps, in as many lives of the app as it takes; stops at the first fault."""
        left = iter(steps)
        is_left = True
        try:
            while is_left and not self.outcome.fault:
                is_left = await self._live_once(left)
            if not self.outcome.fault:
                self._hold_against_store()
        finally:
            self.book.close()
            self._other.store.close()  # type: ignore[attr-defined]
        self.outcome.ticks = len(self.book.shown)
        return self.outcome

    async def _live_once(self, left: Iterator[Step]) -> bool:
        """One program from its start to its end; False where no step is left."""
        desk = self._sit_down("")
        app = PrepkitApp(desk, self._place, self._note_place)
        driver, is_left = Driver(app), True
        try:
            async with app.run_test(size=self._size):
                is_left = await self._do_steps(driver, left)
        except Exception as error:  # noqa: BLE001  (whatever it is, it is what is looked for)
            self._find_fault(error)
        finally:
            self.outcome.keys += driver.keys
            self.outcome.touches += driver.touches
            desk.store.close()  # type: ignore[attr-defined]
        return is_left

    async def _do_steps(self, driver: Driver, left: Iterator[Step]) -> bool:
        await driver.come_to_rest()
        for step in left:
            self.clock.move(seconds=step.number % 4)
            is_killed = self._do(driver, step)
            if is_killed:
                return True
            await driver.come_to_rest()
            if driver.is_over:
                return True
            self._look(driver)
        return False

    def _do(self, driver: Driver, step: Step) -> bool:
        """Do a step; True where it ends the program."""
        chance = random.Random(step.number)  # noqa: S311  (no secret)
        words = ""
        if step.kind in MOVES:
            words = MOVES[step.kind][0](driver, chance)
        elif step.kind == "time":
            _let_time_pass(driver)
        elif step.kind == "jump":
            self.clock.move(**(words := chance.choice(JUMPS)))
        elif step.kind == "other":
            words = self._do_elsewhere(driver, chance)
        else:
            driver.press(*chance.choices(("enter", "space", "down", "r"), k=2))
        where = type(driver.screen).__name__ if not driver.is_over else "-"
        self.outcome.said.append(f"{step} on {where}: {words}")
        self._size = driver.app.size
        return step.kind == "kill"

    def _do_elsewhere(self, driver: Driver, chance: Chance) -> str:
        """Another desk does something to the preparation on the screen, mostly, else to any one."""
        here = [each.prep.session.prep for each in driver.app.screen_stack if isinstance(each, PreparationScreen)]
        preps = [*here[-1:] * 4, *read_open(self._other.store)]
        if not preps:
            return "nothing to do"
        prep = chance.choice(preps)
        if prep not in self._others:
            resumed = self._other.resume(prep)
            assert not isinstance(resumed, str), resumed
            self._others[prep] = resumed
        self._others[prep].session.refresh()
        return do_one(self._others[prep], chance)

    # Looking

    def _note_place(self, place: Place) -> None:
        self._place = place

    def _look(self, driver: Driver) -> None:
        self.outcome.visits[type(driver.screen).__name__] += 1
        faults = self.book.look(driver.app)
        if faults:
            raise AssertionError("\n".join(faults))
        if len(self.outcome.said) % LOOK_EVERY == 0:
            self._hold_against_store()

    def _hold_against_store(self) -> None:
        """No tick is lost, and the program's own fold says the same as the replay."""
        assert self.book.find_lost() == []
        store = open_sqlite(self.path)
        try:
            for prep in read_open(store):
                state, replay = read_preparation(store, prep), self.book.replays[prep]
                ours = {line.id for line in state.lines if state.is_ticked(line.id)}
                assert ours == set(replay.standing), prep
            assert check_store(store) == ()
        finally:
            store.close()

    def _find_fault(self, error: BaseException) -> None:
        last = traceback.extract_tb(error.__traceback__)[-1]
        head = f"{type(error).__name__} in {Path(last.filename).name}, {last.name}: {error}"
        self.outcome.fault = head + "\n" + "".join(traceback.format_exception(error))


def _let_time_pass(driver: Driver) -> None:
    """Look, as the app's timers do, at the news, at the clock, at how long nobody touched the screen, at the place."""
    app, screen = driver.app, driver.screen
    app.call_later(app.lock_if_idle)
    app.call_later(app._tell_place)
    if isinstance(screen, WorkstationScreen | MessageScreen):
        screen.call_later(screen._look_for_news)
    if isinstance(screen, WorkstationScreen):
        screen.call_later(screen._let_time_pass)
    if isinstance(screen, CotScreen):
        screen.call_later(screen._let_clocks_run)


async def live_night(folder: Path, ward: str, scene: str, steps: Sequence[Step]) -> Outcome:
    """One night in a new store under `folder`."""
    hasher = PasswordHasher.from_parameters(profiles.CHEAPEST)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("prepkit.people.pin._make_hasher", lambda: hasher)
        patch.setattr("prepkit.app.staff.NOBODYS", hasher.hash(b"nobody's"))
        quieten(patch)
        return await Night(folder, ward, scene).live(steps)
