"""Prompts at the cot and afterwards: readings, follow-up, corrected time, outcome, second signature."""

from msgspec.structs import replace

from prepkit.app.open_preparation import OpenPreparation
from prepkit.tui.prompts.prompt import TYPE_IT, Alternative, PreparationWizard, Prompt, ReasonWizard, offer_typing
from prepkit.tui.prompts.sign_in import Authenticate, IdentityPrompts
from prepkit.view.cot import EntryView, ReadingRow
from prepkit.view.models import InputKind
from prepkit.view.record import FollowUpRow, RecordView

LATER = "Later"
NOT_DONE = "Not done"
NOT_DONE_REASONS = ("Gone to another ward", "In theatre or away", "Nobody was free", "The baby was intubated")
SECOND = ("The second person reads the record and signs it here.", "Who signs? Enter your initials.")


class ReadingWizard(PreparationWizard):
    """The readings of one entry, one after the other; "Later" and Esc leave the rest.

    Each is kept as soon as it is given: there is nothing to go back to in the pad.
    """

    def __init__(
        self, preparation: OpenPreparation, title: str, rows: tuple[ReadingRow, ...], how: tuple[str, ...] = ()
    ) -> None:
        super().__init__(preparation)
        self.title = title
        self._how = how
        self._rows = rows
        self._given: set[str] = set()
        self._by_hand = False
        """Whether initials are to be typed although there is a staff list."""

    def next_prompt(self) -> Prompt | None:
        """The first reading not given yet."""
        row = next((row for row in self._rows if row.reading not in self._given), None)
        return None if row is None or self._is_over else self._ask(row)

    def _ask(self, row: ReadingRow) -> Prompt:
        if row.entry is InputKind.TEXT and not self._by_hand and (people := self._list_people()):
            row = replace(row, entry=InputKind.CHOICE, choices=offer_typing(people, "Type initials"))
        return Prompt(
            label=row.label,
            words=(self.title, *self._how, row.ask, *((f"Now: {row.value}",) if row.value else ())),
            entry=row.entry,
            accept=lambda typed: self._give(row, typed),
            unit=row.unit,
            typed=row.value if row.choices else "",
            choices=row.choices,
            capitals=row.entry is InputKind.TEXT,
            final=True,
            alternative=self._alternative(),
        )

    def _alternative(self) -> Alternative:
        return Alternative(LATER, lambda: self._end_with(""))

    def _list_people(self) -> tuple[tuple[str, str], ...]:
        rows = self.preparation.session.identity.list_people()
        return tuple((row.initials, f"{row.initials} · {row.role}") for row in rows)

    def _give(self, row: ReadingRow, typed: str) -> str:
        if typed == TYPE_IT:
            self._by_hand = True
            return ""
        refusal = self.preparation.bedside.give_reading(row.of, row.reading, typed)
        if not refusal:
            self._given.add(row.reading)
            self._by_hand = False
        return refusal


class FollowUpWizard(ReadingWizard):
    """The readings of a follow-up, or why it was not done."""

    def __init__(self, preparation: OpenPreparation, row: FollowUpRow) -> None:
        super().__init__(preparation, row.name, row.readings, row.how)
        words = (f"{row.name}: why was it not done?",)
        cot, follow_up = preparation.bedside, row.follow_up
        self._why = ReasonWizard(
            NOT_DONE, words, NOT_DONE_REASONS, lambda why: cot.miss_follow_up(follow_up, why), preparation
        )
        self._asks_why = False

    def next_prompt(self) -> Prompt | None:
        """The next reading, or why there is none."""
        return self._why.next_prompt() if self._asks_why else super().next_prompt()

    def _alternative(self) -> Alternative:
        return Alternative(NOT_DONE, self._ask_why)

    def _ask_why(self) -> str:
        self._asks_why = True
        return ""


class TimeCorrectionWizard(PreparationWizard):
    """When it was, in place of when it was entered."""

    title = "Correct the time"

    def __init__(self, preparation: OpenPreparation, entry: EntryView) -> None:
        super().__init__(preparation)
        self._entry = entry

    def next_prompt(self) -> Prompt | None:
        """The time, once."""
        entry = self._entry
        if self._is_over:
            return None
        words = (entry.name, f"Now: {entry.clock}. When was it? The old time is kept.")
        return Prompt("Time", words, InputKind.CLOCK, self._correct, typed=entry.clock)

    def _correct(self, typed: str) -> str:
        return self._end_with(self.preparation.bedside.correct_time(self._entry.entry, typed))


class OutcomeWizard(PreparationWizard):
    """How it went, in one of the kit's words, and a note where there is one."""

    title = "Outcome"

    def __init__(self, preparation: OpenPreparation, view: RecordView) -> None:
        super().__init__(preparation)
        self._view = view
        self._outcome = ""

    def next_prompt(self) -> Prompt | None:
        """The choice, then the note."""
        if self._is_over:
            return None
        if not self._outcome:
            choices = tuple((word, word) for word in self._view.outcomes)
            now = (f"Now: {self._view.outcome}",) if self._view.outcome else ()
            return Prompt("Outcome", ("How did it go?", *now), InputKind.CHOICE, self._choose, choices=choices)
        return Prompt("Note", (f"{self._outcome}: anything to add? One line, or none.",), InputKind.TEXT, self._give,
                   alternative=Alternative("No note", lambda: self._give("")))  # fmt: skip

    def _choose(self, outcome: str) -> str:
        self._outcome = outcome
        return ""

    def _give(self, note: str) -> str:
        return self._end_with(self.preparation.bedside.give_outcome(self._outcome, note))


class SecondSignatureWizard(PreparationWizard):
    """The second person signs on the spot; the first stays signed in."""

    title = "Second signature"

    def __init__(self, preparation: OpenPreparation, sign: Authenticate) -> None:
        super().__init__(preparation)
        self._signing = IdentityPrompts(preparation.session.identity, SECOND, sign, final=True)

    def next_prompt(self) -> Prompt | None:
        """Who signs, once."""
        return self._signing.next_prompt()
