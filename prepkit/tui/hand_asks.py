"""The questions of what is in the hand: a scan, or batch and then expiry. May import: the desk and the view-models."""

from typing import TYPE_CHECKING

from prepkit.tui.ask import Ask
from prepkit.view.models import Banner, Entry

if TYPE_CHECKING:
    from prepkit.desk.opened import OpenPreparation


class InHandAsks:
    """One container or pack for a line: scanned at any of the questions, or typed."""

    title = "In hand"

    def __init__(self, preparation: "OpenPreparation", line: str) -> None:
        self.preparation = preparation
        self._line = line
        self._batch = ""
        self._given = False

    def banner(self) -> Banner:
        """Show the preparation's banner."""
        return self.preparation.show_baby().banner

    def next_ask(self) -> Ask | None:
        """The batch, then the expiry; None once one was given, or where nothing is wanted any more."""
        view = self.preparation.in_hand.show(self._line)
        if self._given or view is None:
            return None
        if not self._batch:
            return Ask("Batch", (view.name, view.ask), Entry.TEXT, self._take_batch, capitals=True,
                       scan=self._scan)  # fmt: skip
        words = (f"{view.name}, batch {self._batch}: until when is it in date?", view.expiry_form)
        return Ask("Expiry", words, Entry.DATE, self._give, scan=self._scan)

    def _take_batch(self, typed: str) -> str:
        refusal = self.preparation.in_hand.refuse_batch(typed)
        self._batch = "" if refusal else typed.strip()
        return refusal

    def _give(self, typed: str) -> str:
        refusal = self.preparation.in_hand.give(self._line, self._batch, typed)
        self._given = not refusal
        return refusal

    def _scan(self, text: str) -> str:
        refusal = self.preparation.in_hand.scan(self._line, text)
        self._given = not refusal
        return refusal
