"""The mark: which widget has the focus, how keys move it, and that it stays in sight."""

from typing import ClassVar, Generic, TypeVar

from textual import events
from textual.widget import Widget

from prepkit.tui.input.touch import TouchScroll
from prepkit.tui.screens.covered import CoveredScreen
from prepkit.tui.widgets.banner import TitleLine
from prepkit.tui.widgets.button import ActionBar, ButtonRow
from prepkit.tui.widgets.column import Column

Result = TypeVar("Result")


class FocusScreen(CoveredScreen[Result], Generic[Result]):
    """A screen with a column and a bar, on which one thing is always marked."""

    AUTO_FOCUS = ""
    ALLOW_SELECT = False

    @property
    def body(self) -> Column:
        """The column of the screen."""
        return self.query_one("#body", Column)

    MARKS_BACK: ClassVar[bool] = False
    """Whether "Back" is marked first where the column has nothing to mark: Enter pressed twice then does nothing."""

    STEPS_SCROLL: ClassVar[bool] = False
    """Whether ▲ and ▼ scroll: there are words to read and nothing to mark; the bar is reached with ◀ and ▶."""

    def keep_mark(self) -> None:
        """See to it that something is marked: what is first in the column, else the primary action or "Back"."""
        if not self.is_up or (self.focused is not None and self.focused.focusable):
            return
        chain = self.focus_chain
        # Before its first layout the library sorts a band by margins alone, and would have its second button first.
        inside = [widget for widget in chain if not _in_bar(widget) and _leads_its_band(widget)]
        first = [widget for widget in chain if _is_first(widget, marks_back=self.MARKS_BACK)]
        for widget in (inside or first or chain)[:1]:
            self.set_focus(widget)

    def action_step(self, step: int) -> None:
        """Move the mark up or down; a band of buttons counts as one step. Where words alone are read, scroll them."""
        if self.STEPS_SCROLL:
            self.body.scroll_relative(y=step, animate=False)
            return
        chain = [widget for widget in self.focus_chain if _leads_its_band(widget)]
        here = next((widget for widget in chain if _same_place(widget, self.focused)), None)
        was_moved, self.body.moved_by_hand = self.body.moved_by_hand, False
        if here is None or (was_moved and not _in_sight(here)):
            self._mark_first_in_sight()
            return
        at = chain.index(here) + step
        if 0 <= at < len(chain):
            self.set_focus(chain[at])
        else:
            self.body.scroll_relative(y=step, animate=False)

    def action_aside(self, step: int) -> None:
        """Move the mark left or right in a band of buttons."""
        here = self.focused
        if here is None or not isinstance(here.parent, ButtonRow):
            return
        band = [widget for widget in here.parent.children if widget.focusable]
        at = band.index(here) + step
        if 0 <= at < len(band):
            self.set_focus(band[at])

    def action_page(self, step: int) -> None:
        """Scroll by a page, and mark what is then first in sight."""
        rows = max(self.body.size.height - 1, 1)
        self.body.scroll_relative(y=step * rows, animate=False, immediate=True)
        self.call_after_refresh(self._mark_first_in_sight)

    def _mark_first_in_sight(self) -> None:
        chain = self.focus_chain
        seen = [widget for widget in chain if not _in_bar(widget) and _in_sight(widget)]
        for widget in (seen or chain)[:1]:
            self.set_focus(widget, scroll_visible=False)

    def on_resize(self, event: events.Resize) -> None:  # noqa: ARG002 (the library's signature)
        """Keep the mark in sight."""
        self.call_after_refresh(self._bring_mark_in_sight)

    def _bring_mark_in_sight(self) -> None:
        if self.focused is not None:
            self.focused.scroll_visible(animate=False)
        self.point()

    def on_column_resized(self) -> None:
        """Point again; the column knows how far it scrolls only after the next refresh."""
        self.call_after_refresh(self.point)

    def point(self) -> None:
        """Show in the title whether there is more above and below."""
        if not self.is_up:
            return
        body = self.body
        at = body.scroll_offset.y
        self.query_one(TitleLine).point(above=at > 0, below=at < body.max_scroll_y)


def _is_first(widget: Widget, *, marks_back: bool) -> bool:
    return widget.name == "back" if marks_back else widget.has_class("-primary")


def _in_bar(widget: Widget) -> bool:
    return isinstance(widget.parent, ActionBar)


def _in_sight(widget: Widget) -> bool:
    """Whether the top of a widget is inside the column that it scrolls in."""
    column = next((above for above in widget.ancestors if isinstance(above, TouchScroll)), None)
    return column is None or column.scrollable_content_region.contains(widget.region.x, widget.region.y)


def _leads_its_band(widget: Widget) -> bool:
    """Whether the mark stops here: anything outside a band; in a band the primary, else the chosen, else the first."""
    band = widget.parent
    if not isinstance(band, ButtonRow):
        return True
    focusable = [each for each in band.children if each.focusable]
    leader = next((each for each in focusable if each.has_class("-primary") or each.has_class("-chosen")), focusable[0])
    return widget is leader


def _same_place(leader: Widget, here: Widget | None) -> bool:
    if here is None:
        return False
    return leader is here or (isinstance(here.parent, ButtonRow) and leader.parent is here.parent)
