"""What is in the hand for the lines of one open preparation. May import: every layer but the front ends."""

from typing import TYPE_CHECKING

from prepkit.preparation.decide_in_hand import Given, decide_in_hand, decide_put_back, read_scanned, read_typed
from prepkit.preparation.wanted import find_wanted, list_served, list_wanting
from prepkit.scan.fields import Unread, read_batch
from prepkit.view.in_hand import say_served, show_in_hand
from prepkit.view.line_models import InHandView

if TYPE_CHECKING:
    from prepkit.desk.opened import OpenPreparation

NO_SUCH_LINE = "This line is no longer on the list: look at the list again."


class InHands:
    """Batch and expiry of what is used for each line. Methods that change something return a refusal, or nothing."""

    def __init__(self, opened: "OpenPreparation") -> None:
        """Nothing is read yet."""
        self._opened = opened

    def show(self, line: str) -> InHandView | None:
        """What is asked of the containers in hand for a line; None where the ward asks for nothing."""
        opened = self._opened
        return show_in_hand(opened.state, opened.work_out(), line, opened.desk.clock())

    def give(self, line: str, typed_batch: str, typed_expiry: str) -> str:
        """Give batch and expiry of one container for a line, as typed."""
        return self._take(line, read_typed(typed_batch, typed_expiry))

    def scan(self, line: str, text: str) -> str:
        """Give batch and expiry of one container for a line, as a scanner typed its code."""
        return self._take(line, read_scanned(text, self._opened.desk.clock().date()))

    @property
    def is_asked(self) -> bool:
        """Whether the ward asks for batch and expiry of anything on the list as it is."""
        return bool(list_wanting(self._opened.work_out()))

    def find_line(self, text: str) -> tuple[str, str]:
        """The line that a scanned container is for, and an empty string; else no line, and why in words."""
        opened = self._opened
        given = read_scanned(text, opened.desk.clock().date())
        if isinstance(given, str):
            return "", given
        worked = opened.work_out()
        served = list_served(worked, given.gtin)
        return (served[0], "") if len(served) == 1 else ("", say_served(worked, served, given.gtin))

    def refuse_batch(self, typed: str) -> str:
        """Why this cannot be a batch; empty where it can. Asked before the expiry is there."""
        batch = read_batch(typed)
        return batch.reason if isinstance(batch, Unread) else ""

    def put_back(self, line: str) -> str:
        """Take back everything in hand for a line, and its tick."""
        return self._opened.act(lambda state: decide_put_back(state, line))

    def _take(self, line: str, given: Given | str) -> str:
        opened = self._opened
        seen = opened.find_fingerprint(line)
        if isinstance(given, str) or not seen:
            return given if isinstance(given, str) else NO_SUCH_LINE
        wanted, today = find_wanted(opened.work_out(), line), opened.desk.clock().date()
        return opened.act(lambda state: decide_in_hand(state, line, seen, given, wanted, today))
