"""Suitability: the reasons against the route, what was said and done, the verdict and what the facts show."""

from typing import ClassVar

from textual.binding import BindingType

from prepkit.tui.input.keys import bindings_of
from prepkit.tui.prompts.start import SeniorAgreementWizard
from prepkit.tui.screens.preparation import PreparationScreen
from prepkit.tui.themes import SIGN_INKS
from prepkit.tui.widgets.column import HeadingItem, Item, RowItem, WordsItem
from prepkit.tui.widgets.row import Row, RowText
from prepkit.tui.widgets.text import Sentence
from prepkit.view.models import CriterionRow, SuitabilityView
from prepkit.view.routes import ScreenRoute

AGAINST, SAID = "against", "said"
MARK_A_REASON = "Mark a reason first: move to it with the arrow keys, or touch it."


class SuitabilityScreen(PreparationScreen):
    """A touch says that a reason applies, another takes it back; one button answers all that are open."""

    ROUTE = ScreenRoute.SUITABILITY
    CSS_PATH = "suitability.tcss"
    BINDINGS: ClassVar[list[BindingType]] = bindings_of(ROUTE)

    def draw(self) -> None:
        """The page first: it is what a person has to do here; the title has the verdict."""
        view = self.prep.baby.show_suitability()
        self.head(view.banner, "Suitability", view.verdict)
        self.body.show(_items(view))
        none = [self.action_named("none_of_others", view.none_offer)] if view.none_offer else []
        agree = [self.action_named("agree")] if view.senior_wanted else []
        primary = "none_of_others" if none else "agree" if agree else "onward"
        self.offer(
            self.action_named("back"),
            self.action_named("more"),
            *(self.action_named(name) for name in ("onward", "unsure", "baby", "stand_down", "help")),
            *agree,
            *none,
            primary=primary,
        )

    def open_row(self, row: Row) -> None:
        """Say that it applies or is done, or take that back."""
        self.do(lambda: self.prep.baby.touch(_criterion_of(row)))

    def action_choose(self) -> None:
        """Do what a touch on the marked row does; Enter does the same."""
        self.action_open()

    def action_none_of_others(self) -> None:
        """Say of each open reason that it does not apply."""
        if self.prep.baby.show_suitability().none_offer:
            self.do(self.prep.baby.answer_others)

    def action_unsure(self) -> None:
        """Say that nobody is sure about the marked reason: a senior has to agree then."""
        marked = self.focused
        if isinstance(marked, Row) and marked.key.startswith(AGAINST):
            self.do(lambda: self.prep.baby.answer(_criterion_of(marked), "unsure"))
        else:
            self.tell("Not sure", MARK_A_REASON)

    def action_agree(self) -> None:
        """Record a senior's agreement."""
        if self.prep.baby.show_suitability().senior_wanted:
            self.ask(SeniorAgreementWizard(self.prep))


def _criterion_of(row: Row) -> str:
    return row.key.partition(" ")[2]


def _items(view: SuitabilityView) -> list[Item]:
    ink = SIGN_INKS.get(view.sign, "$ink")
    verdict = WordsItem("verdict", (Sentence(view.verdict, f"bold {ink}", lead=f"{view.sign} "),
                                    *(Sentence(words) for words in view.words)), "verdict")  # fmt: skip
    facts = [WordsItem(f"fact {row.id}", _sentences(row), "criterion") for row in view.facts]
    sources = tuple(Sentence(f"{row.text}: {row.source}", "$pale") for row in (*view.against, *view.said))
    where_from: list[Item] = [HeadingItem("sources", "Where these come from"), WordsItem("sources of these", sources)]
    return [
        *_rows(AGAINST, "Any of these?", view.progress, view.against),
        *_rows(SAID, "Said and done?", "", view.said),
        verdict,
        *facts,
        *(where_from if sources else []),
    ]


def _rows(kind: str, heading: str, progress: str, rows: tuple[CriterionRow, ...]) -> list[Item]:
    if not rows:
        return []
    # Low rows: every reason is in sight beside the button that answers for all of them.
    items: list[Item] = [
        RowItem(f"{kind} {row.id}", RowText(row.text, sign=row.sign, word=row.word, is_low=True)) for row in rows
    ]
    return [HeadingItem(kind, heading, progress), *items]


def _sentences(row: CriterionRow) -> tuple[Sentence, ...]:
    ink = SIGN_INKS.get(row.sign, "$ink")
    word = Sentence(row.word, f"bold {ink}", lead=f"{row.sign} ")
    source = (Sentence(row.source, "$pale", lead="  "),) if row.source else ()
    return (Sentence(row.text), word, *source)
