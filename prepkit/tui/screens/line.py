"""One line opened: amount, working, cautions and source, to tick or to set aside."""

from typing import ClassVar

from textual.binding import BindingType

from prepkit.app.open_preparation import OpenPreparation
from prepkit.app.workstation import Workstation
from prepkit.tui.input.keys import bindings_of
from prepkit.tui.prompts.line import BatchWizard, OrderWizard
from prepkit.tui.screens.preparation import PreparationScreen
from prepkit.tui.widgets.button import Action
from prepkit.tui.widgets.column import HeadingItem, Item, WordsItem
from prepkit.tui.widgets.line_details import line_items
from prepkit.tui.widgets.row import Row
from prepkit.tui.widgets.text import Sentence
from prepkit.view.batches import InHandRow, InHandView
from prepkit.view.models import Sign
from prepkit.view.routes import ScreenRoute

PUT_BACK = (
    "Everything in hand for this line is put back, and the line is un-ticked.",
    "What is used instead is scanned or typed anew.",
)


class LineScreen(PreparationScreen):
    """A tick leads back to the list; everything else stays here."""

    ROUTE = ScreenRoute.LINE
    MARKS_BACK = True
    STEPS_SCROLL = True
    CSS_PATH = "line.tcss"
    BINDINGS: ClassVar[list[BindingType]] = bindings_of(ROUTE)

    def __init__(self, desk: Workstation, preparation: OpenPreparation, subject: str = "") -> None:
        super().__init__(desk, preparation, subject)
        self._has_all_cautions = False

    def draw(self) -> None:
        """The line as it stands."""
        view = self.prep.lines.show_line(self.subject)
        if view is None:
            self.call_later(self._close)
            return
        refusals = dict.fromkeys(offer.refusal for offer in (view.tick, view.set_aside) if offer.refusal)
        why = [WordsItem("why", tuple(Sentence(words, "$ask") for words in refusals), "why")] if refusals else []
        self.head(view.banner, view.row.name, view.row.word)
        hand = self.prep.batches.show(self.subject)
        self.body.show([*line_items(view, _hand_items(hand), has_all=self._has_all_cautions)[1:], *why])
        aside = [] if view.set_aside.refusal else [self.action_named("not_needed", view.set_aside.label)]
        may_tick = view.waits_for_hand or not view.tick.refusal
        tick = [self.action_named("tick", view.tick.label)] if may_tick else []
        order = [self.action_named("order", view.order.label)] if view.order else []
        both = [self.action_named("both")] if self._has_difference() else []
        correct = [self.action_named("correct")] if view.contradicts else []
        primary = "correct" if correct else "tick" if tick else "not_needed" if aside else "order" if order else "back"
        last = [*tick, *correct] if correct else tick
        self.offer(self.action_named("back"), self.action_named("more"), *both, *order, *aside, *self._offer_hand(hand),
                   *last, primary=primary)  # fmt: skip

    def action_cautions(self) -> None:
        """Show the cautions that are not read at once; they stay while the line is open."""
        self._has_all_cautions = True
        self.safely(self.show_now)

    def open_row(self, row: Row) -> None:  # noqa: ARG002  (the one row that a line has)
        """Show the rest of the cautions: the one row that there is."""
        self.action_cautions()

    def _close(self) -> None:
        """Go to the list; a message over this screen is read first."""
        if self.is_on_top:
            self.action_onward()

    def _offer_hand(self, hand: InHandView | None) -> list[Action]:
        if hand is None:
            return []
        put_back = [] if hand.put_back.refusal else [self.action_named("put_back", hand.put_back.label)]
        return [self.action_named("in_hand", "In hand: add" if hand.rows else "In hand"), *put_back]

    def _has_difference(self) -> bool:
        rows = self.prep.check.show_checked().rows
        return any(row.line == self.subject and row.their_working and not row.settle.refusal for row in rows)

    def action_both(self) -> None:
        """Show the two workings of a line whose check differs."""
        if self._has_difference():
            self.action_difference(self.subject)

    def action_tick(self) -> None:
        """Tick the line and go back to the list; un-ticking stays here."""
        self.tick(self.subject, self.action_back)

    def action_correct(self) -> None:
        """Ask for the fact that says otherwise than the tick; where none does, there is nothing to correct."""
        view = self.prep.lines.show_line(self.subject)
        if view is not None and view.contradicts:
            self.ask_fact(view.contradicts)

    def action_in_hand(self) -> None:
        """Ask for batch and expiry of one container; the first one ticks the line where it is not ticked yet."""
        view, hand = self.prep.lines.show_line(self.subject), self.prep.batches.show(self.subject)
        if view is not None and view.waits_for_hand:
            self.tick(self.subject)
        elif hand is not None:
            self.ask(BatchWizard(self.prep, self.subject))

    def action_scan(self, text: str) -> None:
        """Take a container in hand for this line; the tick is still a hand's."""
        if self.is_covered or self.prep.batches.show(self.subject) is None:
            super().action_scan(text)
        elif refusal := self.attempt(lambda: self.prep.batches.scan(self.subject, text)):
            self.tell("Not in hand", refusal)
        else:
            self.safely(self.show_now)

    def action_put_back(self) -> None:
        """Ask whether it is meant, then take back everything in hand for the line, and its tick."""
        hand = self.prep.batches.show(self.subject)
        if hand is not None and not hand.put_back.refusal:
            self.show_message("Put back?", PUT_BACK, "Put back", lambda sure: self._put_back() if sure else None)

    def _put_back(self) -> None:
        self.do(lambda: self.prep.batches.put_back(self.subject))

    def action_order(self) -> None:
        """Ask what was ordered and by whom; a line that is no dose has nothing to ask."""
        view = self.prep.lines.show_options(self.subject)
        if view is None:
            return
        if view.choices:
            self.ask(OrderWizard(self.prep, self.subject))
        else:
            self.tell("Nothing to order", " ".join((view.now, *view.not_offered)))

    def action_not_needed(self) -> None:
        """Mark it as not needed after asking why, or take that back."""
        self.put_aside(self.subject)


def _hand_items(hand: InHandView | None) -> list[Item]:
    """What is in hand: batch, expiry and who gave it."""
    if hand is None:
        return []
    given = tuple(sentence for row in hand.rows for sentence in _say_held(row))
    ask = () if hand.rows else (Sentence(hand.ask, "$ask", lead=f"{Sign.TO_DO} "),)
    return [HeadingItem("hand", f"In hand: {hand.name}"), WordsItem("hand words", (*ask, *given))]


def _say_held(row: InHandRow) -> tuple[Sentence, ...]:
    note = (Sentence(row.note, "$ask", lead=f"{Sign.CHANGED} "),) if row.note else ()
    return (Sentence(row.show, "bold $ink", lead=f"{Sign.DONE} "), Sentence(row.word, "$pale", lead="  "), *note)
