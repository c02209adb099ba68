"""The pad of the second check: left at any question, it never shows what lies under it."""

from typing import TYPE_CHECKING, ClassVar

from prepkit.tui.check_asks import CheckAsks
from prepkit.tui.screens.pad import PadScreen

if TYPE_CHECKING:
    from prepkit.desk.desk import Desk
    from prepkit.desk.opened import OpenPreparation


class CheckPadScreen(PadScreen):
    """Asks the checker; over it lies nothing, under it the cover as soon as the check has begun."""

    LOW_KEYS: ClassVar[bool] = True

    def __init__(self, desk: "Desk", preparation: "OpenPreparation") -> None:
        self._asks = CheckAsks(preparation)
        super().__init__(desk, self._asks)
        self._checked = preparation

    def take_in(self) -> None:
        """Take in what other devices did: another line to check now, or none any more."""
        if self._asks.is_signed_out:
            self.app.call_later(self._leave_signed_out)
            return
        before = self._asks.standing
        if self._checked.refresh() and self._asks.standing != before:
            self._asks.is_ended_elsewhere = self._checked.checks.show_cover() is None
            self.go_on()

    def _leave_signed_out(self) -> None:
        """Let the cover say who checks: from there they sign in and go on where they were."""
        if self.is_on_top and self._asks.is_signed_out:
            self.leave(answered=False)

    def leave(self, *, answered: bool) -> None:
        """Close the pad; while the check is open, in favour of the cover."""
        from prepkit.tui.screens.cover import CoverScreen  # noqa: PLC0415 (the screens lead to each other)

        is_open = self._checked.checks.show_cover() is not None
        if is_open and not isinstance(self.app.screen_stack[-2], CoverScreen):
            # Switched, not closed: what lies under the pad is not painted for a moment in between.
            self.app.switch_screen(CoverScreen(self.desk, self._checked))
        else:
            self.dismiss(answered)
