"""What nearly every screen does: banner, title and action bar, fetching news, and saying what was refused."""

from collections.abc import Callable
from typing import TYPE_CHECKING, Any, ClassVar, Generic, TypeVar, Unpack

from textual import on
from textual.app import ComposeResult
from textual.widget import Widget

from prepkit.app.workstation import Workstation
from prepkit.errors import PrepkitError, StoreFailed, StoreLost
from prepkit.tui.input.keys import KEYS, key_of
from prepkit.tui.input.touch import Touchable
from prepkit.tui.routes import Given, navigate
from prepkit.tui.screens.covered import NEWS_EVERY
from prepkit.tui.screens.focus import FocusScreen
from prepkit.tui.widgets.banner import BannerBar, TitleLine
from prepkit.tui.widgets.button import Action, ActionBar, Button
from prepkit.tui.widgets.column import Column
from prepkit.tui.widgets.row import Row
from prepkit.tui.widgets.text import Sentence, Sentences
from prepkit.view.routes import ScreenRoute
from prepkit.view.signs import Banner

if TYPE_CHECKING:
    from prepkit.app.open_preparation import OpenPreparation
    from prepkit.tui.prompts.prompt import Wizard

Result = TypeVar("Result")

UNSURE = "Perhaps saved"
NOT_DONE = "Not done"
"""What is said of a touch after which the store does not know what became of it."""
SCAN_TITLE = "That was a scan"
SCAN_WHERE = "Nothing was taken. Scan on the list, on a line, or where batch and expiry are asked for."

TIME_EVERY = 10.0
"""Seconds between looks at what the passing of time changed."""


class WorkstationScreen(FocusScreen[Result], Generic[Result]):
    """A screen at the desk: banner, title, a column that scrolls, and the action bar."""

    SHOWS_WHO: ClassVar[bool] = False
    """Whether another person may take over here; if so, the initials stand in the title."""

    def __init__(self, desk: Workstation, preparation: "OpenPreparation | None" = None) -> None:
        super().__init__()
        self.desk = desk
        self.preparation = preparation
        self.subject = ""
        """What of the preparation is shown, where that is one thing: the id of a line, a step or an entry."""
        self._told = ""

    def compose(self) -> ComposeResult:
        """Banner and title above, the bar below, and the screen's own part between."""
        yield from self.compose_head()
        yield from self.compose_middle()
        yield ActionBar(key.action for key in KEYS[self.ROUTE] if key.label)

    def compose_head(self) -> ComposeResult:
        """Banner, title, and what is said while the store is out of reach."""
        yield BannerBar()
        yield TitleLine()
        lost = Sentences(id="lost")
        lost.display = False
        yield lost

    def compose_middle(self) -> ComposeResult:
        """The part between title and bar."""
        yield Column(id="body")

    def draw(self) -> None:
        """Show everything as it is now; only `show_now` calls this."""
        raise NotImplementedError

    def show_now(self) -> None:
        """Show everything, or let the cover stand over it while somebody checks: nothing is drawn past this."""
        if not self.cover():
            self.draw()

    @property
    def bar(self) -> ActionBar:
        """The action bar."""
        return self.query_one(ActionBar)

    def head(self, banner: Banner | None, title: str, progress: str = "") -> None:
        """Show banner and title."""
        self.query_one(BannerBar).show(banner)
        self.query_one(TitleLine).show(title, progress, self.desk.identity.who if self.SHOWS_WHO else "")

    def offer(self, *actions: Action, primary: str | None = None) -> None:
        """Put these actions on the bar."""
        self.bar.show(actions, primary)

    def action_named(self, name: str, label: str = "") -> Action:
        """An action of this screen, as the table of keys has it."""
        key = key_of(self.ROUTE, name)
        return Action(name, label or key.label, key.shown.lower())

    def go(self, route: ScreenRoute, subject: str = "", /, *, then: Callable[[Any], Any] | None = None,
           **given: Unpack[Given]) -> None:  # fmt: skip
        """Go to another screen, of `subject` where it is about one; `then` is told what that screen gives back."""
        needs: Given = {"desk": self.desk, "preparation": self.preparation, "subject": subject}
        needs.update(given)
        navigate(self.app, route, then, **needs)

    def ask(self, wizard: "Wizard", after: Callable[[bool | None], None] | None = None) -> None:
        """Put questions on the pad."""
        self.go(ScreenRoute.PAD, then=after, wizard=wizard)

    def ask_who(self, after: Callable[[bool | None], None] | None = None) -> None:
        """Ask who is here."""
        from prepkit.tui.prompts.sign_in import SignInWizard  # noqa: PLC0415  (4 ms of the first frame)

        self.ask(SignInWizard(self.desk.identity, self.preparation), after)

    # Reading and refusals

    def on_mount(self) -> None:
        """Show the screen and keep it up to date."""
        if not self.is_up:
            return
        self.safely(self.show_now)
        self.call_after_refresh(self.keep_mark)
        self.set_interval(NEWS_EVERY, self._look_for_news)
        self.set_interval(TIME_EVERY, self._let_time_pass)
        self.watch(self.body, "scroll_y", self.point, init=False)
        self.watch(self.body, "virtual_size", self.point, init=False)

    def on_screen_resume(self) -> None:
        """Show again what may have changed under another screen."""
        if self.is_mounted and self.is_on_top:
            self.safely(self.show_changes)
            self.call_after_refresh(self.keep_mark)

    def safely(self, look: Callable[[], object]) -> None:
        """Read and show; if the store cannot be read, say so once and leave the screen as it is."""
        if not self.is_up:
            return
        try:
            look()
        except PrepkitError as error:
            self.desk.connectivity.note(error)
            if str(error) != self._told and not isinstance(error, StoreLost):
                self._told = str(error)
                self.tell("Not up to date", str(error))
        else:
            self._told = ""
        self._show_reach()

    def _show_reach(self) -> None:
        """Say on the screen itself, not over it, that the store is out of reach, and when it is back."""
        words, line = self.desk.connectivity.show(), self.query_one("#lost", Sentences)
        line.show(Sentence(words, "bold $ink"))
        line.display = bool(words)
        if told := self.desk.connectivity.take_words():
            self.show_message("The connection is back", told)

    def show_changes(self) -> None:
        """Show what has changed."""
        self.show_now()

    def _look_for_news(self) -> None:
        if self.is_on_top:
            self.safely(self._take_news)

    def _take_news(self) -> None:
        if self.desk.has_news() and (self.preparation is None or self.preparation.session.refresh()):
            self.show_changes()

    def _let_time_pass(self) -> None:
        if self.is_on_top:
            self.safely(self._take_time)

    def _take_time(self) -> None:
        if self.preparation is None or self.preparation.session.refresh():
            self.show_changes()

    def attempt(self, act: Callable[[], str]) -> str:
        """Do something; returns the refusal, or what kept it from being saved, in words."""
        return self._attempt(act)[1]

    def _attempt(self, act: Callable[[], str]) -> tuple[str, str]:
        """Do something; returns a title and what to say if it was not done."""
        try:
            return NOT_DONE, act()
        except StoreFailed as error:
            self.desk.connectivity.note(error)
            return UNSURE, f"{UNSURE}: {error}"
        except PrepkitError as error:
            self.desk.connectivity.note(error)
            return NOT_DONE, f"Not saved: {error}"

    def do(self, act: Callable[[], str]) -> bool:
        """Do something, say what was refused, and show the result; True when it was done."""
        title, refusal = self._attempt(act)
        self.safely(self.show_now)
        if refusal:
            self.tell(title, refusal)
        return not refusal

    def tell(self, title: str, words: str) -> None:
        """Show a message; none over the cover, which says itself why nothing else is shown."""
        if not self.is_covered:
            self.show_message(title, (words,))

    def refuse(self, error: PrepkitError) -> None:
        """Say that something touched was not done, because the store could not be asked."""
        self.desk.connectivity.note(error)
        self.tell(NOT_DONE, str(error))

    def show_message(self, title: str, words: tuple[str, ...], confirm: str = "",
                     after: Callable[[bool | None], None] | None = None) -> None:  # fmt: skip
        """Show a message over this screen, with its banner; with a button to confirm where there is one."""
        banner = self.query_one(BannerBar).banner
        self.go(ScreenRoute.MESSAGE, then=after, title=title, words=words, confirm=confirm, banner=banner)

    def action_scan(self, text: str) -> None:  # noqa: ARG002 (screens that take one want it)
        """Say where scanning is done, and leave everything as it is."""
        self.tell(SCAN_TITLE, SCAN_WHERE)

    # Actions that every screen has

    @on(Button.Pressed)
    async def _act(self, event: Button.Pressed) -> None:
        if isinstance(event.button.parent, ActionBar):
            event.stop()
            await self.run_action(event.button.name or "")

    @on(Touchable.Touched)
    async def _touched(self, event: Touchable.Touched) -> None:
        event.stop()
        if event.widget.is_there:
            await self.app.run_action(("", "touch", (event.widget, event.on_sign)), self)

    def action_touch(self, touched: Widget, on_sign: bool) -> None:  # noqa: ARG002, FBT001 (some signs do something else)
        """Open what was touched."""
        self.open_marked(touched)

    def action_open(self) -> None:
        """Open what is marked."""
        self.open_marked(self.focused)

    def open_marked(self, marked: Widget | None) -> None:
        """Do what a touch on something does; on most screens people touch rows."""
        if isinstance(marked, Row):
            self.open_row(marked)

    def open_row(self, row: Row) -> None:
        """Do what a touch on a row does."""

    def action_back(self) -> None:
        """Go back one screen."""
        self.dismiss()

    async def action_next(self) -> None:
        """Do what the primary button says."""
        primary = next(iter(self.bar.query("Button.-primary").results(Button)), None)
        if primary is not None and primary.display:
            await self.run_action(primary.name or "")

    def action_help(self) -> None:
        """Show the help sheet."""
        self.go(ScreenRoute.HELP, screen=self.ROUTE, banner=self.query_one(BannerBar).banner)

    def action_more(self) -> None:
        """Show the actions that have no button."""
        hidden = self.bar.hidden_actions
        if hidden:
            who = [] if any(action.name == "who" for action in hidden) or not self.SHOWS_WHO else [self._who_action()]
            banner = self.query_one(BannerBar).banner
            self.go(ScreenRoute.MENU, then=self._chosen, actions=(*hidden, *who), banner=banner)

    def _who_action(self) -> Action:
        letter = next((key.shown for key in KEYS[self.ROUTE] if key.action == "who"), " ")
        return Action("who", f"Who: {self.desk.identity.who}" if self.desk.identity.who else "Who?", letter)

    @on(BannerBar.Touched)
    async def _head_touched(self, event: BannerBar.Touched) -> None:
        """The initials' end of the head leads to who is signed in, the rest of it to the baby.

        Without a banner the head is only one row high and right above the column: no target for a finger.
        """
        if not self.query_one(BannerBar).display:
            return
        await self.run_action("who" if event.at_end and self.SHOWS_WHO else "baby")

    def action_who(self) -> None:
        """Let another person take over: a touch on the initials, one on theirs, then the PIN if it is asked for."""
        if self.SHOWS_WHO:
            self.ask_who()

    async def _chosen(self, name: str | None) -> None:
        if name:
            await self.run_action(name)
