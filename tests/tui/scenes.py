"""Every screen in its main states, and the way to each: the one table of which geometry, texts and pictures are tried.

A scene begins with a preparation at the desk and the app at home.
"""

from collections.abc import Awaitable, Callable

import pytest
from cot_scene import Clock as CotClock
from cot_scene import complete, do_all
from desk_scene import Clock, answer_all, check_all, tick_all
from hands import KIT, Hands, check_by_keys, let_idle, move_to, scan, type_in, write_code
from tui_samples import ATROPINE, SURFACTANT

from prepkit.desk.opened import OpenPreparation

Way = Callable[[Hands, OpenPreparation], Awaitable[None]]


def _keys(*keys: str, after: Way | None = None) -> Way:
    """By keys alone, from home or from where another scene ends."""

    async def go(pilot: Hands, begun: OpenPreparation) -> None:
        if after is not None:
            await after(pilot, begun)
        await type_in(pilot, "", *keys)

    return go


async def _home(pilot: Hands, begun: OpenPreparation) -> None:
    assert begun.tick("drape") == ""


async def _changed(pilot: Hands, begun: OpenPreparation) -> None:
    assert begun.tick("surfactant") == ""
    assert begun.give_fact("weight", "1500") == ""
    await type_in(pilot, "", "enter", *["down"] * 13)


async def _weight_refused(pilot: Hands, begun: OpenPreparation) -> None:
    await type_in(pilot, "", "enter", "b", "enter")
    await type_in(pilot, "", *["backspace"] * 4)
    await type_in(pilot, "1,45", "enter")


async def _weight_again(pilot: Hands, begun: OpenPreparation) -> None:
    assert begun.give_fact("weight", "2100") == ""
    await type_in(pilot, "", "enter", "f")


async def _suitability(pilot: Hands, begun: OpenPreparation) -> None:
    assert begun.answer("malformation", "unsure") == ""
    await type_in(pilot, "", "enter", "s")


async def _open(pilot: Hands, begun: OpenPreparation) -> None:
    tick_all(begun)
    answer_all(begun)
    check_all(begun)
    await type_in(pilot, "", "enter", "r")


async def _unchecked(pilot: Hands, begun: OpenPreparation) -> None:
    tick_all(begun)
    answer_all(begun)
    await type_in(pilot, "", "enter", "r")


async def _begin_check(pilot: Hands, begun: OpenPreparation) -> None:
    await _unchecked(pilot, begun)
    await type_in(pilot, "c")


async def _check_refused(pilot: Hands, begun: OpenPreparation) -> None:
    await _begin_check(pilot, begun)
    await type_in(pilot, "ra", "enter")


async def _check_weight(pilot: Hands, begun: OpenPreparation) -> None:
    await _begin_check(pilot, begun)
    await type_in(pilot, "to", "enter")


async def _check_line(pilot: Hands, begun: OpenPreparation) -> None:
    await _check_weight(pilot, begun)
    await type_in(pilot, "1450", "enter")
    await type_in(pilot, "", "enter")


async def _check_long_order(pilot: Hands, begun: OpenPreparation) -> None:
    await _check_line(pilot, begun)
    for typed in ("3.6", "1", "1", "15"):
        await type_in(pilot, typed, "enter")


async def _cover(pilot: Hands, begun: OpenPreparation) -> None:
    await _check_line(pilot, begun)
    await type_in(pilot, "", "escape")


async def _differing(pilot: Hands, begun: OpenPreparation) -> None:
    await _begin_check(pilot, begun)
    await check_by_keys(pilot, wrong="3.2")


async def _difference(pilot: Hands, begun: OpenPreparation) -> None:
    await _differing(pilot, begun)
    await move_to(pilot, "surfactant")
    await type_in(pilot, "", "enter")


async def _list_checked(pilot: Hands, begun: OpenPreparation) -> None:
    await _differing(pilot, begun)
    await type_in(pilot, "", "escape", *["down"] * 12)


async def _weight_differs(pilot: Hands, begun: OpenPreparation) -> None:
    await _check_weight(pilot, begun)
    await type_in(pilot, "1540", "enter")


async def _handover(pilot: Hands, begun: OpenPreparation) -> None:
    assert begun.tick("drape") == ""
    assert begun.handing.hand_over("catheter still to mark, parents told") == ""
    await type_in(pilot, "", "enter", "enter")


async def _at_cot(pilot: Hands, begun: OpenPreparation) -> None:
    begun.desk.clock = CotClock(begun.desk)
    await _open(pilot, begun)
    await type_in(pilot, "", "a", "g")
    begun.refresh()


async def _cot(pilot: Hands, begun: OpenPreparation) -> None:
    await _at_cot(pilot, begun)
    for step in ("t-piece-on", "sucrose-given", "stomach-emptied", "lubricant-on"):
        assert begun.cot.do_step(step) == ""
    begun.desk.clock.move(minutes=2, seconds=10)  # type: ignore[attr-defined]
    await type_in(pilot, "", "escape", "escape", "enter")


async def _cot_reading(pilot: Hands, begun: OpenPreparation) -> None:
    await _at_cot(pilot, begun)
    await type_in(pilot, "", "space")
    await type_in(pilot, "6", "enter")


async def _cot_step(pilot: Hands, begun: OpenPreparation) -> None:
    await _cot(pilot, begun)
    await move_to(pilot, "step atropine-given")
    await type_in(pilot, "", "enter")


async def _cot_rows(pilot: Hands, begun: OpenPreparation) -> None:
    await _cot(pilot, begun)
    await move_to(pilot, "step atropine-given")


async def _cot_time(pilot: Hands, begun: OpenPreparation) -> None:
    await _cot(pilot, begun)
    await move_to(pilot, "step sucrose-given")
    await type_in(pilot, "", "enter", "t")


async def _happening(pilot: Hands, begun: OpenPreparation) -> None:
    await _cot(pilot, begun)
    await type_in(pilot, "", "e")


async def _happened(pilot: Hands, begun: OpenPreparation) -> None:
    await _happening(pilot, begun)
    await type_in(pilot, "", "down", "enter")


async def _rescue(pilot: Hands, begun: OpenPreparation) -> None:
    await _cot(pilot, begun)
    await type_in(pilot, "", "r")


async def _record_at_cot(pilot: Hands, begun: OpenPreparation) -> None:
    await _cot(pilot, begun)
    await type_in(pilot, "", "t")


async def _record(pilot: Hands, begun: OpenPreparation) -> None:
    await _at_cot(pilot, begun)
    do_all(begun, begun.desk.clock)  # type: ignore[arg-type]
    begun.desk.clock.move(minutes=40)  # type: ignore[attr-defined]
    await type_in(pilot, "", "escape", "escape", "enter")


async def _complications(pilot: Hands, begun: OpenPreparation) -> None:
    await _record(pilot, begun)
    await move_to(pilot, "complications")
    await type_in(pilot, "", "enter")
    await type_in(pilot, "", "enter")


async def _outcome(pilot: Hands, begun: OpenPreparation) -> None:
    await _record(pilot, begun)
    await move_to(pilot, "outcome")
    await type_in(pilot, "", "enter")


async def _practice(pilot: Hands, begun: OpenPreparation) -> None:
    started = begun.desk.start(KIT, "Cot 9", practice=True)
    assert not isinstance(started, str)
    await type_in(pilot, "", "l", "l", "up", "enter")


async def _to_sign(pilot: Hands, begun: OpenPreparation) -> None:
    await _at_cot(pilot, begun)
    complete(begun, begun.desk.clock)  # type: ignore[arg-type]
    await type_in(pilot, "", "escape", "escape", "enter", "s")


async def _closed(pilot: Hands, begun: OpenPreparation) -> None:
    await _to_sign(pilot, begun)
    await type_in(pilot, "", "right", "enter")


async def _ended(pilot: Hands, begun: OpenPreparation) -> None:
    await _closed(pilot, begun)
    await type_in(pilot, "", "escape", "e")


async def _stop_check(pilot: Hands, begun: OpenPreparation) -> None:
    await _cover(pilot, begun)
    await type_in(pilot, "", "s", "right", "enter")


async def _labels(pilot: Hands, begun: OpenPreparation) -> None:
    assert begun.tick("surfactant") == ""
    await type_in(pilot, "", "enter", "e")


async def _who(pilot: Hands, begun: OpenPreparation) -> None:
    await type_in(pilot, "", "enter", "w")


async def _pin(pilot: Hands, begun: OpenPreparation) -> None:
    await _who(pilot, begun)
    await type_in(pilot, "", "up", "enter")
    await type_in(pilot, "1234")


async def _pin_refused(pilot: Hands, begun: OpenPreparation) -> None:
    await _pin(pilot, begun)
    await type_in(pilot, "", "enter")


async def _lock(pilot: Hands, begun: OpenPreparation) -> None:
    await type_in(pilot, "", "enter")
    assert isinstance(begun.desk.clock, Clock)
    await let_idle(pilot, begun.desk.clock, minutes=5)


async def _hand(pilot: Hands, begun: OpenPreparation) -> None:
    await type_in(pilot, "", "enter")
    await move_to(pilot, "line surfactant")
    await type_in(pilot, "", "space")


async def _hand_wrong(pilot: Hands, begun: OpenPreparation) -> None:
    await _hand(pilot, begun)
    await scan(pilot, write_code(ATROPINE))


async def _hand_expiry(pilot: Hands, begun: OpenPreparation) -> None:
    await _hand(pilot, begun)
    await type_in(pilot, "AB12", "enter")


async def _hand_line(pilot: Hands, begun: OpenPreparation) -> None:
    await _hand(pilot, begun)
    await scan(pilot, write_code(SURFACTANT))
    await type_in(pilot, "", "enter", "pagedown")


SCENES: dict[str, Way] = {
    "stop-check": _stop_check,
    "labels": _labels,
    "pins-who": _who,
    "pins-pin": _pin,
    "pins-refused": _pin_refused,
    "pins-lock": _lock,
    "hand-pad": _hand,
    "hand-wrong": _hand_wrong,
    "hand-expiry": _hand_expiry,
    "hand-line": _hand_line,
    "home": _home,
    "list": _keys("enter"),
    "list-changed": _changed,
    "line": _keys("enter", *["down"] * 15, "enter"),
    "baby": _keys("enter", "b"),
    "weight-refused": _weight_refused,
    "weight-again": _weight_again,
    "suitability": _suitability,
    "not-ready": _keys("enter", "r"),
    "ready": _open,
    "unchecked": _unchecked,
    "check-begin": _begin_check,
    "check-refused": _check_refused,
    "check-weight": _check_weight,
    "check-line": _check_line,
    "check-long-order": _check_long_order,
    "cover": _cover,
    "check-result": _differing,
    "difference": _difference,
    "list-checked": _list_checked,
    "weight-differs": _weight_differs,
    "cot": _cot,
    "cot-rows": _cot_rows,
    "cot-reading": _cot_reading,
    "cot-step": _cot_step,
    "cot-time": _cot_time,
    "happening": _happening,
    "happened": _happened,
    "rescue": _rescue,
    "record-at-the-cot": _record_at_cot,
    "record": _record,
    "complications": _complications,
    "record-to-sign": _to_sign,
    "record-closed": _closed,
    "ended": _ended,
    "handover": _handover,
    "not-needed": _keys("enter", *["down"] * 2, "n"),
    "help": _keys("enter", "h"),
    "menu": _keys("enter", "m"),
    "reasons": _keys("enter", "d"),
    "sure": _keys("enter", "d", "enter"),
    "letters": _keys("w"),
    "note": _keys("enter", "o"),
    "order": _keys("enter", *["down"] * 12, "enter", "o"),
    "check-size": _keys("enter", *"1450", "enter", after=_check_weight),
    "check-vials": _keys("3", "enter", after=_check_line),
    "ready-differs": _keys("escape", "r", after=_differing),
    "line-differs": _keys("escape", *["down"] * 14, "enter", after=_differing),
    "settle": _keys("s", after=_difference),
    "cot-entry": _keys(*["down"] * 3, "enter", after=_cot),
    "cot-leave-out": _keys("enter", "n", after=_cot),
    "cot-come-back": _keys("a", after=_cot),
    "cot-note": _keys(*["down"] * 3, "enter", "n", after=_cot),
    "cot-strike": _keys(*["down"] * 3, "enter", "s", after=_cot),
    "follow-up": _keys("enter", after=_record),
    "outcome": _outcome,
    "hand-labels": _keys("enter", "e"),
    "practice": _practice,
}

WARDS = {"pins": "begun_with_pins", "hand": "begun_in_hand"}
"""By how a name begins: the fixture that it is shown with, where that is another one."""


def begin_scene(request: pytest.FixtureRequest, name: str) -> OpenPreparation:
    """The preparation that a scene begins with."""
    begun = request.getfixturevalue(WARDS.get(name.partition("-")[0], "begun"))
    assert isinstance(begun, OpenPreparation)
    return begun
