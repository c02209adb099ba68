"""The questions of an order: what, then by whom. May import: the desk and the view-models."""

from typing import TYPE_CHECKING

from prepkit.tui.ask import Ask
from prepkit.view.models import Banner, Entry

if TYPE_CHECKING:
    from prepkit.desk.opened import OpenPreparation


class OrderAsks:
    """What a prescriber ordered for a dose line: one of the options, then their initials."""

    title = "Order"

    def __init__(self, preparation: "OpenPreparation", line: str) -> None:
        self.preparation = preparation
        self._line = line
        self._option = ""
        self._given = False

    def banner(self) -> Banner:
        """Show the preparation's banner."""
        return self.preparation.show_baby().banner

    def next_ask(self) -> Ask | None:
        """The options first, then who prescribed the one that was chosen."""
        view = self.preparation.show_options(self._line)
        if self._given or view is None:
            return None
        if not self._option:
            words = (f"{view.name}: what did the prescriber order?", view.now)
            return Ask("Order", words, Entry.CHOICE, self._choose, typed=view.chosen, choices=view.choices,
                       after=view.not_offered)  # fmt: skip
        chosen = dict(view.choices).get(self._option, "")
        return Ask("Prescriber", (chosen, "Who prescribed it? Enter their initials."), Entry.TEXT, self._order,
                   capitals=True)  # fmt: skip

    def _choose(self, option: str) -> str:
        self._option = option
        return ""

    def _order(self, prescriber: str) -> str:
        refusal = self.preparation.order(self._line, self._option, prescriber)
        self._given = not refusal
        return refusal
