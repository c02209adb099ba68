"""The list that is kept for a few seconds answers for nothing that it was not worked out from."""

from datetime import timedelta

from workstation_scene import Clock, answer_all, start

from prepkit.app.list_cache import ListCache, _make_key
from prepkit.app.workstation import Workstation
from prepkit.preparation.listing import work_out
from prepkit.preparation.state import Preparation

ONLY_NAMED = frozenset({"kit", "ward_name"})
"""Said in a problem of a stored text; nothing is worked out from them."""


class Watched:
    """A preparation that notes what is asked of it."""

    def __init__(self, state: Preparation) -> None:
        self._state = state
        self.asked: set[str] = set()

    def __getattr__(self, name: str) -> object:
        self.asked.add(name)
        return getattr(self._state, name)


def test_whatever_the_list_is_worked_out_from_is_in_its_key(desk: Workstation, clock: Clock) -> None:
    opened = start(desk)
    answer_all(opened)
    keyed, worked = Watched(opened.session.state), Watched(opened.session.state)
    _make_key(keyed)  # type: ignore[arg-type]
    work_out(worked, clock())  # type: ignore[arg-type]
    assert {"facts", "answers", "orders", "kit_text", "ward_text"} <= worked.asked
    assert worked.asked - ONLY_NAMED <= keyed.asked


def test_another_fact_another_text_or_five_seconds_give_another_list(desk: Workstation, clock: Clock) -> None:
    opened = start(desk)
    kept = ListCache()
    now = clock()
    first = kept.work_out(opened.session.state, now)
    assert kept.work_out(opened.session.state, now + timedelta(seconds=4)) is first
    for later in (timedelta(seconds=5), timedelta(seconds=-1)):
        assert ListCache().work_out(opened.session.state, now) == first
        kept.work_out(opened.session.state, now)
        assert kept.work_out(opened.session.state, now + later) is not first
    before = kept.work_out(opened.session.state, now)
    assert opened.baby.give_fact("birth_weight", "1500") == ""
    assert kept.work_out(opened.session.state, now) == work_out(opened.session.state, now) != before
