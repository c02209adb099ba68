"""The route table: where each screen lives, what it needs, what it lies over. `navigate` goes by it.

A screen names where to go and imports no other screen: a module loads when somebody first goes there. That keeps the
first frame light and the screens free of circles.
"""

from collections.abc import Awaitable, Callable, Mapping
from importlib import import_module
from typing import TYPE_CHECKING, Any, TypedDict, Unpack

from msgspec import Struct
from textual.app import App
from textual.screen import Screen

from prepkit.app.workstation import Workstation
from prepkit.tui.widgets.button import Action
from prepkit.view.routes import ScreenRoute
from prepkit.view.signs import Banner

if TYPE_CHECKING:
    from prepkit.app.open_preparation import OpenPreparation
    from prepkit.tui.prompts.prompt import Wizard

DESK, PREPARATION, SUBJECT = "desk", "preparation", "subject"

BASES = frozenset({ScreenRoute.LIST, ScreenRoute.COT, ScreenRoute.RECORD})
"""Where Back leads from the screens of a preparation, which take each other's place."""


class Given(TypedDict, total=False):
    """What screens are made from."""

    desk: Workstation
    preparation: "OpenPreparation | None"
    subject: str
    """What of the preparation is shown, where that is one thing: the id of a line, a step or an entry."""
    wizard: "Wizard"
    unlocked: Callable[[bool], object]
    looks_back: bool
    title: str
    words: tuple[str, ...]
    confirm: str
    banner: Banner | None
    actions: tuple[Action, ...]
    screen: ScreenRoute


class RoutedScreen(Struct, frozen=True):
    """Where one screen lives and how it is shown."""

    module: str
    """In `prepkit.tui.screens`."""
    name: str
    needs: tuple[str, ...]
    """What the screen is made from: keys of `Given`, which are the names of its parameters."""
    over: frozenset[ScreenRoute] | None = None
    """It is laid over these screens, so that Back leads to them, and takes the place of any other; None: over all."""
    comes_back: bool = False
    """Whether a program that starts anew goes there again; else it goes to the screen below."""
    at_the_cot: bool = False
    """Whether it exists only once the team has gone to the cot."""


def _one_of(module: str, name: str, *more: str, over: frozenset[ScreenRoute] = BASES,
            at_the_cot: bool = False) -> RoutedScreen:  # fmt: skip
    """A screen of one preparation, to which a person comes back."""
    needs = (DESK, PREPARATION, *more)
    return RoutedScreen(module, name, needs, over, comes_back=True, at_the_cot=at_the_cot)


ROUTES: Mapping[ScreenRoute, RoutedScreen] = {
    ScreenRoute.HOME: RoutedScreen("home", "HomeScreen", (DESK,)),
    ScreenRoute.ENDED: RoutedScreen("ended", "EndedScreen", (DESK,)),
    ScreenRoute.LOCK: RoutedScreen("lock", "LockScreen", (DESK, "unlocked")),
    ScreenRoute.LIST: RoutedScreen("list", "ListScreen", (DESK, PREPARATION)),
    ScreenRoute.LINE: _one_of("line", "LineScreen", SUBJECT),
    ScreenRoute.BABY: _one_of("baby", "BabyScreen"),
    ScreenRoute.SUITABILITY: _one_of("suitability", "SuitabilityScreen", over=BASES | {ScreenRoute.READY}),
    ScreenRoute.LABELS: _one_of("labels", "LabelsScreen"),
    ScreenRoute.HANDOVER: _one_of("handover", "HandoverScreen"),
    ScreenRoute.READY: _one_of("ready", "ReadyScreen"),
    ScreenRoute.CHECK: RoutedScreen("check", "CheckPadScreen", (DESK, PREPARATION)),
    ScreenRoute.CHECKED: _one_of("check", "CheckedScreen"),
    ScreenRoute.DIFFERENCE: _one_of("check", "DifferenceScreen", SUBJECT),
    ScreenRoute.COVER: RoutedScreen("check", "CoverScreen", (DESK, PREPARATION)),
    ScreenRoute.COT: _one_of("cot", "CotScreen", over=frozenset({ScreenRoute.LIST}), at_the_cot=True),
    ScreenRoute.STEP: _one_of("steps", "StepScreen", SUBJECT, at_the_cot=True),
    ScreenRoute.ENTRY: _one_of("steps", "EntryScreen", SUBJECT, at_the_cot=True),
    ScreenRoute.HAPPENING: _one_of("cot", "HappeningScreen", at_the_cot=True),
    ScreenRoute.RESCUE: _one_of("cot", "RescueScreen", at_the_cot=True),
    ScreenRoute.RECORD: _one_of("record", "RecordScreen", "looks_back", over=BASES | {ScreenRoute.ENDED},
                                at_the_cot=True),
    ScreenRoute.COMPLICATIONS: _one_of("record", "ComplicationsScreen", at_the_cot=True),
    ScreenRoute.PAD: RoutedScreen("pad", "PadScreen", (DESK, "wizard")),
    ScreenRoute.MESSAGE: RoutedScreen("overlays", "MessageScreen",
                                      (DESK, "title", "words", PREPARATION, "confirm", "banner")),
    ScreenRoute.MENU: RoutedScreen("overlays", "MenuScreen", (DESK, PREPARATION, "actions", "banner")),
    ScreenRoute.HELP: RoutedScreen("overlays", "HelpScreen", (DESK, PREPARATION, "screen", "banner")),
}  # fmt: skip


def load_screen(route: ScreenRoute) -> Callable[..., Screen[object]]:
    """The class of a screen; loads its module if need be."""
    routed = ROUTES[route]
    kind: Callable[..., Screen[object]] = getattr(import_module(f"prepkit.tui.screens.{routed.module}"), routed.name)
    return kind


def navigate(
    app: App[Any],
    route: ScreenRoute,
    then: Callable[[Any], Any] | None = None,
    *,
    instead: bool = False,
    **given: Unpack[Given],
) -> Awaitable[object]:
    """Go from the screen that is shown to another one; awaited, it returns once that is up.

    Args:
        app: shows the screens.
        route: where to go.
        then: receives the screen's result, if it is laid over the one shown.
        instead: take the place of the one shown, whatever that is.
        given: what screens are made from; this one takes what it needs of it.
    """
    routed = ROUTES[route]
    screen = load_screen(route)(**{name: value for name, value in given.items() if name in routed.needs})
    if not instead and (routed.over is None or find_route(app.screen) in routed.over):
        return app.push_screen(screen, then)
    return app.switch_screen(screen)


def go_back(app: App[Any], route: ScreenRoute) -> None:
    """Close everything above a screen at once, so that none of it shows in between; nothing if it is not there."""
    below = next((each for each in app.screen_stack if find_route(each) == route), None)
    while below is not None and app.screen is not below:
        app.pop_screen()


def find_route(screen: Screen[Any]) -> ScreenRoute | None:
    """Find out which screen this is; None for the library's own."""
    route: ScreenRoute | None = getattr(screen, "ROUTE", None)
    return route
