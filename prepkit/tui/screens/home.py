"""Home: the preparations in progress, and the way to a new one."""

from collections.abc import Callable
from typing import TYPE_CHECKING, ClassVar

from textual.binding import BindingType

from prepkit.app.workstation import Workstation
from prepkit.errors import PrepkitError
from prepkit.tui.input.keys import bindings_of
from prepkit.tui.screens.base import WorkstationScreen
from prepkit.tui.themes import PALETTES
from prepkit.tui.widgets.banner import PRACTICE
from prepkit.tui.widgets.column import Item, RowItem, WordsItem
from prepkit.tui.widgets.row import LEAST_ROW, Row, RowText
from prepkit.tui.widgets.text import Sentence
from prepkit.view.home import HomeRow, HomeView
from prepkit.view.routes import ScreenRoute, Stage

if TYPE_CHECKING:
    from prepkit.app.open_preparation import OpenPreparation
    from prepkit.tui.prompts.start import StartWizard

PAGE = 30
"""Preparations that are shown until more are asked for."""
MORE = "more"
LATER = {Stage.COT: ScreenRoute.COT, Stage.RECORD: ScreenRoute.RECORD}
"""Where one that has left the tray is gone on with."""
MARK_FIRST = "Mark a preparation first: move to it with the arrow keys, or touch it and come back."


class HomeScreen(WorkstationScreen[None]):
    """One row a preparation; touch one to take it up."""

    ROUTE = ScreenRoute.HOME
    SHOWS_WHO = True
    CSS_PATH = "home.tcss"
    BINDINGS: ClassVar[list[BindingType]] = bindings_of(ROUTE)

    def __init__(self, desk: Workstation) -> None:
        super().__init__(desk)
        self._most = 0
        """How many preparations are shown; 0 until the first frame."""
        self._left = ""
        """The preparation that was shown last: marked on the way back, lest Enter open another baby's."""

    def show_all(self) -> None:
        """Show what the first frame left out, and what is wrong with the files."""
        self._most = self._most or PAGE
        if self.is_on_top:
            self.safely(self.show_now)

    def draw(self) -> None:
        """Notices, then the preparations."""
        view = self.desk.show_home(self._most or self.app.size.height // LEAST_ROW)
        self.head(None, f"prepkit · {view.ward}" if view.ward else "prepkit")
        self.body.show(_items(view))
        self.offer(
            self._who_action(),
            self.action_named("more"),
            *(self.action_named(name) for name in ("check", "practise", "ended")),
            self.action_named("light", f"Light: {self.app.theme}"),
            *(self.action_named(name) for name in ("help", "leave")),
            self.action_named("new"),
            primary="new",
        )

    def show_changes(self) -> None:
        """Mark the preparation that somebody comes back from, too; a new one stands where another was marked."""
        super().show_changes()
        if self._left:
            left, self._left = self._left, ""
            self.body.call_after_refresh(self.body.mark, left)  # by the column, after what it restores itself

    def open_row(self, row: Row) -> None:
        """Take up the preparation."""
        self._take_up(row.key)

    def action_new(self) -> None:
        """Ask for what a new preparation needs, then show its list."""
        self._start(practice=False)

    def action_practise(self) -> None:
        """The same for practice."""
        self._start(practice=True)

    def action_ended(self) -> None:
        """Show the preparations that have ended; ask first who is here, as everywhere."""
        self._knowing_who(self._show_ended)

    def _show_ended(self) -> None:
        self.go(ScreenRoute.ENDED)

    def _start(self, *, practice: bool) -> None:
        from prepkit.tui.prompts.start import StartWizard  # noqa: PLC0415  (7 ms of the first frame)

        wizard = StartWizard(self.desk, practice=practice)
        kits = self.desk.list_kits()
        if not any(kit.usable for kit in kits):
            self.tell("Not started", " ".join(kit.note for kit in kits) or "There is no kit.")
            return
        self.ask(wizard, lambda _: self._show_started(wizard))

    def _show_started(self, wizard: "StartWizard") -> None:
        if wizard.taken_up:
            self._take_up(wizard.taken_up)
        elif wizard.preparation is not None:
            self._show_list(wizard.preparation)

    def action_check(self) -> None:
        """Check the marked preparation without opening its list, as a second person on a device of their own."""
        marked = self.focused
        if not isinstance(marked, Row) or marked.key == MORE:
            self.tell("Second check", MARK_FIRST)
        else:
            self._knowing_who(lambda: self.safely(lambda: self._open_check(marked.key)))

    def _open_check(self, prep: str) -> None:
        resumed = self.desk.resume(prep)
        if isinstance(resumed, str):
            self.tell("Not opened", resumed)
            return
        refusal = resumed.check.show_checked().begin.refusal
        if refusal:
            self.tell("Second check", refusal)
        else:
            self.go(ScreenRoute.CHECK, then=lambda done: self._show_check(resumed) if done else None,
                    preparation=resumed)  # fmt: skip

    def _show_check(self, preparation: "OpenPreparation") -> None:
        """Show the list, and over it how the check came out."""
        self._show_list(preparation)
        if isinstance(self.app.screen, WorkstationScreen):
            self.app.screen.go(ScreenRoute.CHECKED)

    def action_light(self) -> None:
        """Go on to the next light."""
        names = list(PALETTES)
        self.app.theme = names[(names.index(self.app.theme) + 1) % len(names)]
        self.show_now()

    def action_leave(self) -> None:
        """Leave prepkit; nothing has to be saved."""
        self.app.exit()

    def _take_up(self, prep: str) -> None:
        if prep == MORE:
            self._most += PAGE
            self.safely(self.show_now)
            return
        self._knowing_who(lambda: self.safely(lambda: self._resume(prep)))

    def _knowing_who(self, then: Callable[[], None]) -> None:
        try:  # reached after a pad too, where nothing else would catch a store that is away
            nobody = self.desk.identity.refuse_if_not_signed_in()
        except PrepkitError as error:
            self.refuse(error)
            return
        if not nobody:
            then()
        else:
            self.ask_who(lambda known: then() if known else None)

    def _resume(self, prep: str) -> None:
        resumed = self.desk.resume(prep)
        if isinstance(resumed, str):
            self.tell("Not opened", resumed)
        else:
            self._show_list(resumed)
            # Over the list comes the cot or the record, where the preparation is there.
            if route := LATER.get(resumed.bedside.stage):
                self.go(route, preparation=resumed)

    def _show_list(self, preparation: "OpenPreparation") -> None:
        self._left = preparation.session.prep
        self.go(ScreenRoute.LIST, preparation=preparation)


def _items(view: HomeView) -> list[Item]:
    notices = [WordsItem(f"notice {at}", (Sentence(words, "$ask", lead="i "),), "notice")
               for at, words in enumerate(view.notices)]  # fmt: skip
    rows = [RowItem(row.prep, _text(row)) for row in view.rows]
    empty = [] if rows else [WordsItem("empty", (Sentence(view.empty, "$pale"),), "empty")]
    more = [RowItem(MORE, RowText(view.more, details=("Show more of them",)))] if view.more else []
    return [*notices, *rows, *more, *empty]


def _text(row: HomeRow) -> RowText:
    practice = f" ({PRACTICE})" if row.practice else ""
    return RowText(f"{row.cot}{practice}", details=(row.left, row.who, row.kit), sign=row.sign, note=row.apart)
