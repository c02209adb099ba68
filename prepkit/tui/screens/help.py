"""The help sheet, made from the table of keys."""

from typing import TYPE_CHECKING, ClassVar

from textual.binding import BindingType

from prepkit.tui.keys import KEYS, NAMES, bindings_of
from prepkit.tui.screens.base import DeskScreen
from prepkit.tui.widgets.column import HeadingItem, Item, WordsItem
from prepkit.tui.widgets.sentences import Sentence
from prepkit.view.models import Banner, Sign

if TYPE_CHECKING:
    from prepkit.desk.desk import Desk
    from prepkit.desk.opened import OpenPreparation

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


class HelpScreen(DeskScreen[None]):
    """Keys of the screen it was asked for first, then touch and signs, then the other screens' keys."""

    MAP = "help"
    STEPS_SCROLL = True
    BINDINGS: ClassVar[list[BindingType]] = bindings_of(MAP)

    def __init__(self, desk: "Desk", preparation: "OpenPreparation | None", screen: str, banner: Banner | None) -> None:
        super().__init__(desk, preparation)
        self._screen = screen
        self._banner = banner

    def draw(self) -> None:
        """The sheet."""
        self.head(self._banner, "Help")
        others = [name for name in NAMES if name != self._screen]
        first = [self._screen] if self._screen in NAMES else []
        items: list[Item] = [item for name in first for item in _keys_of(name)]
        items += [HeadingItem("touch", "Touch"), WordsItem("touch-words", tuple(Sentence(words) for words in TOUCH))]
        items += [HeadingItem("signs", "Signs"), WordsItem("sign-words", _table(SIGNS))]
        items += [item for name in others for item in _keys_of(name)]
        self.body.show(items)
        self.offer(self.action_named("back"), primary="back")


def _keys_of(screen: str) -> list[Item]:
    rows = tuple((key.shown_all, key.does) for key in KEYS[screen])
    return [HeadingItem(screen, f"Keys: {NAMES[screen]}"), WordsItem(f"{screen}-keys", _table(rows))]


def _table(rows: tuple[tuple[str, str], ...]) -> tuple[Sentence, ...]:
    wide = max(len(first) for first, _ in rows) + 2
    return tuple(Sentence(words, lead=first.ljust(wide)) for first, words in rows)
