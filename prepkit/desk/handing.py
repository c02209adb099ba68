"""One preparation from hand to hand. May import: every layer but the front ends."""

from typing import TYPE_CHECKING

from prepkit.preparation.decide_check import decide_hand_over, decide_take_over
from prepkit.preparation.decision import Decision
from prepkit.preparation.missing import compute_ready_standing
from prepkit.preparation.state import Preparation
from prepkit.view.check_models import HandoverView
from prepkit.view.handover import show_handover

if TYPE_CHECKING:
    from prepkit.desk.opened import OpenPreparation


class Handing:
    """Handing one open preparation over, and taking it. Methods return a refusal, or an empty string."""

    def __init__(self, opened: "OpenPreparation") -> None:
        """Nothing is read yet."""
        self._opened = opened

    def show_handover(self) -> HandoverView:
        """What the next person has to know."""
        opened = self._opened
        return show_handover(opened.state, opened.work_out(), opened.desk.clock())

    def hand_over(self, note: str) -> str:
        """Leave it to the next person, with one line for them."""
        return self._opened.act(lambda state: decide_hand_over(state, note))

    def take_over(self, seen: str) -> str:
        """Take it as it was shown; `seen` is the view's standing. Whoever is at the desk takes it."""

        def decide(state: Preparation) -> Decision:
            return decide_take_over(state, compute_ready_standing(state), seen)

        return self._opened.act(decide)
