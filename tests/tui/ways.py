"""Every screen in every state that it can be in: how the desk stands, and the keys that lead there from home."""

from collections.abc import Callable
from dataclasses import dataclass

import pytest
from cot_scene import Clock as CotClock
from cot_scene import complete, do_all
from desk_scene import Clock, check_all
from hands import Hands, let_idle, place, type_in

from prepkit.desk.desk import Desk
from prepkit.desk.opened import OpenPreparation

CHECK = ("enter", "c", "t", "o", "enter")
WEIGHED = (*"1450", "enter")
NEW = ("n", "r", "a", "enter")
STEPS = ("t-piece-on", "sucrose-given", "stomach-emptied", "lubricant-on", "atropine-given", "device-in")


@dataclass(frozen=True, slots=True)
class Way:
    """One state of one screen."""

    scene: str
    keys: tuple[str, ...]
    screen: str
    """The screen's part of the table of keys."""


_BY_SCENE: dict[str, dict[str, tuple[str, ...]]] = {
    "nothing": {
        "home": (),
        "pad, who is new": ("n",),
        "pad, kit": NEW,
        "pad, cot label": (*NEW, "enter"),
        "menu": ("m",),
        "ended": ("e", "r", "a", "enter"),
        "help": ("h",),
        "message": ("c",),
    },
    "no facts": {
        "list": ("enter",),
        "pad, weight": ("enter", "f"),
        "baby": ("enter", "b"),
        "suitability": ("enter", "s"),
        "ready": ("enter", "r"),
    },
    "unlikely": {
        "list": ("enter",),
        "baby": ("enter", "b"),
        "pad, weight again": ("enter", "f"),
        "ready": ("enter", "r"),
    },
    "begun": {
        "home": (),
        "list": ("enter",),
        "line": ("enter", "down", "down", "enter"),
        "pad, order": ("enter", *["down"] * 12, "enter", "o"),
        "baby": ("enter", "b"),
        "suitability": ("enter", "s"),
        "ready": ("enter", "r"),
        "labels": ("enter", "e"),
        "pad, weight": ("enter", "b", "enter"),
        "pad, weight refused": ("enter", "b", "enter", "1", "enter"),
        "pad, letters": ("w",),
        "menu": ("enter", "m"),
        "help": ("enter", "h"),
        "pad, reasons": ("enter", "d"),
        "message": ("enter", "d", "enter"),
        "pad, hand over": ("enter", "o"),
        "pad, who checks": ("enter", "c"),
        "pad, check, weight": CHECK,
        "pad, check, size": (*CHECK, *WEIGHED),
        "pad, check, volume": (*CHECK, *WEIGHED, "enter"),
        "pad, check, vials": (*CHECK, *WEIGHED, "enter", "3", "enter"),
        "cover": (*CHECK, "escape"),
        "message, stop the check": (*CHECK, "escape", "s"),
        "pad, weight differs": (*CHECK, "1", "enter"),
    },
    "checked": {
        "ready": ("enter", "r"),
        "labels": ("enter", "e"),
        "checked": ("enter", "c"),
    },
    "read aloud": {"ready": ("enter", "escape", "r")},
    "differs": {
        "checked": ("enter", "c"),
        "difference": ("enter", "c", "down", "enter"),
        "pad, settle": ("enter", "c", "down", "enter", "s"),
        "line": ("enter", "c", "down", "enter", "escape", *["down"] * 14, "enter"),
        "list": ("enter",),
        "ready": ("enter", "r"),
        "handover": ("enter", "enter"),
    },
    "pins": {
        "pad, who": ("w",),
        "pad, PIN": ("w", "enter", "1", "2"),
        "pad, PIN refused": ("w", "enter", *"1234", "enter"),
        "pad, who over a list": ("enter", "w"),
    },
    "locked": {"lock": (), "pad, who": ("s",)},
    "in hand": {
        "pad, batch": ("enter", *["down"] * 12, "space"),
        "pad, expiry": ("enter", *["down"] * 12, "space", *"ABCDEFGHIJ1234567890", "enter"),
        "line": ("enter", *["down"] * 13, "enter"),
        "labels": ("enter", "e"),
    },
    "at the cot": {
        "cot": (),
        "cot, further down": ("down",) * 9,
        "step": ("enter",),
        "pad, leave out": ("enter", "n"),
        "entry": (*["down"] * 3, "enter"),
        "pad, time": (*["down"] * 3, "enter", "t"),
        "pad, reading": ("down", "enter"),
        "pad, attempts": (*["down"] * 2, "enter"),
        "happening": ("e",),
        "entry, with rescue": ("e", "down", "enter"),
        "rescue": ("r",),
        "pad, come back": ("a",),
        "record": ("t",),
    },
    "afterwards": {
        "record": (),
        "pad, follow-up": ("enter",),
        "pad, outcome": (*["down"] * 4, "enter"),
        "complications": (*["down"] * 5, "enter"),
        "ended": ("escape", "escape", "e"),
    },
    "complete": {
        "record": (),
        "message, sign": ("s",),
        "record, closed": ("s", "right", "enter"),
    },
}

WAYS = {
    f"{scene}: {name}": Way(scene, keys, name.partition(",")[0])
    for scene, ways in _BY_SCENE.items()
    for name, keys in ways.items()
}


def _go_to_cot(desk: Desk, opened: OpenPreparation, finish: Callable[[OpenPreparation, CotClock], None] | None) -> None:
    assert opened.read_aloud() == ""
    if finish is None:
        for step in STEPS:
            assert opened.cot.do_step(step) == ""
    else:
        finish(opened, CotClock(desk))


def set_scene(request: pytest.FixtureRequest, scene: str) -> Desk:
    """The desk as a scene has it."""
    wants = {"pins": "begun_with_pins", "locked": "begun_with_pins", "in hand": "begun_in_hand"}
    if scene == "nothing":
        found: Desk = request.getfixturevalue("desk")
        return found
    if scene in {"no facts", "unlikely"}:
        found = request.getfixturevalue("desk")
        found.who = "RA"
        started = found.start("surfactant-supraglottic", "Cot 4")
        assert not isinstance(started, str)
        if scene == "unlikely":
            assert (started.give_fact("weight", "3200"), started.give_fact("gestation", "26+0")) == ("", "")
        return found
    if scene == "begun" or scene in wants:
        opened: OpenPreparation = request.getfixturevalue(wants.get(scene, "begun"))
        if scene == "in hand":
            assert opened.in_hand.give("atropine", "ABCDEFGHIJ1234567890", "2027-03") == ""
        return opened.desk
    if scene == "differs":
        opened = request.getfixturevalue("done")
        check_all(opened, wrong={"surfactant": "3.2", "atropine": "0.6"})
        assert opened.handing.hand_over("catheter still to mark, parents told, consent is in the notes") == ""
        return opened.desk
    opened = request.getfixturevalue("checked")
    finishes = {"afterwards": do_all, "complete": complete}
    if scene == "read aloud":
        assert opened.read_aloud() == ""
    elif scene != "checked":
        _go_to_cot(opened.desk, opened, finishes.get(scene))
    return opened.desk


async def follow(pilot: Hands, request: pytest.FixtureRequest, way: Way) -> None:
    """Press the keys of a way; the screen it leads to is shown."""
    if way.scene == "locked":
        clock: Clock = request.getfixturevalue("clock")
        await let_idle(pilot, clock, minutes=5)
    first = ("enter",) if way.scene in {"at the cot", "afterwards", "complete"} else ()
    await type_in(pilot, "", *first, *way.keys)
    if way.screen != "message":
        assert place(pilot) == way.screen
