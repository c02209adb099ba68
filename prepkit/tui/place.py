"""Places: where in the screens a person is, in words short enough to hand to a new program that opens there again.

A place names who is at the desk, the preparation, the screen and how far it is scrolled; never anything that was typed.
May import: the desk and the screens.
"""

import json
from collections.abc import Callable, Mapping
from dataclasses import asdict, dataclass, fields
from typing import TYPE_CHECKING

from prepkit.errors import PrepkitError
from prepkit.tui.screens.base import DeskScreen
from prepkit.tui.screens.complications import ComplicationsScreen
from prepkit.tui.screens.ended import EndedScreen
from prepkit.tui.screens.happening import HappeningScreen, RescueScreen
from prepkit.tui.screens.list import ListScreen
from prepkit.tui.screens.preparation import PreparationScreen
from prepkit.tui.screens.record import RecordScreen
from prepkit.tui.screens.steps import EntryScreen, StepScreen
from prepkit.tui.widgets.column import Column
from prepkit.view.cot_models import Stage

if TYPE_CHECKING:
    from textual.app import App

    from prepkit.desk.desk import Desk
    from prepkit.desk.opened import OpenPreparation

MOST_CHARACTERS = 1000
"""No place that was written here is longer."""


@dataclass(frozen=True, slots=True)
class Place:
    """Where somebody is; empty where nobody is at the desk yet."""

    who: str = ""
    prep: str = ""
    screen: str = ""
    subject: str = ""
    """The line, the step or the entry that the screen is about."""
    mark: str = ""
    """Key of the marked row."""
    rows: int = 0
    """How many rows of the column have been scrolled away."""
    under: str = ""
    """The screens between the list and this one, with spaces between them: where Back leads."""


HOME = Place()

WAYS: Mapping[str, Callable[[PreparationScreen, str], None]] = {
    "baby": lambda below, _: below.action_baby(),
    "suitability": lambda below, _: below.action_suitability(),
    "ready": lambda below, _: below.action_ready(),
    "checked": lambda below, _: below.action_checked(),
    "difference": lambda below, line: below.action_difference(line),
    "labels": lambda below, _: below.action_labels(),
    "handover": lambda below, _: below.action_handover(),
    "line": lambda below, line: below.action_line(line),
    "cot": lambda below, _: below.action_cot(),
    "step": lambda below, step: below.go(StepScreen(below.desk, below.prep, step)),
    "entry": lambda below, entry: below.go(EntryScreen(below.desk, below.prep, entry)),
    "happening": lambda below, _: below.go(HappeningScreen(below.desk, below.prep)),
    "rescue": lambda below, _: below.go(RescueScreen(below.desk, below.prep)),
    "record": lambda below, _: below.action_record(),
    "complications": lambda below, _: below.go(ComplicationsScreen(below.desk, below.prep)),
}
"""How a screen is reached from the one under it. What is not here comes back to that: pads, menus, messages."""

AFTER_THE_TRAY = frozenset({"cot", "step", "entry", "happening", "rescue", "record", "complications"})
"""Screens that there are only once the team has gone to the cot."""


def write_place(place: Place) -> str:
    """A place as text."""
    return json.dumps(asdict(place), ensure_ascii=False)


def read_place(text: str) -> Place:
    """Read a place; home where the text is not one."""
    if len(text) > MOST_CHARACTERS:
        return HOME
    try:
        read = json.loads(text)
    except ValueError:
        return HOME
    kinds = {field.name: type(field.default) for field in fields(Place)}
    if not isinstance(read, dict) or any(type(value) is not kinds.get(name) for name, value in read.items()):
        return HOME
    return Place(**read)


def find_place(app: "App[None]", desk: "Desk") -> Place | None:
    """Where the person is now: the topmost screen that can be come back to, else the list of what is open.

    None while a screen is being put up or taken down, which is nowhere.
    """
    shown = [screen for screen in app.screen_stack if isinstance(screen, DeskScreen)]
    bodies = {screen: next(iter(screen.query("#body").results(Column)), None) for screen in shown}
    if not shown or None in bodies.values():
        return None
    opened = next((screen.preparation for screen in reversed(shown) if screen.preparation is not None), None)
    if opened is None:
        return Place(who=desk.who)
    ways = [each for each in shown if each.MAP in WAYS or isinstance(each, ListScreen | EndedScreen)]
    on = ways.pop() if ways else None
    body = bodies[on] if on is not None else None
    if on is None or body is None:
        return Place(who=desk.who, prep=opened.prep)
    subject = on.subject if isinstance(on, PreparationScreen) else ""
    under = " ".join(each.MAP for each in ways if not isinstance(each, ListScreen))
    return Place(desk.who, opened.prep, on.MAP, subject, body.find_mark() or "", body.scroll_offset.y, under)


async def show_place(app: "App[None]", desk: "Desk", place: Place) -> None:
    """Go where somebody was; home where that is not there any more, or where another person is at the desk."""
    if desk.who != place.who and (desk.who or desk.sign_on(place.who)):
        return
    if not place.prep:
        return
    try:
        opened = desk.resume(place.prep)
    except PrepkitError:
        return  # home says what is wrong with it
    if not isinstance(opened, str):
        await _go(app, opened, place)
        on = app.screen
        if isinstance(on, DeskScreen) and place.screen == on.MAP:
            on.call_after_refresh(_mark, on, place)


async def _go(app: "App[None]", opened: "OpenPreparation", place: Place) -> None:
    """Put up the screens of a place, as far as they are there; of what has ended only its record."""
    has_ended = bool(opened.cot.show_record().ended)
    if has_ended and place.screen == "record":
        await app.push_screen(EndedScreen(opened.desk))
        await app.push_screen(RecordScreen(opened.desk, opened, looks_back=True))
    if has_ended:
        return
    await app.push_screen(ListScreen(opened.desk, opened))
    for name in (*place.under.split(), place.screen):
        below = app.screen
        is_there = name not in AFTER_THE_TRAY or opened.cot.stage is not Stage.TRAY
        if name in WAYS and is_there and isinstance(below, PreparationScreen):
            WAYS[name](below, place.subject)


def _mark(screen: DeskScreen[None], place: Place) -> None:
    screen.body.mark(place.mark)
    screen.call_after_refresh(_scroll, screen, place.rows)


def _scroll(screen: DeskScreen[None], rows: int) -> None:
    """Scroll last: what is marked has come in sight by itself, but may have been scrolled away from."""
    screen.body.scroll_to(y=rows, animate=False, immediate=True)
