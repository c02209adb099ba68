"""What opens over any screen: a message or a question, the menu behind "More", and the help sheet."""

from typing import TYPE_CHECKING, ClassVar

from textual import events, on
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Vertical

from prepkit.app.workstation import Workstation
from prepkit.errors import PrepkitError
from prepkit.tui.input.keys import KEYS, SCREEN_NAMES, bindings_of
from prepkit.tui.input.touch import TouchScroll
from prepkit.tui.screens.base import WorkstationScreen
from prepkit.tui.screens.covered import NEWS_EVERY, CoveredScreen
from prepkit.tui.widgets.banner import BannerBar
from prepkit.tui.widgets.button import Action, Button, ButtonRow
from prepkit.tui.widgets.column import Column, HeadingItem, Item, RowItem, WordsItem
from prepkit.tui.widgets.row import Row, RowText
from prepkit.tui.widgets.text import Sentence, Sentences
from prepkit.view.routes import ScreenRoute
from prepkit.view.signs import Banner, Sign

if TYPE_CHECKING:
    from prepkit.app.open_preparation import OpenPreparation


class MessageScreen(CoveredScreen[bool]):
    """Words and one button, or two where something is to be confirmed; True when confirmed."""

    ROUTE = ScreenRoute.MESSAGE
    CSS_PATH = "message.tcss"
    AUTO_FOCUS = ""
    BINDINGS: ClassVar[list[BindingType]] = bindings_of(ROUTE)

    def __init__(
        self,
        desk: Workstation,
        title: str,
        words: tuple[str, ...],
        preparation: "OpenPreparation | None",
        *,
        confirm: str = "",
        banner: Banner | None = None,
    ) -> None:
        super().__init__()
        self.desk = desk
        self.preparation = preparation
        self._title = title
        self._words = words
        self._confirm = confirm
        self._banner = banner

    def compose(self) -> ComposeResult:
        """The banner, the words and the buttons."""
        banner = BannerBar(self._banner)
        banner.display = self._banner is not None
        yield banner
        with Vertical(id="sheet"):
            with TouchScroll():
                yield Sentences(
                    Sentence(self._title, "bold $amount"), Sentence(""), *(Sentence(words) for words in self._words)
                )
            with ButtonRow(id="answers"):
                yield Button("back", "Back" if self._confirm else "OK", classes="" if self._confirm else "-primary")
                if self._confirm:
                    yield Button("accept", self._confirm, classes="-primary")

    def on_mount(self) -> None:
        """Mark the harmless answer, and watch whether somebody begins to check."""
        if not self.is_up:
            return
        self.query(Button).first().focus()
        self.set_interval(NEWS_EVERY, self._look_for_news)
        self.cover()

    def _look_for_news(self) -> None:
        if self.preparation is None or not self.is_on_top:
            return
        try:
            if self.desk.has_news() and self.preparation.session.refresh():
                self.cover()
        except PrepkitError:
            # The screen below cannot read the store either, and says so.
            return

    @on(Button.Pressed)
    def _answered(self, event: Button.Pressed) -> None:
        event.stop()
        self.dismiss(event.button.name == "accept")

    def action_back(self) -> None:
        """Close it without confirming."""
        self.dismiss(False)  # noqa: FBT003 (the library's own signature)

    def action_accept(self) -> None:
        """Enter reaches here only where no button has the focus: nothing is confirmed by that."""

    def action_step(self, step: int) -> None:
        """Scroll the words."""
        self.query_one(TouchScroll).scroll_relative(y=step, animate=False)

    def action_page(self, step: int) -> None:
        """Scroll the words by some lines."""
        self.action_step(step * 4)

    def action_aside(self, step: int) -> None:
        """Move between the buttons."""
        buttons = list(self.query(Button))
        at = next((at for at, button in enumerate(buttons) if button.has_focus), 0)
        buttons[max(0, min(at + step, len(buttons) - 1))].focus()


class MenuScreen(WorkstationScreen[str]):
    """One row an action; gives back the name of the chosen one."""

    ROUTE = ScreenRoute.MENU
    SHOWS_WHO = True
    CSS_PATH = "menu.tcss"
    BINDINGS: ClassVar[list[BindingType]] = bindings_of(ROUTE)

    def __init__(
        self,
        desk: Workstation,
        preparation: "OpenPreparation | None",
        actions: tuple[Action, ...],
        banner: Banner | None,
    ) -> None:
        super().__init__(desk, preparation)
        self._actions = actions
        self._banner = banner

    def compose_middle(self) -> ComposeResult:
        """The rows, low on the screen."""
        with Vertical(id="low"):
            yield Column(id="body")

    def draw(self) -> None:
        """The actions as rows."""
        self.head(self._banner, "More")
        rows = [RowItem(action.name, RowText(action.label, sign=action.letter)) for action in self._actions]
        self.body.show(rows)
        self.offer(self.action_named("back"))

    def open_row(self, row: Row) -> None:
        """Choose the action."""
        self.dismiss(row.key)

    def has_key(self, key: str) -> bool:
        """Whether a key does something here: one of the menu's own, or a letter beside a row."""
        return super().has_key(key) or bool(self._find(key))

    def on_key(self, event: events.Key) -> None:
        """Take the letter beside a row as that row: whoever reads it presses it."""
        if chosen := self._find(event.key):
            event.stop()
            self.dismiss(chosen)

    def _find(self, letter: str) -> str:
        return next((action.name for action in self._actions if action.letter == letter), "")

    def action_who(self) -> None:
        """Leave the choice to the screen below, as for every action."""
        if any(action.name == "who" for action in self._actions):
            self.dismiss("who")


TOUCH = (
    "Touch a row to open it. On the list, touch the sign at its left to tick it or un-tick it.",
    "Drag a list with the finger to scroll it. Press on one row and let go on another: nothing happens.",
    "Touch the line at the top with the cot label to see the baby's facts.",
    "Every tick is kept the moment it is shown; leaving or losing the connection loses nothing.",
)

SIGNS = (
    (Sign.TO_DO, "to do"),
    (Sign.DONE, "done"),
    (Sign.NOT_NEEDED, "not needed"),
    (Sign.BLOCKED, "blocked: it cannot be done as things are"),
    (Sign.CHANGED, "changed since it was ticked: look again and tick again"),
    (Sign.QUESTION, "a question to answer"),
    (Sign.ADVICE, "advice"),
)


class HelpScreen(WorkstationScreen[None]):
    """Keys of the screen it was asked for first, then touch and signs, then the other screens' keys."""

    ROUTE = ScreenRoute.HELP
    STEPS_SCROLL = True
    BINDINGS: ClassVar[list[BindingType]] = bindings_of(ROUTE)

    def __init__(
        self, desk: Workstation, preparation: "OpenPreparation | None", screen: str, banner: Banner | None
    ) -> None:
        super().__init__(desk, preparation)
        self._screen = screen
        self._banner = banner

    def draw(self) -> None:
        """The sheet."""
        self.head(self._banner, "Help")
        others = [name for name in SCREEN_NAMES if name != self._screen]
        first = [self._screen] if self._screen in SCREEN_NAMES else []
        items: list[Item] = [item for name in first for item in _keys_of(name)]
        items += [HeadingItem("touch", "Touch"), WordsItem("touch-words", tuple(Sentence(words) for words in TOUCH))]
        items += [HeadingItem("signs", "Signs"), WordsItem("sign-words", _table(SIGNS))]
        items += [item for name in others for item in _keys_of(name)]
        self.body.show(items)
        self.offer(self.action_named("back"), primary="back")


def _keys_of(screen: str) -> list[Item]:
    rows = tuple((key.shown_all, key.does) for key in KEYS[screen])
    return [HeadingItem(screen, f"Keys: {SCREEN_NAMES[screen]}"), WordsItem(f"{screen}-keys", _table(rows))]


def _table(rows: tuple[tuple[str, str], ...]) -> tuple[Sentence, ...]:
    wide = max(len(first) for first, _ in rows) + 2
    return tuple(Sentence(words, lead=first.ljust(wide)) for first, words in rows)
