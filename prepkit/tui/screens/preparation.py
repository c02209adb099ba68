"""What the screens of one preparation share: moving between them, asking on the pad, standing down."""

from typing import TYPE_CHECKING

from prepkit.tui.prompts.line import BatchWizard
from prepkit.tui.prompts.prompt import Wizard
from prepkit.tui.prompts.start import ReasonWizard, TextWizard
from prepkit.tui.screens.base import SCAN_TITLE, WorkstationScreen
from prepkit.tui.screens.overlays import MessageScreen
from prepkit.tui.screens.pad import PadScreen
from prepkit.view.cot_models import Stage
from prepkit.view.models import Destination, Target

if TYPE_CHECKING:
    from collections.abc import Callable

    from prepkit.app.session import PreparationSession
    from prepkit.app.workstation import Workstation

STAND_DOWN_REASONS = (
    "The baby got better",
    "The baby needs another route",
    "Not suitable for this baby",
    "Started by mistake",
)
AT_THE_COT = "The team is at the cot: complete the record, or come back from the cot to prepare anew."
NOTHING_TO_SCAN = "Nothing was taken. This ward asks for no batch and expiry: there is nothing to scan."
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

    def __init__(self, desk: "Workstation", preparation: "PreparationSession", subject: str = "") -> None:
        super().__init__(desk, preparation)
        self.prep = preparation
        self.subject = subject
        """What of the preparation is shown, where that is one thing: the id of a line, a step or an entry."""

    def show_changes(self) -> None:
        """Show what has changed; go home where the preparation has ended on another device."""
        if self.prep.is_stood_down:
            self.app.call_later(self._leave_ended)
        else:
            self.show_now()

    async def _leave_ended(self) -> None:
        """Go home first, then say what happened; once, though each screen on the way may have noticed."""
        if not isinstance(self.app.screen, PreparationScreen):
            return
        words = self.prep.show_ready().missing
        self.go_back_to("home")
        await self.app.push_screen(MessageScreen("Stood down", words, None))

    def go(self, screen: WorkstationScreen[None]) -> None:
        """Show another screen of the preparation; Back leads from it to the list, the cot or the record."""
        if self.MAP in {"list", "cot", "record"}:
            self.app.push_screen(screen)
        else:
            self.app.switch_screen(screen)

    def go_back_to(self, screen: str) -> None:
        """Close what lies over the list or over home, all at once: none of it comes to light in between."""
        stack = self.app.screen_stack
        below = next((each for each in stack if isinstance(each, WorkstationScreen) and screen == each.MAP), None)
        while below is not None and self.app.screen is not below:
            self.app.pop_screen()

    def ask(self, wizard: Wizard, after: "Callable[[bool | None], None] | None" = None) -> None:
        """Put questions on the pad."""
        self.app.push_screen(PadScreen(self.desk, wizard), after)

    def follow(self, target: Target) -> None:
        """Go where a touched sentence leads."""
        if target.destination is Destination.LINE:
            self.action_line(target.line)
        elif target.destination is Destination.LIST:
            self.go_back_to("list")
        elif target.destination is Destination.DIFFERENCE:
            self.action_difference(target.line)
        elif target.destination is Destination.CHECK:
            self.action_check()
        elif target.destination is Destination.HANDOVER:
            self.action_handover()
        elif target.destination is Destination.BABY:
            self.action_baby()
        else:
            self.action_suitability()

    def action_line(self, line: str) -> None:
        """Open a line."""
        from prepkit.tui.screens.line import LineScreen  # noqa: PLC0415 (the screens lead to each other)

        self.go(LineScreen(self.desk, self.prep, line))

    def action_baby(self) -> None:
        """Show the baby's facts; nothing where they are shown already, or covered."""
        from prepkit.tui.screens.baby import BabyScreen  # noqa: PLC0415 (the screens lead to each other)

        if self.MAP not in {"baby", "cover"}:
            self.go(BabyScreen(self.desk, self.prep))

    def action_suitability(self) -> None:
        """Show whether this route is for this baby."""
        from prepkit.tui.screens.suitability import SuitabilityScreen  # noqa: PLC0415 (the screens lead to each other)

        self.go(SuitabilityScreen(self.desk, self.prep))

    def action_ready(self) -> None:
        """Show what is missing, or the words to read aloud."""
        from prepkit.tui.screens.ready import ReadyScreen  # noqa: PLC0415 (the screens lead to each other)

        self.go(ReadyScreen(self.desk, self.prep))

    def action_check(self) -> None:
        """Ask somebody else to check; where nothing is to be checked, show how the check came out."""
        from prepkit.tui.screens.check import CheckPadScreen  # noqa: PLC0415 (the screens lead to each other)

        if self.prep.checks.show_checked().begin.refusal:
            self.action_checked()
        else:
            self.app.push_screen(
                CheckPadScreen(self.desk, self.prep), lambda done: self.action_checked() if done else None
            )

    def action_checked(self) -> None:
        """Show how the second check came out; nothing to show where it withheld the list."""
        from prepkit.tui.screens.check import CheckedScreen  # noqa: PLC0415 (the screens lead to each other)

        if self.prep.show_list().withheld:
            self.go_back_to("list")
        elif self.MAP != "checked":
            self.go(CheckedScreen(self.desk, self.prep))

    def action_difference(self, line: str) -> None:
        """Show both workings of a line whose check differs."""
        from prepkit.tui.screens.check import DifferenceScreen  # noqa: PLC0415 (the screens lead to each other)

        self.go(DifferenceScreen(self.desk, self.prep, line))

    def action_labels(self) -> None:
        """Show the syringe labels."""
        from prepkit.tui.screens.labels import LabelsScreen  # noqa: PLC0415 (the screens lead to each other)

        self.go(LabelsScreen(self.desk, self.prep))

    def action_handover(self) -> None:
        """Show what the next person has to know."""
        from prepkit.tui.screens.handover import HandoverScreen  # noqa: PLC0415 (the screens lead to each other)

        self.go(HandoverScreen(self.desk, self.prep))

    def action_hand_over(self) -> None:
        """Leave the preparation to the next person, with one line for them."""
        words = ("What does the next person have to know? One line.",)
        self.ask(TextWizard("Hand over", "Note", words, self.prep.handover.hand_over, self.prep))

    def action_cot(self) -> None:
        """Go to the cot, once the team has gone there."""
        from prepkit.tui.screens.cot import CotScreen  # noqa: PLC0415 (the screens lead to each other)

        stage = self.prep.cot.stage
        if stage is Stage.TRAY:
            self.tell("Not at the cot", self.prep.cot.show_cot().refusal)
        elif self.has_below("cot"):
            self.go_back_to("cot")
        elif self.MAP == "list":
            self.app.push_screen(CotScreen(self.desk, self.prep))
        else:
            self.app.switch_screen(CotScreen(self.desk, self.prep))

    def action_record(self) -> None:
        """Show the record."""
        from prepkit.tui.screens.record import RecordScreen  # noqa: PLC0415 (the screens lead to each other)

        self.go(RecordScreen(self.desk, self.prep))

    def action_home(self) -> None:
        """Go home; everything done is kept."""
        self.go_back_to("home")

    def has_below(self, screen: str) -> bool:
        """Whether such a screen lies under this one."""
        return any(isinstance(each, WorkstationScreen) and screen == each.MAP for each in self.app.screen_stack[:-1])

    def action_onward(self) -> None:
        """Go to the list."""
        self.go_back_to("list")

    def action_stand_down(self) -> None:
        """Ask for the reason, then whether it is meant, then end the preparation; at the cot there is no such thing."""
        if self.prep.cot.stage is not Stage.TRAY:
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
        refusal = self.attempt(lambda: self.prep.stand_down(reason))
        if refusal:
            self.tell("Not done", refusal)
        else:
            self.go_back_to("home")

    def action_scan(self, text: str) -> None:
        """Say where scanning is done, or that this ward asks for nothing that could be scanned."""
        if self.is_covered or self.MAP == "cover" or self.prep.in_hand.is_asked:
            super().action_scan(text)
        else:
            self.tell(SCAN_TITLE, NOTHING_TO_SCAN)

    def tick(self, line: str, after: "Callable[[], None] | None" = None) -> None:
        """Tick a line or un-tick it; what is in the hand is asked for first, where the ward wants it."""
        view = self.prep.show_line(line)
        if view is not None and view.waits_for_hand:
            self.ask(BatchWizard(self.prep, line), lambda given: self._tick_given(line, after) if given else None)
        elif self.do(lambda: self.prep.tick(line)) and view is not None and not view.is_ticked and after:
            after()

    def _tick_given(self, line: str, after: "Callable[[], None] | None") -> None:
        """Tick what was waiting for its batch and expiry, unless another device has done so."""
        view = self.prep.show_line(line)
        if view is not None and not view.is_ticked and self.do(lambda: self.prep.tick(line)) and after:
            after()

    def put_aside(self, line: str) -> None:
        """Mark a line as not needed after asking why, or take that back."""
        view = self.prep.show_line(line)
        if view is None:
            self.safely(self.show_now)
        elif view.is_set_aside:
            self.do(lambda: self.prep.restore(line))
        elif view.set_aside.refusal:
            self.tell("Not done", view.set_aside.refusal)
        else:
            words = (f"{view.row.name}: why is it not needed?",)
            self.ask(ReasonWizard("Not needed", words, NOT_NEEDED_REASONS,
                                lambda reason: self.prep.set_aside(line, reason), self.prep))  # fmt: skip
