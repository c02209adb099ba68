"""How the desk may stand before the first key: one stage for many scenes."""

from collections.abc import Callable

import pytest
from cot_scene import Clock as CotClock
from cot_scene import complete, do_all
from hands import KIT
from workstation_scene import check_all

from prepkit.app.open_preparation import OpenPreparation
from prepkit.app.workstation import Workstation

STEPS = ("t-piece-on", "stomach-emptied", "atropine-given", "sucrose-given", "lubricant-on", "device-in")
BABY = {"birth_weight": "1450", "birth_gestation": "30+2"}
GIVEN_BEFORE = "poractant-alfa, 290 mg, 2026-11-22 12:00; poractant-alfa, not known, 2026-11-23 06:30"
LONG_BATCH = "ABCDEFGHIJ1234567890"
"""As long as a batch may be."""


def _new(request: pytest.FixtureRequest) -> Workstation:
    desk = request.getfixturevalue("desk")
    assert isinstance(desk, Workstation)
    return desk


def _begin(request: pytest.FixtureRequest, fixture: str, at: str = "desk") -> tuple[OpenPreparation, Workstation]:
    opened, desk = request.getfixturevalue(fixture), request.getfixturevalue(at)
    assert isinstance(opened, OpenPreparation)
    assert isinstance(desk, Workstation)
    return opened, desk


def _begun(request: pytest.FixtureRequest, fixture: str, at: str = "desk") -> Workstation:
    return _begin(request, fixture, at)[1]


def _start(request: pytest.FixtureRequest, **facts: str) -> Workstation:
    desk = _new(request)
    desk.identity.who = "RA"
    started = desk.start(KIT, "Cot 4")
    assert not isinstance(started, str), started
    for fact, typed in facts.items():
        assert started.baby.give_fact(fact, typed) == ""
    return desk


def _start_again(request: pytest.FixtureRequest, **facts: str) -> Workstation:
    """The same, with the weight entered again that nothing can be held against."""
    desk = _start(request, **facts)
    opened = desk.resume(desk.show_home().rows[0].prep)
    assert isinstance(opened, OpenPreparation)
    assert opened.baby.confirm_weight("1450" if facts["birth_weight"] == "1450" else "1310") == ""
    return desk


def _change(request: pytest.FixtureRequest) -> Workstation:
    """The weight was corrected after a line was ticked, and one question is answered with unsure."""
    begun, desk = _begin(request, "begun")
    assert begun.lines.tick("surfactant") == ""
    assert begun.baby.give_fact("birth_weight", "1500") == ""
    assert begun.baby.answer("malformation", "unsure") == ""
    return desk


def _practise(request: pytest.FixtureRequest) -> Workstation:
    desk = _begun(request, "begun")
    assert not isinstance(desk.start(KIT, "Cot 9", practice=True), str)
    return desk


def _read_aloud(request: pytest.FixtureRequest) -> Workstation:
    opened, desk = _begin(request, "checked")
    assert opened.ready.read_aloud() == ""
    return desk


def _differ(request: pytest.FixtureRequest) -> Workstation:
    """Two volumes differ, and the preparation was handed over."""
    opened, desk = _begin(request, "done")
    check_all(opened, wrong={"surfactant": "3.2", "atropine": "0.6"})
    assert opened.handover.hand_over("catheter still to mark, parents told, consent is in the notes") == ""
    return desk


def _have_in_hand(request: pytest.FixtureRequest) -> Workstation:
    opened, desk = _begin(request, "begun_in_hand", "hand_desk")
    assert opened.batches.give("atropine", LONG_BATCH, "2027-03") == ""
    return desk


def _go_to_cot(request: pytest.FixtureRequest, finish: Callable[[OpenPreparation, CotClock], None]) -> Workstation:
    opened, desk = _begin(request, "checked")
    clock = CotClock(desk)
    assert opened.ready.read_aloud() == ""
    finish(opened, clock)
    clock.move(minutes=2, seconds=10)
    return desk


def _do_some(opened: OpenPreparation, clock: CotClock) -> None:
    for step in STEPS:
        clock.move(seconds=40)
        assert opened.bedside.do_step(step) == ""


def _do_all(opened: OpenPreparation, clock: CotClock) -> None:
    do_all(opened, clock)
    clock.move(minutes=40)


STAGES: dict[str, Callable[[pytest.FixtureRequest], Workstation]] = {
    "nothing": _new,
    "no facts": _start,
    "unlikely": lambda request: _start(request, birth_weight="3200", birth_gestation="26+0"),
    "unborn": lambda request: _start(request, **BABY),
    "older": lambda request: _start(request, **BABY, born="2026-11-22", weight_now="1310"),
    "given before": lambda request: _start(
        request, **BABY, born="2026-11-22", weight_now="1310", earlier_surfactant=GIVEN_BEFORE
    ),
    "not weighed": lambda request: _start(request, **BABY, born="2026-11-22"),
    "change": lambda request: _start(request, **BABY, born="2026-11-24", weight_now="1150"),
    "no birth weight": lambda request: _start_again(
        request, birth_weight="not known", weight_now="1310", birth_gestation="30+2"
    ),
    "no gestation": lambda request: _start_again(request, birth_weight="1450", birth_gestation="not known"),
    "begun": lambda request: _begun(request, "begun"),
    "practice": _practise,
    "changed": _change,
    "done": lambda request: _begun(request, "done"),
    "checked": lambda request: _begun(request, "checked"),
    "read aloud": _read_aloud,
    "differs": _differ,
    "pins": lambda request: _begun(request, "begun_with_pins", "pins_desk"),
    "in hand": _have_in_hand,
    "at the cot": lambda request: _go_to_cot(request, _do_some),
    "afterwards": lambda request: _go_to_cot(request, _do_all),
    "complete": lambda request: _go_to_cot(request, complete),
}
