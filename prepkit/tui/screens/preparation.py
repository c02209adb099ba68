"""What the screens of one preparation share: moving between them, asking on the pad, standing down."""

from collections.abc import Callable
from typing import Any, Unpack

from prepkit.app.open_preparation import OpenPreparation
from prepkit.app.workstation import Workstation
from prepkit.tui.prompts.cot import ReadingWizard
from prepkit.tui.prompts.doses import DosesWizard
from prepkit.tui.prompts.line import BatchWizard
from prepkit.tui.prompts.person import PersonWizard
from prepkit.tui.prompts.prompt import ReasonWizard, TypedWizard
from prepkit.tui.prompts.start import FactWizard
from prepkit.tui.routes import Given, find_route, go_back, navigate
from prepkit.tui.screens.base import SCAN_TITLE, WorkstationScreen
from prepkit.view.models import EntryQuestion, InputKind, LineView
from prepkit.view.routes import ScreenRoute, Stage

STAND_DOWN_REASONS = (
    "The baby got better",
    "The baby needs another route",
    "Not suitable for this baby",
    "Started by mistake",
)
GONE_BACK_TO = frozenset({ScreenRoute.HOME, ScreenRoute.LIST})
"""Screens that lie under every other one of a preparation."""
AT_THE_COT = "The team is at the cot: complete the record, or come back from the cot to prepare anew."
NOTHING_TO_SCAN = "Nothing was taken. This ward asks for no batch and expiry: there is nothing to scan."
OTHER_NOW = "{} changed by that: look at it again, then tick it."
NOT_NEEDED_REASONS = (
    "Already in place",
    "None to be had now",
    "Not used on this ward",
    "Not for this baby",
    "Another line covers it",
)


class PreparationScreen(WorkstationScreen[None]):
    """A screen of one preparation. Below it lie the list and home, and the cot or the record it was opened from."""

    SHOWS_WHO = True

    def __init__(self, desk: Workstation, preparation: OpenPreparation, subject: str = "") -> None:
        super().__init__(desk, preparation)
        self.prep, self.subject = preparation, subject

    def show_changes(self) -> None:
        """Show what has changed; go home where the preparation has ended on another device."""
        if self.prep.ready.is_stood_down:
            self.app.call_later(self._leave_ended)
        else:
            self.show_now()

    async def _leave_ended(self) -> None:
        """Go home first, then say what happened; once, though each screen on the way may have noticed."""
        if not isinstance(self.app.screen, PreparationScreen):
            return
        words = self.prep.ready.show_ready().missing
        self.go(ScreenRoute.HOME)
        await navigate(self.app, ScreenRoute.MESSAGE, desk=self.desk, title="Stood down", words=words, preparation=None)

    def go(self, route: ScreenRoute, subject: str = "", /, *, then: Callable[[Any], Any] | None = None,
           **given: Unpack[Given]) -> None:  # fmt: skip
        """Go to another screen, or back to it; where it has nothing to show now, to the next best one."""
        if route is ScreenRoute.CHECK and self.prep.check.show_checked().begin.refusal:
            route = ScreenRoute.CHECKED
        if route is ScreenRoute.CHECKED and self.prep.lines.show_list().withheld:
            route = ScreenRoute.LIST
        if route in GONE_BACK_TO or (route is ScreenRoute.COT and self.has_below(route)):
            go_back(self.app, route)
        elif route is ScreenRoute.CHECK:
            super().go(route, then=lambda done: self.go(ScreenRoute.CHECKED) if done else None)
        elif route is not self.ROUTE:
            super().go(route, subject, then=then, **given)

    def ask_fact(self, fact: str) -> None:
        """Ask for one fact about the baby or the team, in the way that its kind is asked for."""
        entry = next((each.entry for each in self.prep.baby.show_baby().facts if each.id == fact), None)
        if entry is InputKind.DOSES:
            self.ask(DosesWizard(self.prep, fact))
        elif entry is InputKind.PERSON:
            self.ask(PersonWizard(self.prep, fact))
        elif entry is not None:
            self.ask(FactWizard(self.prep, fact))

    def ask_readings(self, entry: str) -> None:
        """Ask for the readings of an entry that were not given; nothing where there are none."""
        view = self.prep.bedside.show_entry(entry)
        rows = tuple(row for row in view.readings if not row.value) if view else ()
        if view is not None and rows:
            self.ask(ReadingWizard(self.prep, view.name, rows))

    def action_line(self, line: str) -> None:
        """Open a line."""
        self.go(ScreenRoute.LINE, line)

    def action_baby(self) -> None:
        """Show the baby's facts."""
        self.go(ScreenRoute.BABY)

    def action_suitability(self) -> None:
        """Show whether this route is for this baby."""
        self.go(ScreenRoute.SUITABILITY)

    def action_ready(self) -> None:
        """Show what is missing, or the words to read aloud."""
        self.go(ScreenRoute.READY)

    def action_check(self) -> None:
        """Ask somebody else to check; where nothing is to be checked, show how the check came out."""
        self.go(ScreenRoute.CHECK)

    def action_checked(self) -> None:
        """Show how the second check came out; nothing to show where it withheld the list."""
        self.go(ScreenRoute.CHECKED)

    def action_difference(self, line: str) -> None:
        """Show both workings of a line whose check differs."""
        self.go(ScreenRoute.DIFFERENCE, line)

    def action_labels(self) -> None:
        """Show the syringe labels."""
        self.go(ScreenRoute.LABELS)

    def action_handover(self) -> None:
        """Show what the next person has to know."""
        self.go(ScreenRoute.HANDOVER)

    def action_hand_over(self) -> None:
        """Leave the preparation to the next person, with one line for them."""
        words = ("What does the next person have to know? One line.",)
        self.ask(TypedWizard("Hand over", "Note", words, self.prep.handover.hand_over, self.prep))

    def action_cot(self) -> None:
        """Go to the cot, once the team has gone there."""
        if self.prep.bedside.stage is Stage.TRAY:
            self.tell("Not at the cot", self.prep.bedside.show_cot().refusal)
        else:
            self.go(ScreenRoute.COT)

    def action_record(self) -> None:
        """Show the record."""
        self.go(ScreenRoute.RECORD)

    def action_home(self) -> None:
        """Go home; everything done is kept."""
        self.go(ScreenRoute.HOME)

    def has_below(self, route: ScreenRoute) -> bool:
        """Whether such a screen lies under this one."""
        return any(find_route(each) is route for each in self.app.screen_stack[:-1])

    def action_onward(self) -> None:
        """Go to the list."""
        self.go(ScreenRoute.LIST)

    def action_stand_down(self) -> None:
        """Ask for the reason, then whether it is meant, then end the preparation; at the cot there is no such thing."""
        if self.prep.bedside.stage is not Stage.TRAY:
            self.tell("Not done", AT_THE_COT)
            return
        reasons: list[str] = []

        def take(reason: str) -> str:
            if not reason.strip():
                return "Enter the reason."
            reasons.append(reason)
            return ""

        words = ("Stand down: this preparation ends without going to the cot. Nothing is deleted.", "Why?")
        wizard = ReasonWizard("Stand down", words, STAND_DOWN_REASONS, take, self.prep)
        self.ask(wizard, lambda given: self._confirm_stand_down(reasons[-1]) if given else None)

    def _confirm_stand_down(self, reason: str) -> None:
        words = (f"Reason: {reason}", "The preparation ends here and stays in the record. It cannot be taken up again.")
        self.show_message("Stand down?", words, "Stand down", lambda sure: self._stand_down(reason) if sure else None)

    def _stand_down(self, reason: str) -> None:
        refusal = self.attempt(lambda: self.prep.ready.stand_down(reason))
        if refusal:
            self.tell("Not done", refusal)
        else:
            self.go(ScreenRoute.HOME)

    def action_scan(self, text: str) -> None:
        """Say where scanning is done, or that this ward asks for nothing that could be scanned."""
        if self.is_covered or self.ROUTE is ScreenRoute.COVER or self.prep.batches.is_asked:
            super().action_scan(text)
        else:
            self.tell(SCAN_TITLE, NOTHING_TO_SCAN)

    def tick(self, line: str, after: Callable[[], None] | None = None) -> None:
        """Tick a line or un-tick it; a fact that it hangs on and what is in the hand are asked for first."""
        view = self.prep.lines.show_line(line)
        if view is not None and view.asks and not view.is_ticked:
            self.ask(FactWizard(self.prep, view.asks), lambda _: self._tick_told(view, after))
        elif view is not None and view.enters is not None and not view.is_ticked:
            self._ask_entry(view, view.enters, after)
        elif view is not None and view.waits_for_hand:
            self.ask(BatchWizard(self.prep, line), lambda given: self._tick_given(line, after) if given else None)
        elif self.do(lambda: self.prep.lines.tick(line)) and view is not None and not view.is_ticked and after:
            after()

    def _ask_entry(self, view: LineView, question: EntryQuestion, after: Callable[[], None] | None) -> None:
        """Ask for what the ward never set; the line is ticked with it."""
        line, words = view.row.id, (f"{view.row.name}: {question.ask}",)
        wizard = TypedWizard("Enter and tick", question.label, words, lambda typed: self.prep.lines.tick(line, typed),
                             self.prep, unit=question.unit)  # fmt: skip
        self.ask(wizard, lambda given: after() if given and after else None)

    def _tick_told(self, seen: LineView, after: Callable[[], None] | None) -> None:
        """Tick what was waiting for a fact; not where it has become another line by it, or nobody gave the fact."""
        view = self.prep.lines.show_line(seen.row.id)
        if view is not None and view.asks:
            return
        if view is not None and view.fingerprint == seen.fingerprint:
            self.tick(seen.row.id, after)
        else:
            self.safely(self.show_now)  # the message takes its banner from here
            self.tell("Look again", OTHER_NOW.format(seen.row.name))

    def _tick_given(self, line: str, after: Callable[[], None] | None) -> None:
        """Tick what was waiting for its batch and expiry, unless another device has done so."""
        view = self.prep.lines.show_line(line)
        if view is not None and not view.is_ticked and self.do(lambda: self.prep.lines.tick(line)) and after:
            after()

    def put_aside(self, line: str) -> None:
        """Mark a line as not needed after asking why, or take that back."""
        view = self.prep.lines.show_line(line)
        if view is None:
            self.safely(self.show_now)
        elif view.is_set_aside:
            self.do(lambda: self.prep.lines.restore(line))
        elif view.set_aside.refusal:
            self.tell("Not done", view.set_aside.refusal)
        else:
            words = (f"{view.row.name}: why is it not needed?",)
            self.ask(ReasonWizard("Not needed", words, NOT_NEEDED_REASONS,
                                lambda reason: self.prep.lines.set_aside(line, reason), self.prep))  # fmt: skip
