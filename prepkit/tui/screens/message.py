"""A message: what was refused and why, or a question before something that cannot be taken back."""

from typing import TYPE_CHECKING, ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Vertical

from prepkit.errors import PrepkitError
from prepkit.tui.keys import bindings_of
from prepkit.tui.screens.covered import NEWS_EVERY, CoveredScreen
from prepkit.tui.touch import TouchScroll
from prepkit.tui.widgets.banner import BannerBar
from prepkit.tui.widgets.button import Band, Button
from prepkit.tui.widgets.sentences import Sentence, Sentences
from prepkit.view.models import Banner

if TYPE_CHECKING:
    from prepkit.desk.opened import OpenPreparation


class MessageScreen(CoveredScreen[bool]):
    """Words and one button, or two where something is to be confirmed; True when confirmed."""

    CSS_PATH = "message.tcss"
    AUTO_FOCUS = ""
    BINDINGS: ClassVar[list[BindingType]] = bindings_of("message")

    def __init__(
        self,
        title: str,
        words: tuple[str, ...],
        preparation: "OpenPreparation | None",
        *,
        confirm: str = "",
        banner: Banner | None = None,
    ) -> None:
        super().__init__()
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
            with Band(id="answers"):
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
            if self.preparation.desk.has_news() and self.preparation.refresh():
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
