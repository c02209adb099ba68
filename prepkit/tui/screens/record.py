"""The record: what is due and missing, what came of it, complications, the timeline, and its signatures."""

from typing import ClassVar

from textual.binding import BindingType

from prepkit.app.open_preparation import OpenPreparation
from prepkit.app.workstation import Workstation
from prepkit.tui.input.keys import bindings_of
from prepkit.tui.prompts.cot import FollowUpWizard, OutcomeWizard, ReadingWizard, SecondSignatureWizard
from prepkit.tui.prompts.prompt import TypedWizard
from prepkit.tui.screens.preparation import PreparationScreen
from prepkit.tui.screens.record_items import (
    COMPLICATIONS,
    ENTRY,
    FOLLOW_UP,
    MISSING,
    OUTCOME,
    READING,
    STEP,
    list_final_items,
    list_items,
)
from prepkit.tui.widgets.column import RowItem
from prepkit.tui.widgets.row import Row, RowText
from prepkit.view.models import Sign
from prepkit.view.record import RecordView
from prepkit.view.routes import ScreenRoute, Stage

THAT_IS_ALL = "That is all"


class ComplicationsScreen(PreparationScreen):
    """A touch chooses one, another takes it back; nothing is recorded before it is kept."""

    ROUTE = ScreenRoute.COMPLICATIONS
    CSS_PATH = "steps.tcss"
    BINDINGS: ClassVar[list[BindingType]] = bindings_of(ROUTE)

    def __init__(self, desk: Workstation, preparation: OpenPreparation) -> None:
        super().__init__(desk, preparation)
        self._chosen_ones = set(preparation.bedside.show_record().said)

    def draw(self) -> None:
        """Each with its sign."""
        view = self.prep.bedside.show_record()
        self.head(view.banner, "Which complications?")
        self.body.show([RowItem(name, self._text(name)) for name in view.complication_choices])
        keep = self.action_named("keep", THAT_IS_ALL if self._chosen_ones else "")
        self.offer(self.action_named("back"), keep, primary="keep")

    def _text(self, name: str) -> RowText:
        is_chosen = name in self._chosen_ones
        return RowText(name, sign=Sign.DONE if is_chosen else Sign.TO_DO, word="yes" if is_chosen else "no")

    def action_choose(self) -> None:
        """Choose the marked one, or take it back; Enter does the same."""
        self.action_open()

    def open_row(self, row: Row) -> None:
        """Choose it, or take it back."""
        self._chosen_ones ^= {row.key}
        self.safely(self.show_now)

    def action_keep(self) -> None:
        """Record what is chosen."""
        if self.do(lambda: self.prep.bedside.say_complications(self._chosen_ones)):
            self.dismiss()


SIGNING = (
    "You sign the record as it is shown here.",
    "The last signature closes it: what comes later is added below it and changes nothing.",
)


class RecordScreen(PreparationScreen):
    """Rows that lead to what is missing; the timeline; signing. An ended preparation is shown with its list."""

    ROUTE = ScreenRoute.RECORD
    CSS_PATH = "record.tcss"
    BINDINGS: ClassVar[list[BindingType]] = bindings_of(ROUTE)

    def __init__(self, desk: Workstation, preparation: OpenPreparation, *, looks_back: bool = False) -> None:
        super().__init__(desk, preparation)
        self._looks_back = looks_back
        self._view: RecordView | None = None

    def show_changes(self) -> None:
        """Show what has changed; one that has ended and is looked at again stays."""
        if self._looks_back:
            self.show_now()
        else:
            super().show_changes()

    def draw(self) -> None:
        """Everything as it stands."""
        view = self._view = self.prep.bedside.show_record()
        self.head(view.banner, "Record", view.progress)
        kept = list_final_items(self.prep.lines.show_list()) if view.ended else []
        at_cot = self.prep.bedside.stage is Stage.COT
        self.body.show([*list_items(view, at_cot=at_cot), *kept])
        primary = self._find_primary(view)
        cot = ["cot"] if self._is_at_cot(view) else []
        rest = [] if self._looks_back else ["onward", "home"]
        names = dict.fromkeys(("back", "more", *cot, *rest, "help", primary))
        actions = [self.action_named(name, self._label(name, view)) for name in names if name != primary]
        self.offer(*actions, self.action_named(primary, self._label(primary, view)), primary=primary)

    def _is_at_cot(self, view: RecordView) -> bool:
        return not view.ended and self.prep.bedside.stage is not Stage.TRAY

    def _find_primary(self, view: RecordView) -> str:
        if view.is_closed:
            return "add"
        if view.ended:
            return "back"
        if not view.sign.refusal:
            return "sign"
        if self.prep.bedside.stage is Stage.COT:
            return "cot"
        return "fill" if self._list_open(view) else "home"

    def _label(self, name: str, view: RecordView) -> str:
        if name != "sign":
            return ""
        return "Second signature" if self.prep.bedside.has_signed else view.sign.label

    # What is missing

    def open_row(self, row: Row) -> None:
        """Enter what is missing, or show the entry."""
        self._open(row.key)

    def action_fill(self) -> None:
        """Enter what is missing first."""
        view = self.prep.bedside.show_record()
        if not view.ended:
            self._open(next(iter(self._list_open(view)), ""))

    def _list_open(self, view: RecordView) -> list[str]:
        """The keys of what can be entered now: what is due first; not what is due later."""
        due = [f"{FOLLOW_UP} {row.follow_up}" for row in view.follow_ups if row.sign is Sign.QUESTION]
        missing = [f"{MISSING} {gap.words}" for gap in view.to_enter if gap.part != FOLLOW_UP]
        return [*due, *missing]

    def _open(self, key: str) -> None:
        kind, _, name = key.partition(" ")
        view = self.prep.bedside.show_record()
        gap = next((each for each in view.to_enter if key == f"{MISSING} {each.words}"), None)
        if gap is not None:
            kind, name = gap.part, gap.of
        if kind == ENTRY:
            self.go(ScreenRoute.ENTRY, name)
        elif kind == FOLLOW_UP:
            self.ask(FollowUpWizard(self.prep, next(row for row in view.follow_ups if row.follow_up == name)))
        elif kind == OUTCOME:
            self.ask(OutcomeWizard(self.prep, view))
        elif kind == COMPLICATIONS:
            self.go(ScreenRoute.COMPLICATIONS)
        elif kind == STEP:
            self.go(ScreenRoute.STEP, name)
        elif kind == READING:
            rows = tuple(row for row in view.readings if row.reading == name)
            self.ask(ReadingWizard(self.prep, "Afterwards", rows))

    # Signing and adding

    def action_sign(self) -> None:
        """Ask whether it is meant, then sign; the second person says who they are."""
        view = self._view
        if view is None or view.ended:
            return
        if view.sign.refusal:
            self.tell("Not signed", view.sign.refusal)
        elif self.prep.bedside.has_signed:
            self.ask(
                SecondSignatureWizard(self.prep, lambda typed, pin: self.prep.bedside.sign(view.standing, typed, pin))
            )
        else:
            words = (f"{self.desk.identity.who}:", *SIGNING)
            self.show_message(f"{view.sign.label}?", words, "Sign",
                              lambda sure: self._sign(view.standing) if sure else None)  # fmt: skip

    def _sign(self, standing: str) -> None:
        self.do(lambda: self.prep.bedside.sign(standing))

    def action_add(self) -> None:
        """Ask for what is to be added to the closed record."""
        if self.prep.bedside.show_record().is_closed:
            words = ("What is to be added? It stands below the record, with your initials and the time.",)
            self.ask(TypedWizard("Add to the record", "Addition", words, self.prep.bedside.add, self.prep))

    # Ways

    def action_back(self) -> None:
        """Go back; from a record that is closed there is nothing to go back to but home."""
        if self.prep.bedside.show_record().ended and not self._looks_back:
            self.go(ScreenRoute.HOME)
        else:
            self.dismiss()

    def action_baby(self) -> None:
        """Show the baby's facts, while something may be done with them."""
        if not self.prep.bedside.show_record().ended:
            super().action_baby()
