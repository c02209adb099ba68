"""How the desk may stand before the first key: one stage for many scenes."""

from collections.abc import Callable

import pytest
from cot_scene import Clock as CotClock
from cot_scene import complete, do_all
from hands import KIT
from workstation_scene import check_all

from prepkit.app.session import PreparationSession
from prepkit.app.workstation import Workstation

STEPS = ("t-piece-on", "sucrose-given", "stomach-emptied", "lubricant-on", "atropine-given", "device-in")
LONG_BATCH = "ABCDEFGHIJ1234567890"
"""As long as a batch may be."""


def _new(request: pytest.FixtureRequest) -> Workstation:
    desk = request.getfixturevalue("desk")
    assert isinstance(desk, Workstation)
    return desk


def _begun(request: pytest.FixtureRequest, fixture: str) -> PreparationSession:
    opened = request.getfixturevalue(fixture)
    assert isinstance(opened, PreparationSession)
    return opened


def _start(request: pytest.FixtureRequest, **facts: str) -> Workstation:
    desk = _new(request)
    desk.who = "RA"
    started = desk.start(KIT, "Cot 4")
    assert not isinstance(started, str), started
    for fact, typed in facts.items():
        assert started.give_fact(fact, typed) == ""
    return desk


def _change(request: pytest.FixtureRequest) -> Workstation:
    """The weight was corrected after a line was ticked, and one question is answered with unsure."""
    begun = _begun(request, "begun")
    assert begun.tick("surfactant") == ""
    assert begun.give_fact("weight", "1500") == ""
    assert begun.answer("malformation", "unsure") == ""
    return begun.desk


def _practise(request: pytest.FixtureRequest) -> Workstation:
    begun = _begun(request, "begun")
    assert not isinstance(begun.desk.start(KIT, "Cot 9", practice=True), str)
    return begun.desk


def _read_aloud(request: pytest.FixtureRequest) -> Workstation:
    opened = _begun(request, "checked")
    assert opened.read_aloud() == ""
    return opened.desk


def _differ(request: pytest.FixtureRequest) -> Workstation:
    """Two volumes differ, and the preparation was handed over."""
    opened = _begun(request, "done")
    check_all(opened, wrong={"surfactant": "3.2", "atropine": "0.6"})
    assert opened.handover.hand_over("catheter still to mark, parents told, consent is in the notes") == ""
    return opened.desk


def _have_in_hand(request: pytest.FixtureRequest) -> Workstation:
    opened = _begun(request, "begun_in_hand")
    assert opened.in_hand.give("atropine", LONG_BATCH, "2027-03") == ""
    return opened.desk


def _go_to_cot(request: pytest.FixtureRequest, finish: Callable[[PreparationSession, CotClock], None]) -> Workstation:
    opened = _begun(request, "checked")
    clock = CotClock(opened.desk)
    assert opened.read_aloud() == ""
    finish(opened, clock)
    clock.move(minutes=2, seconds=10)
    return opened.desk


def _do_some(opened: PreparationSession, clock: CotClock) -> None:
    for step in STEPS:
        clock.move(seconds=40)
        assert opened.cot.do_step(step) == ""


def _do_all(opened: PreparationSession, clock: CotClock) -> None:
    do_all(opened, clock)
    clock.move(minutes=40)


STAGES: dict[str, Callable[[pytest.FixtureRequest], Workstation]] = {
    "nothing": _new,
    "no facts": _start,
    "unlikely": lambda request: _start(request, weight="3200", gestation="26+0"),
    "begun": lambda request: _begun(request, "begun").desk,
    "practice": _practise,
    "changed": _change,
    "done": lambda request: _begun(request, "done").desk,
    "checked": lambda request: _begun(request, "checked").desk,
    "read aloud": _read_aloud,
    "differs": _differ,
    "pins": lambda request: _begun(request, "begun_with_pins").desk,
    "in hand": _have_in_hand,
    "at the cot": lambda request: _go_to_cot(request, _do_some),
    "afterwards": lambda request: _go_to_cot(request, _do_all),
    "complete": lambda request: _go_to_cot(request, complete),
}
