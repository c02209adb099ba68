"""The baby: the facts a kit asks for; touch one to give it."""

from typing import ClassVar

from textual.binding import BindingType

from prepkit.tui.input.keys import bindings_of
from prepkit.tui.prompts.start import FactWizard
from prepkit.tui.screens.preparation import PreparationScreen
from prepkit.tui.widgets.column import Item, RowItem, WordsItem
from prepkit.tui.widgets.picture import PictureItem
from prepkit.tui.widgets.row import Row, RowText
from prepkit.tui.widgets.text import Sentence
from prepkit.view.models import BabyView, FactRow, InputKind, Sign
from prepkit.view.routes import ScreenRoute

ASSUMED = "all assumed"


class BabyScreen(PreparationScreen):
    """One row a fact."""

    ROUTE = ScreenRoute.BABY
    CSS_PATH = "baby.tcss"
    BINDINGS: ClassVar[list[BindingType]] = bindings_of(ROUTE)

    def draw(self) -> None:
        """The facts, and the question about the weight where there is one."""
        view = self.prep.baby.show_baby()
        self.head(view.banner, "Baby")
        self.body.show(_items(view))
        self.offer(
            self.action_named("back"),
            self.action_named("more"),
            self.action_named("suitability"),
            self.action_named("onward", view.next_label),
            primary="onward",
        )

    def open_row(self, row: Row) -> None:
        """Ask for the fact, or confirm the defaults."""
        if row.key == ASSUMED:
            self.action_confirm()
        else:
            self.ask_fact(row.key)

    def action_confirm(self) -> None:
        """Confirm every default as shown."""
        if self.prep.baby.show_baby().assumed_offer:
            self.do(self.prep.baby.confirm_facts)

    def action_onward(self) -> None:
        """Give what the list still needs; where it needs nothing, go to it."""
        view = self.prep.baby.show_baby()
        if view.weight_question is None and view.next_fact is None:
            self.go(ScreenRoute.LIST)
        else:
            self.ask(FactWizard(self.prep))


def _items(view: BabyView) -> list[Item]:
    question = view.weight_question.words if view.weight_question else ()
    said = [WordsItem("question", tuple(Sentence(words, "$ask", lead="? ") for words in question))] if question else []
    computed = [WordsItem("computed", (Sentence(" · ".join(view.computed)),), "computed")] if view.computed else []
    offer = [RowItem(ASSUMED, RowText(view.assumed_offer, sign=Sign.TO_DO), "offer")] if view.assumed_offer else []
    pictures: list[Item] = [PictureItem(f"picture {at}", picture) for at, picture in enumerate(view.pictures)]
    facts: list[Item] = [*computed, *(RowItem(fact.id, _text(fact)) for fact in view.facts), *offer]
    is_first = view.weight_question is not None and view.weight_question.withholds
    return [*said, *pictures, *facts] if is_first else [*said, *facts, *pictures]


def _text(fact: FactRow) -> RowText:
    """A fact's row; of doses given before each has a line of its own."""
    is_doses = fact.entry is InputKind.DOSES
    return RowText(fact.label, fact.value.replace("; ", "\n") if is_doses else fact.value, (), fact.sign, "", fact.note)
