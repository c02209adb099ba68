"""The cover: what stands in the place of every screen of a preparation while somebody checks it."""

from typing import TYPE_CHECKING, ClassVar

from textual.binding import BindingType

from prepkit.tui.keys import bindings_of
from prepkit.tui.screens.check_pad import CheckPadScreen
from prepkit.tui.screens.checked import CheckedScreen
from prepkit.tui.screens.preparation import PreparationScreen
from prepkit.tui.signing import StopAsks
from prepkit.tui.widgets.column import WordsItem
from prepkit.tui.widgets.sentences import Sentence

if TYPE_CHECKING:
    from prepkit.desk.desk import Desk
    from prepkit.desk.opened import OpenPreparation

STOP = (
    "What was entered so far does not count. The list is shown again, on every device.",
    "Whoever stops their own check has seen the list then, and cannot check it any more.",
)


class CoverScreen(PreparationScreen):
    """That somebody checks, and nothing of the list; closes by itself when the check ends."""

    MAP = "cover"
    SHOWS_WHO = False
    CSS_PATH = "cover.tcss"
    BINDINGS: ClassVar[list[BindingType]] = bindings_of(MAP)

    def __init__(self, desk: "Desk", preparation: "OpenPreparation") -> None:
        super().__init__(desk, preparation)
        self.preparation = None  # Nothing of it is shown here: the cover itself is not covered.
        self._has_checked = False

    def take_in(self) -> None:
        """Look whether the check has ended."""
        self.prep.refresh()
        super().take_in()

    def draw(self) -> None:
        """Who checks since when, and what may be done."""
        view = self.prep.checks.show_cover()
        if view is None:
            self.app.call_later(self._lift)
            return
        self.head(view.banner, "Second check")
        first, *others = view.words
        words = (Sentence(first, "bold $ink"), Sentence(""), *(Sentence(words) for words in others))
        self.body.show([WordsItem("cover", words, "cover")])
        actions = (self.action_named(name) for name in ("home", "stop_check", "help", "go_on"))
        self.offer(*actions, primary="go_on")

    async def _lift(self) -> None:
        """Show what was under the cover; after a check made here, how it came out."""
        if not self.is_on_top or self.prep.checks.show_cover() is not None:
            return
        below = self.app.screen_stack[-2]
        if not self._has_checked or not isinstance(below, PreparationScreen):
            await self.app.pop_screen()
            return
        self.go_back_to("list")
        if not self.prep.show_list().withheld:
            await self.app.push_screen(CheckedScreen(self.desk, self.prep))

    def action_go_on(self) -> None:
        """Ask who checks, then go on where they were."""
        self._has_checked = True
        self.app.push_screen(CheckPadScreen(self.desk, self.prep))

    def action_stop_check(self) -> None:
        """Ask whether it is meant, then by whom, then stop the check."""
        self.show_message("Stop the check?", STOP, "Stop the check", lambda sure: self._stop() if sure else None)

    def _stop(self) -> None:
        """Ask who stops it: whoever stops their own check has seen the list then."""
        self._has_checked = False
        self.ask(StopAsks(self.prep))

    def action_home(self) -> None:
        """Go home; the check stays open."""
        self.go_back_to("home")

    def action_back(self) -> None:
        """Go home too: what lies under the cover stays out of sight."""
        self.action_home()
