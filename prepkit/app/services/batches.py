"""Batch and expiry of the containers in hand for the lines of one preparation, typed or scanned."""

from prepkit.app.session import NO_SUCH_LINE, PreparationSession
from prepkit.preparation.batches.decide import (
    GivenBatch,
    decide_in_hand,
    decide_put_back,
    find_wanted_product,
    list_lines_served,
    list_lines_wanting_batches,
    read_scanned,
    read_typed,
)
from prepkit.scan.fields import Unreadable, read_batch
from prepkit.view.batches import InHandView, say_served, show_in_hand


class BatchService:
    """Batch and expiry of what is used for each line. Methods that change something return a refusal, or nothing."""

    def __init__(self, session: PreparationSession) -> None:
        """Nothing is read yet."""
        self._session = session

    def show(self, line: str) -> InHandView | None:
        """What is asked of the containers in hand for a line; None where the ward asks for nothing."""
        session = self._session
        return show_in_hand(session.state, session.work_out(), line, session.clock())

    def give(self, line: str, typed_batch: str, typed_expiry: str) -> str:
        """Give batch and expiry of one container for a line, as typed."""
        return self._take(line, read_typed(typed_batch, typed_expiry))

    def scan(self, line: str, text: str) -> str:
        """Give batch and expiry of one container for a line, as a scanner typed its code."""
        return self._take(line, read_scanned(text, self._session.clock().date()))

    @property
    def is_asked(self) -> bool:
        """Whether the ward asks for batch and expiry of anything on the list as it is."""
        return bool(list_lines_wanting_batches(self._session.work_out()))

    def find_line(self, text: str) -> tuple[str, str]:
        """The line that a scanned container is for, and an empty string; else no line, and why in words."""
        session = self._session
        given = read_scanned(text, session.clock().date())
        if isinstance(given, str):
            return "", given
        worked = session.work_out()
        served = list_lines_served(worked, given.gtin)
        return (served[0], "") if len(served) == 1 else ("", say_served(worked, served, given.gtin))

    def refuse_batch(self, typed: str) -> str:
        """Why this cannot be a batch; empty where it can. Asked before the expiry is there."""
        batch = read_batch(typed)
        return batch.reason if isinstance(batch, Unreadable) else ""

    def put_back(self, line: str) -> str:
        """Take back everything in hand for a line, and its tick."""
        return self._session.act(lambda state: decide_put_back(state, line))

    def _take(self, line: str, given: GivenBatch | str) -> str:
        session = self._session
        seen = session.find_fingerprint(line)
        if isinstance(given, str) or not seen:
            return given if isinstance(given, str) else NO_SUCH_LINE
        wanted, today = find_wanted_product(session.work_out(), line), session.clock().date()
        return session.act(lambda state: decide_in_hand(state, line, seen, given, wanted, today))
