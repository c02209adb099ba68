"""Ready: what is missing, or the words to read aloud before the team goes to the cot."""

from typing import ClassVar

from textual.binding import BindingType

from prepkit.tui.input.keys import bindings_of
from prepkit.tui.screens.preparation import PreparationScreen
from prepkit.tui.widgets.button import Action
from prepkit.tui.widgets.column import Item, RowItem, WordsItem
from prepkit.tui.widgets.picture import PictureItem
from prepkit.tui.widgets.row import Row, RowText
from prepkit.tui.widgets.text import Sentence
from prepkit.view.models import ReadyView
from prepkit.view.routes import ScreenRoute, Stage, Target

MISSING = "missing"


class ReadyScreen(PreparationScreen):
    """The gate."""

    ROUTE = ScreenRoute.READY
    MARKS_BACK = True
    CSS_PATH = "ready.tcss"
    BINDINGS: ClassVar[list[BindingType]] = bindings_of(ROUTE)

    def draw(self) -> None:
        """What is missing, or the summary."""
        view = self.prep.ready.show_ready()
        self._targets = {f"{MISSING} {at}": lead for at, lead in enumerate(view.targets)}
        self.head(view.banner, "Ready")
        self.body.show(_items(view))
        aloud = [self.action_named("read_aloud")] if view.is_open and not view.said else []
        gone = self._list_after() if view.said else []
        check = [] if view.is_open or self.prep.check.show_checked().begin.refusal else [self.action_named("check")]
        first = view.targets[0] if view.targets else Target(ScreenRoute.LIST)
        is_check_first = bool(check) and first.route is ScreenRoute.CHECK
        last = aloud or gone
        primary = last[-1].name if last else "check" if is_check_first else "onward"
        onward = [] if aloud else [self.action_named("onward")]
        stand_down = [] if view.said else [self.action_named("stand_down")]
        self.offer(self.action_named("back"), self.action_named("more"), *onward, *check, *stand_down, *last,
                   primary=primary)  # fmt: skip

    def _list_after(self) -> list[Action]:
        """What follows once it was read aloud: home, and the cot where the kit says something of it."""
        names = ["home"] if self.prep.bedside.stage is Stage.TRAY else ["home", "cot"]
        return [self.action_named(name) for name in names]

    def open_row(self, row: Row) -> None:
        """Go to what is missing."""
        target = self._targets[row.key]
        if target.fact:
            self.ask_fact(target.fact)
        else:
            self.go(target.route, target.line)

    def action_read_aloud(self) -> None:
        """Record that it was read aloud."""
        if self.prep.ready.show_ready().is_open:
            self.do(self.prep.ready.read_aloud)


def _items(view: ReadyView) -> list[Item]:
    title = WordsItem("title", (Sentence(view.title, "bold $amount"),), "verdict")
    if not view.is_open:
        missing = [RowItem(f"{MISSING} {at}", RowText(words, sign="○")) for at, words in enumerate(view.missing)]
        pictures = [PictureItem(f"picture {at}", picture) for at, picture in enumerate(view.pictures)]
        return [title, *missing, *pictures]
    aloud = tuple(sentence for words in view.summary for sentence in (Sentence(words, "bold $ink"), Sentence("")))
    said = [WordsItem("said", (Sentence(view.said, "bold $done", lead="✓ "),))] if view.said else []
    return [title, *said, WordsItem("summary", aloud, "summary")]
