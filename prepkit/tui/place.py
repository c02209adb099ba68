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
from prepkit.tui.screens.line import LineScreen
from prepkit.tui.screens.list import ListScreen
from prepkit.tui.widgets.column import Column

if TYPE_CHECKING:
    from textual.app import App

    from prepkit.desk.desk import Desk

MOST_CHARACTERS = 1000
"""No place that was written here is longer."""


@dataclass(frozen=True, slots=True)
class Place:
    """Where somebody is; empty where nobody is at the desk yet."""

    who: str = ""
    prep: str = ""
    screen: str = ""
    line: str = ""
    mark: str = ""
    """Key of the marked row."""
    rows: int = 0
    """How many rows of the column have been scrolled away."""


HOME = Place()

WAYS: Mapping[str, Callable[[ListScreen, Place], None]] = {
    "baby": lambda screen, _: screen.action_baby(),
    "suitability": lambda screen, _: screen.action_suitability(),
    "ready": lambda screen, _: screen.action_ready(),
    "checked": lambda screen, _: screen.action_checked(),
    "handover": lambda screen, _: screen.action_handover(),
    "line": lambda screen, place: screen.action_line(place.line),
}
"""How a screen is reached from the list. What is not here comes back to the list: pads, menus, messages."""


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
    on = next((screen for screen in reversed(shown) if screen.MAP in WAYS or isinstance(screen, ListScreen)), None)
    body = bodies[on] if on is not None else None
    if on is None or body is None:
        return Place(who=desk.who, prep=opened.prep)
    line = on.line if isinstance(on, LineScreen) else ""
    return Place(desk.who, opened.prep, on.MAP, line, body.find_mark() or "", body.scroll_offset.y)


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
    if isinstance(opened, str) or opened.is_stood_down:
        return
    below = ListScreen(desk, opened)
    await app.push_screen(below)
    if place.screen in WAYS:
        WAYS[place.screen](below, place)
    on = app.screen
    if isinstance(on, DeskScreen) and place.screen == on.MAP:
        on.call_after_refresh(_mark, on, place)


def _mark(screen: DeskScreen[None], place: Place) -> None:
    screen.body.mark(place.mark)
    screen.call_after_refresh(_scroll, screen, place.rows)


def _scroll(screen: DeskScreen[None], rows: int) -> None:
    """Scroll last: what is marked has come in sight by itself, but may have been scrolled away from."""
    screen.body.scroll_to(y=rows, animate=False, immediate=True)
