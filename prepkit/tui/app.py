"""The app: its theme, its layout classes and its crash boundary. Everything else is in the screens."""

import os
import sys
import traceback
from collections.abc import Callable, Mapping
from datetime import timedelta
from pathlib import Path
from typing import TYPE_CHECKING, ClassVar

from textual import events
from textual.app import App
from textual.binding import BindingType
from textual.dom import DOMNode
from textual.driver import Driver
from textual.message import Message

from prepkit.app.files import FileFault
from prepkit.app.workstation import Workstation
from prepkit.errors import PrepkitError
from prepkit.tui.background import load_behind
from prepkit.tui.console import has_few_colours, has_plain_font, make_plain
from prepkit.tui.input.keys import bindings_of
from prepkit.tui.input.scanner import StrayScanFilter
from prepkit.tui.input.touch import follow_finger
from prepkit.tui.place import HOME, Place, find_place, show_place
from prepkit.tui.private import QuietApp
from prepkit.tui.routes import find_route, navigate
from prepkit.tui.screens.base import WorkstationScreen
from prepkit.tui.screens.covered import CoveredScreen
from prepkit.tui.screens.home import HomeScreen
from prepkit.tui.themes import DUSK, PALETTES
from prepkit.view.routes import ScreenRoute

if TYPE_CHECKING:
    from textual.actions import ActionParseResult  # a string when the program runs

CRASH_MESSAGE = (
    "prepkit stopped because of a fault in the program. Everything that was shown as done is kept.\n"
    "Start it again with: prepkit\n"
    "What follows is for whoever looks after prepkit:\n"
)
CRASHED = 1

PLACE_EVERY = 0.2
"""Seconds between looks at where the person is, if somebody wants to know."""
IDLE_EVERY = 1.0
"""Seconds between checks of how long the screen has been idle."""
LEAST_IDLE = timedelta(seconds=1)
"""Shorter gaps are not worth asking the ward file about."""
TOUCHES = (events.Key, events.Paste, events.MouseDown, events.MouseScrollDown, events.MouseScrollUp)


class BackgroundLoaded(Message):
    """Everything that the first frame did without has been loaded."""

    def __init__(self, problems: dict[Path, FileFault]) -> None:
        super().__init__()
        self.problems = problems
        """What is wrong with each file that cannot be used."""


class PrepkitApp(QuietApp):
    """prepkit in a terminal."""

    CSS_PATH = "app.tcss"
    TITLE = "prepkit"
    ENABLE_COMMAND_PALETTE = False
    ALLOW_SELECT = False
    # The library declares these two as instance variables, so no ClassVar here.
    HORIZONTAL_BREAKPOINTS = [(0, "-narrow"), (60, "-middle"), (100, "-wide")]  # noqa: RUF012
    VERTICAL_BREAKPOINTS = [(0, "-short"), (24, "-tall")]  # noqa: RUF012
    BINDINGS: ClassVar[list[BindingType]] = bindings_of("anywhere")

    def __init__(
        self,
        desk: Workstation,
        at: Place = HOME,
        tell: Callable[[Place], None] | None = None,
        *,
        light: str = DUSK,
        idle: timedelta = timedelta(0),
    ) -> None:
        """Make the app.

        Args:
            desk: what the screens ask.
            at: where to open.
            tell: is told the place whenever it has changed.
            light: the palette's name.
            idle: how long the screen was idle already, where this program goes on from an earlier one.
        """
        few = has_few_colours(os.environ)
        super().__init__(ansi_color=True if few else None)
        self.desk = desk
        self._at = self._told = at
        self._tell = tell
        self._last_touch = desk.clock() - idle
        self._stray = StrayScanFilter()
        for palette in PALETTES.values():
            self.register_theme((palette.make_bare() if few else palette).make_theme())
        self.theme = light

    def get_driver_class(self) -> type[Driver]:
        """The library's driver, or one that writes plain signs on a console with a plain font."""
        driver = super().get_driver_class()
        return make_plain(driver) if has_plain_font(os.environ) else driver

    def get_default_screen(self) -> HomeScreen:
        """Home lies under everything."""
        return HomeScreen(self.desk)

    def on_mount(self) -> None:
        """Look now and then whether the screen has to lock; a desk that is locked already shows nothing before that."""
        if self.desk.identity.is_locked:
            self._show_lock()
        self.set_interval(IDLE_EVERY, self.lock_if_idle)

    async def on_ready(self) -> None:
        """Go to the place to open at, unless it has to be unlocked first; from then on tell where the person is.

        The rest loads behind the screen.
        """
        self.call_after_refresh(load_behind, self.desk, self._tell_loaded)
        if not self.desk.identity.is_locked and not self.lock_if_idle():
            await self._go_back(same=True)
        if self._tell is not None:
            self.set_interval(PLACE_EVERY, self._tell_place)

    async def _go_back(self, *, same: bool) -> None:
        """Go once to the place to open at; whoever unlocks somebody else's screen starts at home."""
        at, self._at = self._at, HOME
        if same and at != HOME:
            await show_place(self, self.desk, at)

    def _tell_loaded(self, problems: dict[Path, FileFault]) -> None:
        """Called from the loading thread, which waits for no answer: the program may have ended by now."""
        self.post_message(BackgroundLoaded(problems))

    def on_background_loaded(self, message: BackgroundLoaded) -> None:
        """Let home show what it left out, and what is wrong with the files."""
        self.desk.files.note_problems(message.problems)
        home = self.screen_stack[0]
        if isinstance(home, HomeScreen):
            home.show_all()

    def _show_lock(self) -> None:
        navigate(self, ScreenRoute.LOCK, desk=self.desk,
                 unlocked=lambda same: self.call_later(self._go_back, same=same))  # fmt: skip

    def _tell_place(self) -> None:
        if self.desk.identity.is_locked or self._at != HOME:
            return  # what lies under the lock is the place
        place = find_place(self, self.desk)
        if self._tell is not None and place is not None and place != self._told:
            self._told = place
            self._tell(place)

    async def on_event(self, event: events.Event) -> None:
        """Take an event from the terminal; a press is followed before it is passed on.

        An event after the idle time locks the screen and does nothing else. One that comes while the program ends finds
        no screen any more.
        """
        if (self.is_leaving or not self.is_running) and isinstance(event, events.InputEvent | events.Paste):
            return
        if isinstance(event, TOUCHES) and not event.is_forwarded:
            if self.lock_if_idle():
                return
            self._last_touch = self.desk.clock()
        if isinstance(event, events.Key) and not event.is_forwarded and self._is_stray(event):
            return
        if isinstance(event, events.MouseDown) and not event.is_forwarded:
            follow_finger(self.screen, event)
        await super().on_event(event)

    async def run_action(
        self,
        action: "str | ActionParseResult",
        default_namespace: DOMNode | None = None,
        namespaces: Mapping[str, DOMNode] | None = None,
    ) -> bool:
        """Do what was touched; if the store cannot be reached, say so and stay here.

        Every action comes through here, whoever asked for it: a key, a button, the menu, a scan, a touch on the head.
        One that comes too soon or too late for its screen is not done.
        """
        if not _takes_actions(default_namespace):
            return False
        try:
            return await super().run_action(action, default_namespace, namespaces)
        except PrepkitError as error:
            if isinstance(self.screen, WorkstationScreen):
                self.screen.refuse(error)
            else:
                self.desk.connectivity.note(error)
            return True

    def _is_stray(self, event: events.Key) -> bool:
        """Whether a key belongs to a scan that the screen has no field for; the screen gets the whole scan."""
        screen = self.screen
        if not isinstance(screen, CoveredScreen) or screen.TAKES_TYPING:
            self._stray.clear()
            return False
        is_stray = self._stray.take(event, acts=screen.has_key(event.key))
        if self._stray.text:
            screen.call_next(self.run_action, ("", "scan", (self._stray.text,)), screen)
        return is_stray

    def lock_if_idle(self) -> bool:
        """Lock the screen if it has been idle for as long as the ward allows; True if it locked now."""
        now = self.desk.clock()
        self._last_touch = min(self._last_touch, now)  # when the clock is put back, the idle time starts again
        if not self.desk.identity.who or now - self._last_touch < LEAST_IDLE:
            return False
        if find_route(self.screen) is ScreenRoute.LOCK:
            return False
        lock_after = self.desk.identity.lock_after
        if lock_after is None or now - self._last_touch < lock_after:
            return False
        if self.desk.identity.is_locked:
            self.pop_screen()  # somebody began to sign in and went away
            return True
        self.desk.identity.lock()
        if self.desk.identity.is_locked:
            self._show_lock()
        return self.desk.identity.is_locked

    @property
    def idle(self) -> timedelta:
        """How long nobody has touched the screen."""
        return max(self.desk.clock() - self._last_touch, timedelta(0))

    def action_leave(self) -> None:
        """Leave; everything done is already kept."""
        self.exit()


def _takes_actions(node: DOMNode | None) -> bool:
    """Whether the screen that a node is on takes actions now; the app itself always does."""
    if node is None or isinstance(node, App):
        return True
    screen = next((each for each in node.ancestors_with_self if isinstance(each, CoveredScreen)), None)
    return screen is not None and screen.takes_actions


def run_app(desk: Workstation, *, light: str = DUSK) -> int:
    """Run until the person leaves; returns the exit code, and says on stderr what to do where a fault stopped it.

    `light` is a palette's name; the first palette takes the place of a name that none has.
    """
    return run_and_report(PrepkitApp(desk, light=light if light in PALETTES else DUSK))


def run_and_report(app: PrepkitApp) -> int:
    """Run an app as `run_app` does."""
    app.run()
    if app.fault is None:
        return 0
    sys.stderr.write(CRASH_MESSAGE)
    sys.stderr.write("".join(traceback.format_exception(app.fault)))
    return CRASHED
