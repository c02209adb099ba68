"""How the monkey drives the app: events as a terminal sends them, and when the app has done all that it was told.

A pilot waits until the processor is idle, which costs 60 ms and more for each press. Here the app's own queues are
asked instead: a step takes as long as the app needs for it.
"""

import asyncio

import pytest
from textual import events
from textual.app import App, ScreenStackError
from textual.drivers.headless_driver import HeadlessDriver
from textual.geometry import Offset, Size
from textual.keys import _character_to_key
from textual.message_pump import MessagePump
from textual.screen import Screen

from prepkit.tui import app as app_module
from prepkit.tui.app import PrepkitApp
from prepkit.tui.screens import base, cot, overlays

NEVER = 1e6
SOON = 0.0005
LONGEST = 60.0
"""Seconds after which an app that does not come to rest counts as hanging; thousands of times what a step takes."""

CHARACTERS = {"enter": "\r", "tab": "\t", "space": " ", "question_mark": "?"}


def quieten(patch: pytest.MonkeyPatch) -> None:
    """Let nothing happen by itself: what a timer does in the app the monkey does, so that a night can be run again."""
    for module, names in (
        (app_module, ("PLACE_EVERY", "IDLE_EVERY")),
        (base, ("NEWS_EVERY", "TIME_EVERY")),
        (overlays, ("NEWS_EVERY",)),
        (cot, ("EVERY_SECOND",)),
    ):
        for name in names:
            patch.setattr(module, name, NEVER)
    # What a thread loads behind the first frame is there at once: a night has to be the same each time.
    patch.setattr(app_module, "load_behind", lambda desk, tell: tell(desk.files.find_problems()))
    patch.setattr(cot.CotScreen, "REST", 0.0)
    patch.setattr("textual.screen.UPDATE_PERIOD", SOON)


class Driver:
    """The hands at one running app."""

    def __init__(self, app: PrepkitApp) -> None:
        self.app = app
        self.keys = self.touches = 0
        self._seconds = 100.0
        """On the clock that tells a scanner's keys from a person's."""

    @property
    def is_over(self) -> bool:
        """Whether the app has ended: somebody left, or a fault stopped it."""
        return self.app._exit or self.app.fault is not None

    @property
    def screen(self) -> Screen[object]:
        return self.app.screen

    def press(self, *names: str, gap: float = 1.0) -> None:
        """Keys by the terminal library's names, so many seconds apart."""
        for name in names:
            character = CHARACTERS.get(name, name if len(name) == 1 else None)
            key = events.Key(_character_to_key(name) if len(name) == 1 else name, character)
            self._seconds += gap
            key.time = self._seconds
            self.app.post_message(key)
            self.keys += 1

    def paste(self, text: str) -> None:
        self.app.post_message(events.Paste(text))
        self.keys += 1

    def point(self, kind: type[events.MouseEvent], at: Offset, button: int = 1) -> None:
        self.app.post_message(
            kind(None, at.x, at.y, 0, 0, button, shift=False, meta=False, ctrl=False, screen_x=at.x, screen_y=at.y)
        )

    def touch(self, at: Offset, to: Offset | None = None, button: int = 1) -> None:
        """Down, and up at the same place or at another one without a move between."""
        self.point(events.MouseDown, at, button)
        self.point(events.MouseUp, to or at, button)
        self.touches += 1

    def resize(self, width: int, height: int) -> None:
        size = Size(width, height)
        if isinstance(self.app._driver, HeadlessDriver):
            self.app._driver._size = size
        self.app.post_message(events.Resize(size, size))

    async def come_to_rest(self) -> None:
        """Return when the app has taken in all it was sent and has painted it."""
        quiet = 0
        async with asyncio.timeout(LONGEST):
            while quiet < 3:
                await asyncio.sleep(0)
                quiet = 0 if not self.is_over and _is_busy(self.app) else quiet + 1


def _is_busy(app: App[None]) -> bool:
    try:
        stack = app.screen_stack
    except ScreenStackError:
        return True
    waits = any(screen._callbacks for screen in stack)
    return waits or _has_to_paint(stack[-1]) or any(_has_to_do(pump) for pump in (app, *app._registry))


def _has_to_do(pump: MessagePump) -> bool:
    """A pump that is not at its work waits for the next message."""
    queue = pump._message_queue
    return not pump._closed and not (queue.empty() and queue.ready_event._waiters and not pump._next_callbacks)  # type: ignore[attr-defined]


def _has_to_paint(screen: Screen[object]) -> bool:
    return bool(screen._layout_required or screen._scroll_required or screen._repaint_required or screen._dirty_widgets)
