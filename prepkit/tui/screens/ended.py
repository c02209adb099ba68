"""Ended: the preparations that were closed or stood down, to be looked at again."""

from typing import ClassVar

from textual.binding import BindingType

from prepkit.app.workstation import Workstation
from prepkit.tui.input.keys import bindings_of
from prepkit.tui.screens.base import WorkstationScreen
from prepkit.tui.widgets.banner import PRACTICE
from prepkit.tui.widgets.column import RowItem, WordsItem
from prepkit.tui.widgets.row import LEAST_ROW, Row, RowText
from prepkit.tui.widgets.text import Sentence
from prepkit.view.home import EndedRow
from prepkit.view.routes import ScreenRoute


class EndedScreen(WorkstationScreen[None]):
    """One row a preparation, the last ended first, a page at a time; touch one to read it."""

    ROUTE = ScreenRoute.ENDED
    CSS_PATH = "home.tcss"
    BINDINGS: ClassVar[list[BindingType]] = bindings_of(ROUTE)

    def __init__(self, desk: Workstation) -> None:
        super().__init__(desk)
        self._pages: list[int | None] = [None]
        """What each page down to this one was asked for with."""
        self._older: int | None = None
        self._is_whole = False
        """Whether the page was read to its end; its first frame needs only what is in sight."""

    def draw(self) -> None:
        """The rows, or that there are none; the way to more only where there are more."""
        view = self.desk.show_ended(self._pages[-1], None if self._is_whole else self.app.size.height // LEAST_ROW)
        if not self._is_whole:
            self._is_whole = True
            self.call_after_refresh(self._show_rest)
        self._older = view.older
        self.head(None, "Ended")
        damaged = [WordsItem(f"damaged {at}", (Sentence(words, "$ask", lead="i "),), "notice")
                   for at, words in enumerate(view.unreadable)]  # fmt: skip
        rows = [RowItem(row.prep, _text(row)) for row in view.rows]
        empty = [WordsItem("empty", (Sentence(view.empty, "$pale"),), "empty")] if view.empty else []
        self.body.show([*damaged, *rows, *empty])
        ways = [
            name for name, is_there in (("newer", len(self._pages) > 1), ("older", view.older is not None)) if is_there
        ]
        self.offer(*(self.action_named(name) for name in ("back", "more", *ways)), primary=(ways or ["back"])[-1])

    def _show_rest(self) -> None:
        if self.is_up and self.is_on_top:
            self.safely(self.show_now)

    def action_older(self) -> None:
        """Show those that ended before these."""
        if self._older is not None:
            self._turn([*self._pages, self._older])

    def action_newer(self) -> None:
        """Show those that ended after these."""
        if len(self._pages) > 1:
            self._turn(self._pages[:-1])

    def _turn(self, pages: list[int | None]) -> None:
        self._pages, self._is_whole = pages, False
        self.body.scroll_home(animate=False)
        self.safely(self.show_now)
        self.call_after_refresh(self.keep_mark)

    def open_row(self, row: Row) -> None:
        """Look at what has ended."""
        self.safely(lambda: self._open(row.key))

    def _open(self, prep: str) -> None:
        opened = self.desk.resume(prep)
        if isinstance(opened, str):
            self.tell("Not opened", opened)
        else:
            self.go(ScreenRoute.RECORD, preparation=opened, looks_back=True)


def _text(row: EndedRow) -> RowText:
    practice = f" ({PRACTICE})" if row.practice else ""
    return RowText(f"{row.cot}{practice}", details=(row.how, row.kit), sign=row.sign)
