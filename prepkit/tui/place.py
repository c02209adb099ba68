"""Where in the screens a person is, as text short enough to hand to a new program that opens there.

A place names who is signed in, the preparation, the screen and how far it is scrolled; never anything that was typed.
"""

import json
from typing import TYPE_CHECKING, Any

from msgspec import Struct, to_builtins
from msgspec.structs import fields
from textual.app import App

from prepkit.app.workstation import Workstation
from prepkit.errors import PrepkitError
from prepkit.tui.routes import ROUTES, navigate
from prepkit.tui.screens.base import WorkstationScreen
from prepkit.tui.widgets.column import Column
from prepkit.view.routes import ScreenRoute, Stage

if TYPE_CHECKING:
    from prepkit.app.open_preparation import OpenPreparation

MOST_CHARACTERS = 1000
"""No place written here is longer."""


class Place(Struct, frozen=True):
    """Where somebody is; empty where nobody has signed in yet."""

    who: str = ""
    prep: str = ""
    screen: str = ""
    subject: str = ""
    """The line, step or entry that the screen is about."""
    mark: str = ""
    """Key of the marked row."""
    rows: int = 0
    """How many rows of the column have been scrolled away."""
    under: str = ""
    """The screens between the list and this one, with spaces between them: where Back leads."""


HOME = Place()

REOPENED = frozenset(route for route, routed in ROUTES.items() if routed.comes_back)
"""Screens that are put up again one over the other; of pads, menus and messages, the screen under them."""
BEGUN_FROM = frozenset({ScreenRoute.LIST, ScreenRoute.ENDED})
"""What lies under them, put up first."""


def write_place(place: Place) -> str:
    """A place as text."""
    return json.dumps(to_builtins(place), ensure_ascii=False)


def read_place(text: str) -> Place:
    """Read a place; home if the text is not one."""
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


def find_place(app: App[Any], desk: Workstation) -> Place | None:
    """Where the person is now: the topmost screen that one can come back to, else the list of the open preparation.

    None while a screen is opening or closing: that is nowhere.
    """
    shown = [screen for screen in app.screen_stack if isinstance(screen, WorkstationScreen)]
    bodies = {screen: next(iter(screen.query("#body").results(Column)), None) for screen in shown}
    if not shown or None in bodies.values():
        return None
    opened = next((screen.preparation for screen in reversed(shown) if screen.preparation is not None), None)
    if opened is None:
        return Place(who=desk.identity.who)
    ways = [each for each in shown if each.ROUTE in REOPENED or each.ROUTE in BEGUN_FROM]
    on = ways.pop() if ways else None
    body = bodies[on] if on is not None else None
    if on is None or body is None:
        return Place(who=desk.identity.who, prep=opened.session.prep)
    under = " ".join(each.ROUTE for each in ways if each.ROUTE is not ScreenRoute.LIST)
    return Place(
        desk.identity.who,
        opened.session.prep,
        on.ROUTE.value,
        on.subject,
        body.find_mark() or "",
        body.scroll_offset.y,
        under,
    )


async def show_place(app: App[Any], desk: Workstation, place: Place) -> None:
    """Go where somebody was; home if that is gone, or if another person is signed in."""
    if desk.identity.who != place.who and (desk.identity.who or desk.identity.sign_on(place.who)):
        return
    if not place.prep:
        return
    try:
        opened = desk.resume(place.prep)
    except PrepkitError:
        return  # home says what is wrong with it
    if not isinstance(opened, str):
        await _go(app, desk, opened, place)
        on = app.screen
        if isinstance(on, WorkstationScreen) and place.screen == on.ROUTE:
            on.call_after_refresh(_mark, on, place)


async def _go(app: App[Any], desk: Workstation, opened: "OpenPreparation", place: Place) -> None:
    """Open the screens of a place, as far as they exist; of an ended preparation only its record."""
    has_ended = bool(opened.bedside.show_record().ended)
    if has_ended and place.screen == ScreenRoute.RECORD:
        await navigate(app, ScreenRoute.ENDED, desk=desk)
        await navigate(app, ScreenRoute.RECORD, desk=desk, preparation=opened, looks_back=True)
    if has_ended:
        return
    await navigate(app, ScreenRoute.LIST, desk=desk, preparation=opened)
    for name in (*place.under.split(), place.screen):
        if name in REOPENED and isinstance(app.screen, WorkstationScreen):
            route = ScreenRoute(name)
            if not ROUTES[route].at_the_cot or opened.bedside.stage is not Stage.TRAY:
                app.screen.go(route, place.subject)


def _mark(screen: WorkstationScreen[None], place: Place) -> None:
    screen.body.mark(place.mark)
    screen.call_after_refresh(_scroll, screen, place.rows)


def _scroll(screen: WorkstationScreen[None], rows: int) -> None:
    """Scroll last: marking brings the row into sight by itself, but somebody may have scrolled away from it."""
    screen.body.scroll_to(y=rows, animate=False, immediate=True)
