"""The usual next thing: what somebody who knows the work does at a screen, so that a monkey gets to the end of it."""

import random  # noqa: TID251  (seeded: the same steps at every run)
from collections.abc import Callable

from monkey_drive import Driver
from textual.geometry import Offset
from textual.widget import Widget
from tui_samples import STAFF
from workstation_scene import enter_as_listed

from prepkit.tui.prompts.check import SecondCheckWizard
from prepkit.tui.prompts.prompt import Prompt
from prepkit.tui.screens.base import WorkstationScreen
from prepkit.tui.screens.pad import PadScreen
from prepkit.tui.screens.preparation import PreparationScreen
from prepkit.tui.widgets.button import Button
from prepkit.tui.widgets.column import Column
from prepkit.tui.widgets.row import Row
from prepkit.view.models import InputKind, Sign

Chance = random.Random
PINS = {who: pin for who, (_, pin) in STAFF.items()} | {"TO": "58204713"}
"""Everybody's, invented."""
WEIGHTS = ("1450", "980", "2100", "560", "4200")
NUMBERS = ("0.4", "3.6", "6", "38", "21", "95", "2")
LINES = ("parents told", "AB12", "another size was needed", "tube marked at 8 cm")

KEYS = {
    "home": ("enter", "enter", "enter", "down enter", "n", "e", "c", "p", "w"),
    "ready": ("c", "a", "g", "enter", "l"),
    "baby": ("c", "l", "enter"),
    "suitability": ("l", "g"),
    "checked": ("r", "down enter", "c"),
    "difference": ("s", "s", "f", "escape"),
    "line": ("space", "i", "o", "w", "n", "escape"),
    "cot": ("space", "space", "space", "down enter", "t", "e", "r"),
    "step": ("space", "n"),
    "entry": ("g", "t", "n", "enter", "escape", "s"),
    "happening": ("enter", "down enter"),
    "rescue": ("escape", "e"),
    "record": ("f", "s", "f", "s", "a", "enter", "down enter", "escape"),
    "complications": ("space", "a", "down space"),
    "ended": ("enter", "escape"),
    "cover": ("g", "g", "s", "o"),
    "lock": ("s",),
    "handover": ("t", "l"),
    "menu": ("enter", "down enter", "down down enter", "escape"),
}
"""Beside the largest button: what else is usual on a screen."""


def do_usual(driver: Driver, chance: Chance) -> str:
    """Send it, and say it."""
    screen = driver.screen
    if isinstance(screen, PadScreen):
        return _answer(driver, screen, chance)
    if not isinstance(screen, WorkstationScreen):
        return _press(driver, chance.choice(("right enter", "enter")))
    return _do_own(driver, screen, chance) or _do_primary(driver, screen, chance)


def _do_own(driver: Driver, screen: WorkstationScreen[object], chance: Chance) -> str:
    """What this screen is for; empty where that is the largest button's."""
    if screen.ROUTE == "home" and (rows := list(screen.query(Row))) and chance.random() < 0.6:
        return _touch_in_sight(driver, chance.choice(rows), chance)
    if screen.ROUTE == "list" and chance.random() < 0.7:
        return _tick_next(driver, chance)
    if screen.ROUTE == "suitability" and (rows := list(screen.query(Row))) and chance.random() < 0.3:
        return _touch_in_sight(driver, chance.choice(rows), chance)
    if screen.ROUTE in KEYS and chance.random() < 0.5:
        return _press(driver, chance.choice(KEYS[screen.ROUTE]))
    return ""


def _do_primary(driver: Driver, screen: WorkstationScreen[object], chance: Chance) -> str:
    primary = next((each for each in screen.query(Button) if each.display and each.has_class("-primary")), None)
    return _touch_in_sight(driver, primary, chance) if primary is not None else _press(driver, "enter")


def _press(driver: Driver, keys: str) -> str:
    driver.press(*keys.split())
    return f"key {keys}"


def _touch_in_sight(driver: Driver, widget: Widget, chance: Chance, at: Offset | None = None) -> str:
    """Touch it; where it is out of sight in its column, page towards it."""
    column = next((above for above in widget.ancestors if isinstance(above, Column)), None)
    spot = at or widget.region.offset + Offset(widget.region.width // 2, widget.region.height // 2)
    if column is not None and not column.region.contains_point(spot):
        return _press(driver, "pageup" if spot.y < column.region.y else "pagedown")
    if not driver.screen.region.contains_point(spot):
        return _press(driver, "escape")
    driver.touch(spot)
    return f"touch {spot.x},{spot.y}: {type(widget).__name__} {getattr(widget, 'key', widget.name)}"


def _tick_next(driver: Driver, chance: Chance) -> str:
    """Touch the sign of a line that is to do; where none is left, go on to ready."""
    screen = driver.screen
    rows = [
        row for row in screen.query(Row) if row.key.startswith("line ") and row.text.sign in {Sign.TO_DO, Sign.CHANGED}
    ]
    if not rows:
        return _press(driver, chance.choice(("r", "s", "c", "f", "t", "b", "e", "o")))
    row = chance.choice(rows)
    return _touch_in_sight(driver, row, chance, row.region.offset + Offset(3, 1))


def _answer(driver: Driver, screen: PadScreen, chance: Chance) -> str:
    """What is asked for, mostly right."""
    ask = screen._ask
    if ask is None:
        return _press(driver, "escape")
    if ask.alternative is not None and chance.random() < 0.15:
        other = next(button for button in screen.query(Button) if button.name == "other")
        return _touch_in_sight(driver, other, chance)
    typed = _find_answer(driver, screen, ask, chance)
    if ask.entry is InputKind.CHOICE:
        return _choose(driver, screen, typed, chance)
    driver.press(*("space" if each == " " else each for each in typed), "enter", gap=0.3)
    return f"type {'the PIN' if ask.is_secret else repr(typed)} for {ask.label}"


def _choose(driver: Driver, screen: PadScreen, wanted: str, chance: Chance) -> str:
    rows = list(screen.query(Row))
    row = next((row for row in rows if row.key == wanted), None) or chance.choice(rows)
    if chance.random() < 0.5:
        return _touch_in_sight(driver, row, chance)
    marked = next((at for at, each in enumerate(rows) if each.has_focus), 0)
    by = rows.index(row) - marked
    driver.press(*["down" if by > 0 else "up"] * abs(by), "enter")
    return f"choose {row.key!r}"


def _find_answer(driver: Driver, screen: PadScreen, ask: Prompt, chance: Chance) -> str:
    if ask.is_secret:
        who = ask.words[0].partition(":")[0]
        return PINS[who] if who in PINS and chance.random() < 0.95 else "1234"
    if ask.capitals and ask.label not in {"Batch", "Cot label"}:
        return _find_person(screen, chance)
    wizard = screen._wizard
    if isinstance(wizard, SecondCheckWizard) and chance.random() < 0.93 and (right := _work_out(wizard)) is not None:
        return right
    return ANSWERS[ask.entry](driver, screen, chance)


def _find_person(screen: PadScreen, chance: Chance) -> str:
    """Anybody; mostly somebody who may check, where a checker is asked for."""
    wizard = screen._wizard
    hands = wizard.checked.session.state.preparers if isinstance(wizard, SecondCheckWizard) else frozenset()
    free = [who for who in ("TO", "KM", "RA") if who not in hands and chance.random() < 0.9]
    return chance.choice(free or list(PINS))


def _work_out(wizard: SecondCheckWizard) -> str | None:
    """What a checker enters who works it out right: the weight, the size, the volume, how many of each vial."""
    prepared = wizard.checked
    view = prepared.check.show_check()
    tray = prepared.session.work_out().tray
    if not prepared.check.is_signed_in or tray is None:
        return None
    if view.asks_weight:
        return str(tray.baby.weight_g)
    line = next((line for line in tray.lines if view.field and line.id == view.field.line), None)
    if line is None:
        return None
    value, counts = enter_as_listed(line)
    given = len(wizard._given)
    return value if not given else counts.get(view.field.containers[given - 1][0], "0") if view.field else None


def _weigh(driver: Driver, screen: PadScreen, chance: Chance) -> str:
    prepared = screen._wizard.preparation or next(
        (each.prep for each in driver.app.screen_stack if isinstance(each, PreparationScreen)), None
    )
    known = prepared.session.state.facts.get("birth_weight", "") if prepared else ""
    return known.removesuffix(" g") if known and chance.random() < 0.8 else chance.choice(WEIGHTS)


def _now(driver: Driver, _: PadScreen, chance: Chance, form: str) -> str:
    return f"{driver.app.desk.clock():{form}}"


ANSWERS: dict[InputKind, Callable[[Driver, PadScreen, Chance], str]] = {
    InputKind.GRAMS: _weigh,
    InputKind.GESTATION: lambda _d, _s, chance: chance.choice(("30+2", "30+2", "26+0", "34+1")),
    InputKind.NUMBER: lambda _d, _s, chance: chance.choice(NUMBERS),
    InputKind.COUNT: lambda _d, _s, chance: chance.choice("0123"),
    InputKind.CHOICE: lambda _d, _s, _c: "",
    InputKind.MOMENT: lambda driver, screen, chance: _now(driver, screen, chance, "%Y-%m-%d %H:%M"),
    InputKind.DATE: lambda _d, _s, chance: chance.choice(("2027-12-31", "2027-03", "2020-01-31")),
    InputKind.CLOCK: lambda driver, screen, chance: _now(driver, screen, chance, "%H:%M"),
    InputKind.TEXT: lambda _d, _s, chance: chance.choice((*LINES, "Cot 4", "Cot 7")),
}
