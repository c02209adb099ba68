"""Touch: widgets that can be touched, and a column that a finger can drag.

A touch is a press and a release on the same widget without scrolling in between.
"""

from textual import events
from textual.containers import VerticalScroll
from textual.errors import NoWidget
from textual.geometry import Offset
from textual.message import Message
from textual.screen import Screen
from textual.scrollbar import ScrollBar
from textual.widget import Widget

from prepkit.tui.private import is_being_removed


class Touchable(Widget, can_focus=True):
    """A widget that says what a touch on it does."""

    ALLOW_SELECT = False

    class Touched(Message):
        """A widget was touched that stands for something that its screen opens."""

        def __init__(self, widget: "Touchable", *, on_sign: bool = False) -> None:
            super().__init__()
            self.widget = widget
            self.on_sign = on_sign

    @property
    def is_there(self) -> bool:
        """Whether it is still there since it was touched: something else may be in its place by now."""
        return self.is_attached and not is_being_removed(self)

    def touch(self, at: Offset) -> None:
        """Act on a touch at `at`, in the widget's own cells."""
        raise NotImplementedError

    def on_click(self, event: events.Click) -> None:
        """Act at once, unless a dragged column has to decide first whether this was a touch."""
        if any(isinstance(above, TouchScroll) for above in self.ancestors):
            return
        event.stop()
        self.touch(event.screen_offset - self.region.offset)


SLIP = 1
"""Rows that a finger may slip within one widget and still be touching it."""


class TouchScroll(VerticalScroll, can_focus=False, inherit_bindings=False):
    """A column that scrolls under a finger, and passes on a press that did not move as a touch."""

    ALLOW_SELECT = False

    def __init__(self, *children: Widget, id: str | None = None, classes: str | None = None) -> None:  # noqa: A002 (the library's own name)
        super().__init__(*children, id=id, classes=classes)
        self._pressed_at = 0
        self._scroll_then = 0
        self._is_followed = False
        self._moved = False
        self.moved_by_hand = False
        """Whether a finger or a wheel has scrolled it since the mark was last moved."""

    def follow(self, row: int) -> None:
        """Follow a finger that went down at a row of the screen: every mouse event comes here until it is lifted."""
        self._pressed_at = row
        self._scroll_then = self.scroll_offset.y
        self._is_followed, self._moved = True, False
        self.capture_mouse()

    def on_mouse_down(self, event: events.MouseDown) -> None:
        """Follow the finger."""
        if not self._is_followed and event.button == 1 and not _is_on_scrollbar(self.screen, event.screen_offset):
            self.follow(event.screen_y)

    def on_mouse_move(self, event: events.MouseMove) -> None:
        """Scroll with the finger; a move without a button held means that its lifting went elsewhere."""
        if not self._is_followed:
            return
        if not event.button:
            self.on_mouse_up()
            return
        self.scroll_to(y=self._scroll_then + self._pressed_at - event.screen_y, animate=False, immediate=True)
        self._moved = self._moved or self.scroll_offset.y != self._scroll_then
        self.moved_by_hand = self.moved_by_hand or self._moved

    def on_mouse_up(self) -> None:
        """Stop following the finger."""
        self._is_followed = False
        self.release_mouse()

    def on_mouse_scroll_down(self) -> None:
        """Remember that the wheel moved it; the library scrolls."""
        self.moved_by_hand = True

    def on_mouse_scroll_up(self) -> None:
        """Remember that the wheel moved it; the library scrolls."""
        self.moved_by_hand = True

    def on_click(self, event: events.Click) -> None:
        """Pass a touch on to the row under it."""
        event.stop()
        if self._moved or abs(event.screen_y - self._pressed_at) > SLIP:
            return
        touched = self._touchable_at(event.screen_offset)
        if touched is None:
            return
        if touched.focusable and touched.FOCUS_ON_CLICK:
            self.screen.set_focus(touched, scroll_visible=False)
        # In the row's own turn: a message sent from the column's would stop at the column.
        touched.call_next(touched.touch, event.screen_offset - touched.region.offset)

    def _touchable_at(self, at: Offset) -> Touchable | None:
        widget, _ = self.screen.get_widget_at(*at)
        return next((node for node in widget.ancestors_with_self if isinstance(node, Touchable)), None)


def follow_finger(screen: Screen[object], event: events.MouseDown) -> None:
    """Let the column under a press follow the finger at once.

    Called before the press is passed on. Each widget takes its events in its own turn, so that a quick flick whose
    press had to travel through a row first could be lifted before the column knew of it.
    """
    if event.button != 1:
        return
    try:
        widget, _ = screen.get_widget_at(*event.screen_offset)
    except NoWidget:
        return
    column = next((node for node in widget.ancestors_with_self if isinstance(node, TouchScroll)), None)
    if column is not None and not isinstance(widget, ScrollBar):
        column.follow(event.screen_y)


def _is_on_scrollbar(screen: Screen[object], at: Offset) -> bool:
    return isinstance(screen.get_widget_at(*at)[0], ScrollBar)
