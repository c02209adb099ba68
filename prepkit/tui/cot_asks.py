"""Questions at the cot and afterwards: readings, a follow-up, a corrected time, how it went, a second signature.

May import: the desk and the view-models.
"""

from typing import TYPE_CHECKING

from prepkit.tui.ask import Ask, WayOut
from prepkit.tui.asks import ReasonAsks
from prepkit.tui.signing import Sign, Signing
from prepkit.view.models import Banner, Entry

if TYPE_CHECKING:
    from prepkit.desk.opened import OpenPreparation
    from prepkit.view.cot_models import EntryView, FollowUpRow, ReadingRow, RecordView

LATER = "Later"
NOT_MADE = "Not made"
NOT_MADE_REASONS = ("Gone to another ward", "In theatre or away", "Nobody was free", "The baby was intubated")
SECOND = ("The second person reads the record and signs it here.", "Who signs? Enter your initials.")


class CotAsks:
    """What all questions at the cot share."""

    title = ""

    def __init__(self, preparation: "OpenPreparation") -> None:
        self.preparation = preparation
        self._is_over = False

    def banner(self) -> Banner:
        """Show the preparation's banner."""
        return self.preparation.cot.show_cot().banner

    def _end(self) -> None:
        self._is_over = True

    def _end_with(self, refusal: str) -> str:
        self._is_over = not refusal
        return refusal


class ReadingAsks(CotAsks):
    """The readings of one entry, one after the other; "Later" leaves the rest, and Esc does.

    Each is kept as soon as it is given: there is nothing to go back to in the pad.
    """

    def __init__(self, preparation: "OpenPreparation", title: str, rows: tuple["ReadingRow", ...]) -> None:
        super().__init__(preparation)
        self.title = title
        self._rows = rows
        self._given: set[str] = set()

    def next_ask(self) -> Ask | None:
        """The first reading not given yet."""
        row = next((row for row in self._rows if row.reading not in self._given), None)
        return None if row is None or self._is_over else self._ask(row)

    def _ask(self, row: "ReadingRow") -> Ask:
        return Ask(
            label=row.label,
            words=(self.title, row.ask, *((f"Now: {row.value}",) if row.value else ())),
            entry=row.entry,
            accept=lambda typed: self._give(row, typed),
            unit=row.unit,
            typed=row.value if row.choices else "",
            choices=row.choices,
            final=True,
            way_out=self._way_out(),
        )

    def _way_out(self) -> WayOut:
        return WayOut(LATER, self._end)

    def _give(self, row: "ReadingRow", typed: str) -> str:
        refusal = self.preparation.cot.give_reading(row.of, row.reading, typed)
        if not refusal:
            self._given.add(row.reading)
        return refusal


class FollowUpAsks(ReadingAsks):
    """The readings of a follow-up, or why it was not made."""

    def __init__(self, preparation: "OpenPreparation", row: "FollowUpRow") -> None:
        super().__init__(preparation, row.name, row.readings)
        words = (f"{row.name}: why was it not made?",)
        cot, follow_up = preparation.cot, row.follow_up
        self._why = ReasonAsks(
            NOT_MADE, words, NOT_MADE_REASONS, lambda why: cot.miss_follow_up(follow_up, why), preparation
        )
        self._asks_why = False

    def next_ask(self) -> Ask | None:
        """The next reading, or why there is none."""
        return self._why.next_ask() if self._asks_why else super().next_ask()

    def _way_out(self) -> WayOut:
        return WayOut(NOT_MADE, self._ask_why)

    def _ask_why(self) -> None:
        self._asks_why = True


class TimeAsks(CotAsks):
    """When it was, in place of when it was entered."""

    title = "Correct the time"

    def __init__(self, preparation: "OpenPreparation", entry: "EntryView") -> None:
        super().__init__(preparation)
        self._entry = entry

    def next_ask(self) -> Ask | None:
        """The time, once."""
        entry = self._entry
        if self._is_over:
            return None
        words = (entry.name, f"Now: {entry.clock}. When was it? The old time is kept.")
        return Ask("Time", words, Entry.CLOCK, self._correct, typed=entry.clock)

    def _correct(self, typed: str) -> str:
        return self._end_with(self.preparation.cot.correct_time(self._entry.entry, typed))


class OutcomeAsks(CotAsks):
    """How it went, in one of the kit's words, and a note where there is one."""

    title = "Outcome"

    def __init__(self, preparation: "OpenPreparation", view: "RecordView") -> None:
        super().__init__(preparation)
        self._view = view
        self._outcome = ""

    def next_ask(self) -> Ask | None:
        """The choice, then the note."""
        if self._is_over:
            return None
        if not self._outcome:
            choices = tuple((word, word) for word in self._view.outcomes)
            now = (f"Now: {self._view.outcome}",) if self._view.outcome else ()
            return Ask("Outcome", ("How did it go?", *now), Entry.CHOICE, self._choose, choices=choices)
        return Ask("Note", (f"{self._outcome}: anything to add? One line, or none.",), Entry.TEXT, self._give,
                   way_out=WayOut("No note", self._leave_out_note))  # fmt: skip

    def _choose(self, outcome: str) -> str:
        self._outcome = outcome
        return ""

    def _leave_out_note(self) -> None:
        self._give("")

    def _give(self, note: str) -> str:
        return self._end_with(self.preparation.cot.give_outcome(self._outcome, note))


class SecondAsks(CotAsks):
    """The second person signs on the spot; the first stays signed in."""

    title = "Second signature"

    def __init__(self, preparation: "OpenPreparation", sign: Sign) -> None:
        super().__init__(preparation)
        self._signing = Signing(preparation.desk, SECOND, sign, final=True)

    def next_ask(self) -> Ask | None:
        """Who signs, once."""
        return self._signing.next_ask()
