"""The column of a screen: headings, words and rows, updated in place and rebuilt only where others are wanted."""

from collections.abc import Sequence
from typing import Protocol

from msgspec import Struct
from textual.content import Content
from textual.message import Message
from textual.widget import Widget

from prepkit.tui.input.touch import TouchScroll
from prepkit.tui.layout import wrap
from prepkit.tui.widgets.row import Row, RowText
from prepkit.tui.widgets.text import Sentence, Sentences, TextBlock


class Item(Protocol):
    """One thing in a column."""

    @property
    def key(self) -> str:
        """What it stands for; the same key is the same widget."""
        ...

    def make(self) -> Widget:
        """A widget that shows it."""
        ...

    def update(self, widget: Widget) -> None:
        """Let a widget made for this key show it as it is now."""
        ...


class RowItem(Struct, frozen=True):
    """A row."""

    key: str
    text: RowText
    classes: str = ""

    def make(self) -> Widget:
        """A new row."""
        return Row(self.key, self.text, classes=self.classes)

    def update(self, widget: Widget) -> None:
        """Update the row."""
        if isinstance(widget, Row):
            widget.show(self.text)


class WordsItem(Struct, frozen=True):
    """Paragraphs."""

    key: str
    sentences: tuple[Sentence, ...]
    classes: str = ""

    def make(self) -> Widget:
        """New paragraphs."""
        return Sentences(*self.sentences, classes=self.classes)

    def update(self, widget: Widget) -> None:
        """Update the paragraphs."""
        if isinstance(widget, Sentences):
            widget.show(*self.sentences)


class HeadingItem(Struct, frozen=True):
    """A heading over some rows, with how far they have come."""

    key: str
    name: str
    progress: str = ""

    def make(self) -> Widget:
        """A new heading."""
        return Heading(self.name, self.progress)

    def update(self, widget: Widget) -> None:
        """Update the heading."""
        if isinstance(widget, Heading):
            widget.show(self.name, self.progress)


class Heading(TextBlock):
    """A group's name at the left and its progress at the right."""

    def __init__(self, name: str, progress: str) -> None:
        super().__init__()
        self._heading, self._progress = name, progress

    def show(self, name: str, progress: str) -> None:
        """Show another name or progress."""
        if (name, progress) != (self._heading, self._progress):
            self._heading, self._progress = name, progress
            self.redraw()

    def lines(self, width: int) -> list[Content]:
        """Name and progress, on one line where they fit."""
        gap = width - len(self._heading) - len(self._progress) - 1
        if gap > 0:
            name = Content.styled(self._heading, "bold underline $ink")
            return [name.append(" " * gap).append(Content.styled(self._progress, "$pale"))]
        return [Content.styled(line, "bold $ink") for line in wrap(f"{self._heading} {self._progress}", width)]


class Column(TouchScroll):
    """A column of items."""

    def __init__(self, id: str | None = None) -> None:  # noqa: A002 (the library's own name)
        super().__init__(id=id)
        self._shown: dict[str, Widget] = {}

    class Resized(Message):
        """The column has come to another size."""

    def on_resize(self) -> None:
        """Tell the screen, which shows whether more is out of sight."""
        self.post_message(self.Resized())

    def show(self, items: Sequence[Item]) -> None:
        """Show these items: in place where they are the same things, else from new with mark and scroll kept."""
        if [item.key for item in items] == list(self._shown):
            for item in items:
                item.update(self._shown[item.key])
            return
        if self._shown and [item.key for item in items[: len(self._shown)]] == list(self._shown):
            self._add(items)
            return
        marked, offset = self.find_mark(), self.scroll_offset.y
        self._shown = {item.key: item.make() for item in items}
        self._shade()
        with self.app.batch_update():
            self.remove_children()
            self.mount(*self._shown.values())
        self.call_after_refresh(self._restore, marked, offset)

    def _add(self, items: Sequence[Item]) -> None:
        """Show more below what is shown."""
        for item, widget in zip(items, self._shown.values(), strict=False):
            item.update(widget)
        added = {item.key: item.make() for item in items[len(self._shown) :]}
        self._shown |= added
        self._shade()
        self.mount(*added.values())

    def _shade(self) -> None:
        for at, row in enumerate(widget for widget in self._shown.values() if isinstance(widget, Row)):
            row.set_class(at % 2 == 1, "-other")

    def _restore(self, marked: str | None, offset: int) -> None:
        self.scroll_to(y=offset, animate=False, immediate=True)
        if marked is not None:
            self.mark(marked)

    def mark(self, key: str) -> bool:
        """Give the focus to what stands for `key`; False where there is no such thing to focus."""
        widget = self._shown.get(key)
        if widget is None:
            return False
        target = widget if widget.can_focus else next((each for each in widget.query("*") if each.can_focus), None)
        if target is not None:
            target.focus()
        return target is not None

    def find_mark(self) -> str | None:
        """The key of what has the focus; None where that is not in this column."""
        focused = self.screen.focused
        if focused is None:
            return None
        around = focused.ancestors_with_self
        return next((key for key, widget in self._shown.items() if widget in around), None)
