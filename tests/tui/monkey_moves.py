"""What the monkey does in one step: a key, a touch, a drag, a scan; each sent to the app, and said in words."""

import random  # noqa: TID251  (seeded: the same steps at every run)
from collections.abc import Callable

from hands import write_code
from monkey_drive import Driver
from monkey_usual import do_usual
from textual import events
from textual.geometry import Offset
from textual.widget import Widget
from tui_samples import ATROPINE, SURFACTANT

from prepkit.tui.input.keys import KEYS
from prepkit.tui.input.touch import Touchable
from prepkit.tui.screens.base import WorkstationScreen

SIZES = [(36, 18), (40, 20), (60, 20), (80, 24), (120, 40), (60, 60)]
OTHER_KEYS = ("tab", "shift+tab", "home", "end", "delete", "f1", "ctrl+right_square_bracket", "ctrl+a")
LEAVING = ("ctrl+c", "ctrl+q")
TEXT = "aegmrtKMRATOxyz ,.-+:/?!0123456789%é€[]\\"
ALL_KEYS = sorted({name for keys in KEYS.values() for key in keys for name in key.keys.split(",")})

Chance = random.Random
Move = Callable[[Driver, Chance], str]


def _map_of(driver: Driver) -> str:
    screen = driver.screen
    return screen.ROUTE if isinstance(screen, WorkstationScreen) else "message"


def press_own_key(driver: Driver, chance: Chance) -> str:
    """A key that the screen has a use for; where it has one less often, one that leaves it more seldom."""
    keys = [name for key in KEYS[_map_of(driver)] for name in key.keys.split(",")]
    name = chance.choice([key for key in keys if key != "escape" or chance.random() < 0.3] or keys)
    driver.press(name)
    return f"key {name}"


def press_any_key(driver: Driver, chance: Chance) -> str:
    """A key of another screen, one of nobody's, a digit or a letter."""
    pools = (ALL_KEYS, OTHER_KEYS, TEXT, LEAVING)
    name = chance.choice(chance.choices(pools, (10, 3, 10, 0.3))[0])
    driver.press("space" if name == " " else name)
    return f"key {name}"


def hammer(driver: Driver, chance: Chance) -> str:
    """Several keys faster than the screens answer."""
    keys = [chance.choice([*ALL_KEYS, *"0123456789"]) for _ in range(chance.randint(2, 6))]
    driver.press(*keys, gap=0.1)
    return f"keys at once: {' '.join(keys)}"


def touch_target(driver: Driver, chance: Chance) -> str:
    """Something that can be touched and seen."""
    found = _find_target(driver, chance)
    if found is None:
        return touch_cell(driver, chance)
    driver.touch(found[1])
    return f"touch {found[1].x},{found[1].y}: {_name(found[0])}"


def touch_twice(driver: Driver, chance: Chance) -> str:
    """Two touches before the first is answered, mostly in one place: a thumb that trembles."""
    first = _find_target(driver, chance)
    if first is None:
        return touch_cell(driver, chance)
    second = first if chance.random() < 0.7 else _find_target(driver, chance) or first
    for _, at in (first, second):
        driver.touch(at)
    return f"touch {first[1].x},{first[1].y} and {second[1].x},{second[1].y}: {_name(first[0])}, {_name(second[0])}"


def _find_target(driver: Driver, chance: Chance) -> tuple[Widget, Offset] | None:
    window = driver.screen.region
    seen = [(each, _seen_part(each)) for each in driver.screen.query(Touchable) if each.display]
    shown = [(each, part) for each, part in seen if part.area and window.contains_region(part)]
    if not shown:
        return None
    widget, part = chance.choice(shown)
    return widget, Offset(chance.randrange(part.x, part.right), chance.randrange(part.y, part.bottom))


def _seen_part(widget: Widget):  # noqa: ANN202  (the library's own type)
    """The part of a widget that is in sight."""
    part = widget.region
    for above in widget.ancestors:
        if isinstance(above, Widget):
            part = part.intersection(above.region)
    return part


def _name(widget: Widget) -> str:
    said = getattr(widget, "key", None) or getattr(widget, "label", None) or widget.name or ""
    return f"{type(widget).__name__} {said}".strip()


def _any_cell(driver: Driver, chance: Chance) -> Offset:
    width, height = driver.app.size
    return Offset(chance.randrange(width), chance.randrange(height))


def touch_cell(driver: Driver, chance: Chance) -> str:
    at, button = _any_cell(driver, chance), chance.choice((1, 1, 1, 2, 3))
    driver.touch(at, button=button)
    return f"touch {at.x},{at.y} with button {button}"


def slip(driver: Driver, chance: Chance) -> str:
    """Down in one place and up in another."""
    at, to = _any_cell(driver, chance), _any_cell(driver, chance)
    driver.touch(at, to)
    return f"down at {at.x},{at.y}, up at {to.x},{to.y}"


def drag(driver: Driver, chance: Chance) -> str:
    """A finger that moves; sometimes its lifting is lost, sometimes a second one comes down before."""
    at, way = _any_cell(driver, chance), [_any_cell(driver, chance) for _ in range(chance.randint(1, 3))]
    driver.point(events.MouseDown, at)
    for to in way:
        driver.point(events.MouseMove, to)
    is_lost = chance.random() < 0.1
    if not is_lost:
        driver.point(events.MouseUp, way[-1])
    driver.touches += 1
    return f"drag from {at.x},{at.y} to {way[-1].x},{way[-1].y}{', never lifted' if is_lost else ''}"


def wheel(driver: Driver, chance: Chance) -> str:
    at, kind = _any_cell(driver, chance), chance.choice((events.MouseScrollDown, events.MouseScrollUp))
    driver.point(kind, at)
    driver.touches += 1
    return f"{kind.__name__} at {at.x},{at.y}"


def paste(driver: Driver, chance: Chance) -> str:
    text = chance.choice(["1450", "AB12", "Cot 7\n", " ", "é" * 60, "RA\nKM", "x" * 500, write_code(SURFACTANT)])
    driver.paste(text)
    return f"paste {text[:30]!r}"


def scan(driver: Driver, chance: Chance) -> str:
    """What a scanner types: the right pack, the wrong one, one out of date, none of ours."""
    code = chance.choice(
        [
            write_code(SURFACTANT),
            write_code(ATROPINE),
            write_code(SURFACTANT, "200131"),
            "4006381333931",
            "]d2" + "9" * 30,
        ]
    )
    driver.press(*code, "enter", gap=0.004)
    return f"scan {code}"


def resize(driver: Driver, chance: Chance) -> str:
    width, height = chance.choice(SIZES)
    driver.resize(width, height)
    return f"resize to {width}x{height}"


MOVES: dict[str, tuple[Move, float]] = {
    "usual": (do_usual, 46),
    "key": (press_own_key, 14),
    "any-key": (press_any_key, 6),
    "hammer": (hammer, 3),
    "target": (touch_target, 14),
    "twice": (touch_twice, 4),
    "cell": (touch_cell, 4),
    "slip": (slip, 1),
    "drag": (drag, 3),
    "wheel": (wheel, 2),
    "paste": (paste, 1),
    "scan": (scan, 1),
    "resize": (resize, 2),
}
"""What is done at the screen, and how often."""
