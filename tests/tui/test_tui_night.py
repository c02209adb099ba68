"""The worked night's first baby followed on the screens: the record is the headless one, to the letter."""

import importlib.util
import sys
from collections.abc import Awaitable, Callable, Mapping
from contextlib import closing
from datetime import datetime, timedelta
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest
from hands import Hands, move_to, place, row_of, run, see, type_in

from prepkit.app.reports import RecordExport, find_stored_preparations, make_record_export
from prepkit.documents.record_text import write_record_text
from prepkit.paths import find_shipped
from prepkit.store import Store
from prepkit.tui.screens.cot import CotScreen
from prepkit.tui.widgets.button import Button
from prepkit.tui.widgets.row import Row

pytestmark = pytest.mark.thorough


COT = "Cot 4"


@pytest.fixture
def night() -> ModuleType:
    spec = importlib.util.spec_from_file_location("worked_night", find_shipped("demo") / "worked_night.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules["worked_night"] = module
    spec.loader.exec_module(module)
    return module


async def to_list(pilot: Hands) -> None:
    """Go back to the list from wherever the last thing was done."""
    while place(pilot) != "list":
        assert place(pilot) != "home", "the list was lost"
        await type_in(pilot, "", "escape")


async def to_home(pilot: Hands) -> None:
    while place(pilot) != "home":
        await type_in(pilot, "", "escape")


async def take_up(pilot: Hands) -> None:
    """From home to where the preparation is."""
    await to_home(pilot)
    pilot.app.screen.query(Row).first().focus()
    await type_in(pilot, "", "enter")


async def sign_on(pilot: Hands, who: str) -> None:
    await to_home(pilot)
    await type_in(pilot, "", "w")
    await type_in(pilot, who, "enter")


async def begin(pilot: Hands, kit: str) -> None:
    await type_in(pilot, "", "n")
    await move_to(pilot, kit)
    await type_in(pilot, "", "enter")
    await type_in(pilot, COT, "enter")


async def give_fact(pilot: Hands, fact: str, typed: str) -> None:
    """The pad asks for the first two by itself; the others are touched on the baby's screen."""
    if place(pilot) == "list":
        await type_in(pilot, "", "b")
    if place(pilot) == "baby":
        await move_to(pilot, fact)
        await type_in(pilot, "", "enter")
    for each in typed.split(", ") if fact in {"leads", "intubates"} else (typed,):
        await answer_pad(pilot, each)


async def answer_pad(pilot: Hands, typed: str) -> None:
    """Type into the field, or mark the choice; then Enter."""
    choices = [row.key for row in pilot.app.screen.query(Row) if row.has_class("choice")]
    if not choices:
        await type_in(pilot, typed, "enter")
        return
    for _ in choices:
        await type_in(pilot, "", "up")
    await move_to(pilot, typed if typed in choices else "type it")
    await type_in(pilot, "", "enter")
    if typed not in choices:
        await type_in(pilot, typed, "enter")


async def read_fact(pilot: Hands, _fact: str, typed: str) -> None:
    await answer_pad(pilot, typed)


async def say_none(pilot: Hands) -> None:
    await to_list(pilot)
    await type_in(pilot, "", "s", "a")


async def set_aside(pilot: Hands, line: str, reason: str) -> None:
    await to_list(pilot)
    await mark_line(pilot, line)
    await type_in(pilot, "", "n")
    await move_to(pilot, "type it")
    await type_in(pilot, "", "enter")
    await type_in(pilot, reason, "enter")


async def mark_line(pilot: Hands, line: str) -> None:
    row_of(pilot, f"line {line}").focus()
    await pilot.pause()


async def tick_all(pilot: Hands) -> None:
    await to_list(pilot)
    rows = [row for row in pilot.app.screen.query(Row) if row.key.startswith("line ")]
    for row in rows:
        if row.text.sign == "○":
            row.focus()
            if row.key == "line catheter-depth":  # one mark is chosen with its tick
                await type_in(pilot, "", "space")
                await answer_pad(pilot, "15")
            else:
                await pilot.press("space")


async def begin_check(pilot: Hands, who: str) -> None:
    await to_list(pilot)
    await type_in(pilot, "", "c")
    await type_in(pilot, who.lower(), "enter")


async def check_line(pilot: Hands, _line: str, typed: str, *counts: str) -> None:
    for each in (typed, *(count.partition("=")[2] for count in counts)):
        await answer_pad(pilot, each)


async def settle_line(pilot: Hands, line: str, reason: str) -> None:
    assert place(pilot) == "checked"
    await move_to(pilot, line)
    await type_in(pilot, "", "enter", "s")
    await type_in(pilot, reason, "enter")


async def read_aloud(pilot: Hands) -> None:
    await to_list(pilot)
    await type_in(pilot, "", "r", "a", "g")


async def do_step(pilot: Hands, step: str) -> None:
    if place(pilot) == "pad":
        await type_in(pilot, "", "escape")
    assert place(pilot) == "cot"
    await type_in(pilot, "", "space")


async def read_at_step(pilot: Hands, step: str, reading: str, typed: str) -> None:
    """The pad has come up by itself; what is not read is left for later, and opened from its entry."""
    asked = {
        "heart_rate": "heart rate", "attempts": "attempt", "catheter_depth": "mark", "volume_given": "surfactant",
        "device_holder": "holds", "instiller": "gives", "volume_recovered": "recovered",
    }[reading]  # fmt: skip
    if place(pilot) != "pad" or asked not in see(pilot).partition("▶")[0]:
        if place(pilot) == "pad":
            await type_in(pilot, "", "escape")
        await move_to(pilot, f"step {step}")
        await type_in(pilot, "", "enter")
        row_of(pilot, reading).focus()
        await type_in(pilot, "", "enter")
    await answer_pad(pilot, typed)
    if place(pilot) == "pad":
        await type_in(pilot, "", "escape")
    if place(pilot) == "entry":
        await type_in(pilot, "", "escape")


async def follow_up(pilot: Hands, follow_up: str, reading: str, typed: str) -> None:
    if place(pilot) != "pad":
        await to_record(pilot)
        await move_to(pilot, f"follow-up {follow_up}")
        await type_in(pilot, "", "enter")
    await answer_pad(pilot, typed)


async def to_record(pilot: Hands) -> None:
    if place(pilot) != "record":
        await take_up(pilot)
    assert place(pilot) == "record", see(pilot)


async def miss(pilot: Hands, follow_up: str, reason: str) -> None:
    await to_record(pilot)
    await move_to(pilot, f"follow-up {follow_up}")
    await type_in(pilot, "", "enter")
    next(button for button in pilot.app.screen.query(Button) if button.name == "other").focus()
    await type_in(pilot, "", "enter")
    await move_to(pilot, "type it")
    await type_in(pilot, "", "enter")
    await type_in(pilot, reason, "enter")


async def say_outcome(pilot: Hands, outcome: str) -> None:
    await to_record(pilot)
    await move_to(pilot, "outcome")
    await type_in(pilot, "", "enter")
    await answer_pad(pilot, outcome)
    await type_in(pilot, "", "enter")


async def say_complications(pilot: Hands, *said: str) -> None:
    await move_to(pilot, "complications")
    await type_in(pilot, "", "enter")
    for each in said:
        await move_to(pilot, each)
        await type_in(pilot, "", "space")
    await type_in(pilot, "", "a")


async def sign(pilot: Hands) -> None:
    await to_record(pilot)
    await type_in(pilot, "", "s", "right", "enter")


Do = Callable[..., Awaitable[None]]
ON_THE_SCREENS: Mapping[str, Do] = {
    "start": begin,
    "give a fact": give_fact,
    "say that no reason applies": say_none,
    "set a line aside": set_aside,
    "tick every line": tick_all,
    "begin the check": begin_check,
    "read a fact": read_fact,
    "enter a checked line": check_line,
    "settle a difference": settle_line,
    "read aloud": read_aloud,
    "do a step": do_step,
    "read at a step": read_at_step,
    "follow up": follow_up,
    "miss a follow-up": miss,
    "say the outcome": say_outcome,
    "say the complications": say_complications,
    "sign": sign,
}
BY_THE_CHECKER = {"begin the check", "read a fact", "enter a checked line"}


def write_text(store: Store, now: datetime) -> str:
    """The record as text, without the lines that name this store's own ids and fingerprints."""
    papers = make_record_export(find_stored_preparations(store, COT)[0], now)
    assert isinstance(papers, RecordExport), papers
    prep = papers.stored.prep
    last = store.read(prep)[-1].hash
    return write_record_text(papers.record).replace(prep, "ID").replace(last, "HASH").replace(last[:12], "HASH")


def follow_headless(night: ModuleType, steps: list[Any], folder: Path) -> str:
    alone = night.Night(folder)
    with closing(alone.store):
        for step in steps:
            assert alone.follow(step) == "", step
        return write_text(alone.store, alone.now)


async def test_the_screens_end_in_the_same_record_as_the_headless_night(
    night: ModuleType, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(CotScreen, "REST", 0.0)
    steps = [step for step in night.STEPS if step.cot == COT]
    assert {step.do for step in steps} <= set(ON_THE_SCREENS)
    wanted = follow_headless(night, steps, tmp_path)
    evening = night.Night(tmp_path / "screens")
    with closing(evening.store):
        await _follow(evening, steps)
        assert write_text(evening.store, evening.now) == wanted


async def _follow(
    evening: Any,  # noqa: ANN401 (a class of the demo, loaded by its path)
    steps: list[Any],
) -> None:
    evening.desk.identity.who = steps[0].who
    async with run(evening.desk, (80, 24)) as pilot:
        for step in steps:
            if step.do not in BY_THE_CHECKER and step.who != evening.desk.identity.who:
                await sign_on(pilot, step.who)
            evening.now += timedelta(seconds=step.after)
            by = (step.who,) if step.do == "begin the check" else ()
            await ON_THE_SCREENS[step.do](pilot, *by, *step.what)
