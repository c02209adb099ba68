"""The route table: how each screen is reached from the one below it, so that a program reopens where it was left."""

from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING

from prepkit.errors import PrepkitError
from prepkit.tui.place import Place
from prepkit.tui.screens.base import WorkstationScreen
from prepkit.tui.screens.cot import HappeningScreen, RescueScreen
from prepkit.tui.screens.ended import EndedScreen
from prepkit.tui.screens.list import ListScreen
from prepkit.tui.screens.preparation import PreparationScreen
from prepkit.tui.screens.record import ComplicationsScreen, RecordScreen
from prepkit.tui.screens.steps import EntryScreen, StepScreen
from prepkit.tui.widgets.column import Column
from prepkit.view.cot_models import Stage

if TYPE_CHECKING:
    from textual.app import App

    from prepkit.app.session import PreparationSession
    from prepkit.app.workstation import Workstation

ROUTES: Mapping[str, Callable[[PreparationScreen, str], None]] = {
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


def find_place(app: "App[None]", desk: "Workstation") -> Place | None:
    """Where the person is now: the topmost screen that can be come back to, else the list of what is open.

    None while a screen is being put up or taken down, which is nowhere.
    """
    shown = [screen for screen in app.screen_stack if isinstance(screen, WorkstationScreen)]
    bodies = {screen: next(iter(screen.query("#body").results(Column)), None) for screen in shown}
    if not shown or None in bodies.values():
        return None
    opened = next((screen.preparation for screen in reversed(shown) if screen.preparation is not None), None)
    if opened is None:
        return Place(who=desk.who)
    ways = [each for each in shown if each.MAP in ROUTES or isinstance(each, ListScreen | EndedScreen)]
    on = ways.pop() if ways else None
    body = bodies[on] if on is not None else None
    if on is None or body is None:
        return Place(who=desk.who, prep=opened.prep)
    subject = on.subject if isinstance(on, PreparationScreen) else ""
    under = " ".join(each.MAP for each in ways if not isinstance(each, ListScreen))
    return Place(desk.who, opened.prep, on.MAP, subject, body.find_mark() or "", body.scroll_offset.y, under)


async def show_place(app: "App[None]", desk: "Workstation", place: Place) -> None:
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
        if isinstance(on, WorkstationScreen) and place.screen == on.MAP:
            on.call_after_refresh(_mark, on, place)


async def _go(app: "App[None]", opened: "PreparationSession", place: Place) -> None:
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
        if name in ROUTES and is_there and isinstance(below, PreparationScreen):
            ROUTES[name](below, place.subject)


def _mark(screen: WorkstationScreen[None], place: Place) -> None:
    screen.body.mark(place.mark)
    screen.call_after_refresh(_scroll, screen, place.rows)


def _scroll(screen: WorkstationScreen[None], rows: int) -> None:
    """Scroll last: what is marked has come in sight by itself, but may have been scrolled away from."""
    screen.body.scroll_to(y=rows, animate=False, immediate=True)
