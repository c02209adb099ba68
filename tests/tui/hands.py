"""What a person at the screen does: looks, types, touches, drags."""

from textual import events
from textual.geometry import Offset
from textual.pilot import Pilot
from textual.widget import Widget
from workstation_scene import Clock

from prepkit.app.kit_files import load_kit
from prepkit.paths import find_shipped
from prepkit.tui.app import PrepkitApp
from prepkit.tui.input.keypad import Cap, Keypad
from prepkit.tui.input.scanner import SEPARATOR
from prepkit.tui.input.touch import TouchScroll
from prepkit.tui.screens.base import WorkstationScreen
from prepkit.tui.widgets.button import Button
from prepkit.tui.widgets.row import Row

Hands = Pilot[None]
KIT = "surfactant-supraglottic"


def list_kit_lines() -> list[str]:
    """The ids of the kit's lines, all of which the list has for the usual baby."""
    kit, _ = load_kit(find_shipped("kits") / f"{KIT}.toml")
    assert kit is not None
    return [line.id for line in kit.model.line]


LINES = len(list_kit_lines())


def screen_of(pilot: Hands) -> WorkstationScreen[object]:
    screen = pilot.app.screen
    assert isinstance(screen, WorkstationScreen), screen
    return screen


def place(pilot: Hands) -> str:
    """Which screen is shown, by its part of the table of keys."""
    return screen_of(pilot).ROUTE


def read_screen(pilot: Hands) -> list[str]:
    """The text of the screen as it is painted, a string a row."""
    app = pilot.app
    width, height = app.size
    strips = app.screen._compositor.render_strips()
    return ["".join(segment.text for segment in strips[row]).ljust(width).rstrip() for row in range(height)]


def read_cells(pilot: Hands, widget: Widget) -> list[tuple[str, bool]]:
    """What is painted where a widget is: texts, and whether each is in reverse video."""
    found = []
    strips = pilot.app.screen._compositor.render_strips()
    region = widget.region.intersection(pilot.app.screen.region)
    for strip in strips[region.y : region.bottom]:
        cells = strip.crop(region.x, region.right)
        found += [(part.text, bool(part.text.strip() and part.style and part.style.reverse)) for part in cells]
    return found


def see(pilot: Hands) -> str:
    return "\n".join(read_screen(pilot))


async def settle(pilot: Hands) -> None:
    await pilot.pause()
    await pilot.pause()


async def type_in(pilot: Hands, text: str, *after: str) -> None:
    """Type on a keyboard, once the screen has come to rest."""
    await settle(pilot)
    await pilot.press(*text, *after)
    await settle(pilot)


async def begin(pilot: Hands, *answers: str) -> None:
    """Start a preparation on a keyboard: initials, cot label, birth weight, gestation, as far as they are given."""
    await type_in(pilot, "n")
    who, *rest = answers
    await type_in(pilot, who, "enter")
    await move_to(pilot, KIT)
    await type_in(pilot, "", "enter")
    for answer in rest:
        await type_in(pilot, answer, "enter")


async def move_to(pilot: Hands, key: str) -> None:
    """Move the mark down to a row, by its key or by how that begins."""
    for _ in range(100):
        marked = pilot.app.focused
        if isinstance(marked, Row) and marked.key.startswith(key):
            return
        await pilot.press("down")
    raise AssertionError(f"{key} cannot be reached with the arrow keys")


async def hammer(pilot: Hands, *keys: str) -> None:
    """Press keys faster than the screens answer, as a person does who types ahead."""
    for key in keys:
        pilot.app.post_message(events.Key(key, " " if key == "space" else key if len(key) == 1 else None))
    await settle(pilot)


def make_touch(kind: type[events.MouseEvent], at: Offset) -> events.MouseEvent:
    """What a terminal sends for a finger or a mouse."""
    return kind(None, at.x, at.y, 0, 0, 1, shift=False, meta=False, ctrl=False, screen_x=at.x, screen_y=at.y)


def _finger(pilot: Hands, kind: type[events.MouseEvent], at: Offset) -> None:
    """The same on the way that a driver takes."""
    pilot.app.post_message(make_touch(kind, at))


async def touch_at(pilot: Hands, at: Offset) -> None:
    """Touch the screen."""
    assert pilot.app.screen.region.contains_point(at), at
    _finger(pilot, events.MouseDown, at)
    _finger(pilot, events.MouseUp, at)
    await settle(pilot)


async def touch_twice(pilot: Hands, at: Offset) -> None:
    """Two touches that both arrive before the screen has answered the first."""
    for kind in (events.MouseDown, events.MouseUp) * 2:
        _finger(pilot, kind, at)
    await settle(pilot)


def find_touched(pilot: Hands, name: str) -> Button:
    """A button that can be seen."""
    return next(button for button in pilot.app.screen.query(Button) if button.display and button.name == name)


async def touch_button(pilot: Hands, name: str) -> None:
    """Touch a button that can be seen; where it is behind "More", through that."""
    shown = {button.name: button for button in pilot.app.screen.query(Button) if button.display}
    if name not in shown:
        await touch_at(pilot, middle(shown["more"]))
        await touch_row(pilot, name)
        return
    await touch_at(pilot, middle(shown[name]))


def middle(widget: Widget) -> Offset:
    region = widget.region
    return Offset(region.x + region.width // 2, region.y + region.height // 2)


async def touch_keys(pilot: Hands, text: str) -> None:
    """Touch the keys of the keypad, then Accept."""
    keypad = pilot.app.screen.query_one(Keypad)
    for character in text:
        cap = next(cap for row in keypad.caps for cap in row if cap.types == character)
        await touch_at(pilot, _key_spot(keypad, cap))
    await touch_button(pilot, "accept")


def _key_spot(keypad: Keypad, cap: Cap) -> Offset:
    corner, size = keypad.region_of(cap)
    return keypad.region.offset + corner + Offset((size.width - 1) // 2, 0)


async def drag(pilot: Hands, start: Offset, rows: int) -> None:
    """Put a finger down, move it by some rows, lift it."""
    for kind, moved in ((events.MouseDown, 0), (events.MouseMove, rows), (events.MouseUp, rows)):
        _finger(pilot, kind, start + Offset(0, moved))
        await pilot.pause()
    await settle(pilot)


async def flick(pilot: Hands, start: Offset, rows: int) -> None:
    """A drag so quick that all of it arrives at once."""
    for kind, moved in ((events.MouseDown, 0), (events.MouseMove, rows), (events.MouseUp, rows)):
        _finger(pilot, kind, start + Offset(0, moved))
    await settle(pilot)


async def bring_in_sight(pilot: Hands, widget: Widget) -> None:
    """Drag the column until a widget can be seen whole, or fills what can be seen."""
    column = next(above for above in widget.ancestors if isinstance(above, TouchScroll))
    for _ in range(60):
        window = column.scrollable_content_region
        if window.contains_region(widget.region) or (
            widget.region.y == window.y and widget.region.height > window.height
        ):
            return
        below = widget.region.bottom > window.bottom and widget.region.y > window.y
        reach = min(window.height - 2, max(abs(widget.region.y - window.y), 1))
        start = Offset(window.x + 12, window.bottom - 1 if below else window.y)
        await drag(pilot, start, -reach if below else reach)
    raise AssertionError(f"{widget} cannot be brought in sight")


def row_of(pilot: Hands, key: str) -> Row:
    return next(row for row in pilot.app.screen.query(Row) if row.key == key)


async def touch_row(pilot: Hands, key: str, *, sign: bool = False) -> None:
    """Touch a row's words, or its sign."""
    row = row_of(pilot, key)
    await bring_in_sight(pilot, row)
    spot = row.region.offset + Offset(3 if sign else row.region.width - 4, 1)
    await touch_at(pilot, spot)


def write_code(gtin: str, expiry: str = "271231", batch: str = "AB12") -> str:
    return f"01{gtin.zfill(14)}17{expiry}10{batch}"


def make_keys(text: str, gap: float, end: float = 0.0) -> list[events.Key]:
    """Keys as a terminal sends them, so many seconds apart, with Enter last."""
    keys: list[events.Key] = []
    start = events.Key("", None).time + 1.0  # well after anything that was typed before
    for at, character in enumerate([*text, "\r"]):
        name = {SEPARATOR: "ctrl+right_square_bracket", "\r": "enter"}.get(character, character)
        key = events.Key(name, character)
        key.time = start + at * gap + (end if character == "\r" else 0.0)
        keys.append(key)
    return keys


async def scan(pilot: Hands, text: str, gap: float = 0.004) -> None:
    await settle(pilot)
    for key in make_keys(text, gap):
        pilot.app.post_message(key)
    await settle(pilot)


async def let_idle(pilot: Hands, clock: Clock, **by: float) -> None:
    """Let time pass without a touch; the app looks at the clock as it does every second."""
    clock.move(**by)
    app = pilot.app
    assert isinstance(app, PrepkitApp)
    app.lock_if_idle()
    await settle(pilot)


TODAY = "2026-11-25"
CHECK_ANSWERS = ("1", "3.6", "1", "1", "15", "0.58", "1", "0.2")
"""What a checker gives who works the list of 1450 g and 30+2 out right, question by question: the size first."""


async def check_by_keys(pilot: Hands, who: str = "to", weight: str = "1450", wrong: str = "") -> None:
    """Check on a keyboard, from the question who checks; `wrong` is the volume of surfactant where it is to differ."""
    for typed in (who, weight):
        await type_in(pilot, typed, "enter")
    await move_to(pilot, TODAY)
    await type_in(pilot, "", "enter")
    await move_to(pilot, CHECK_ANSWERS[0])
    await type_in(pilot, "", "enter")
    for typed in (wrong or CHECK_ANSWERS[1], *CHECK_ANSWERS[2:]):
        await type_in(pilot, typed, "enter")


async def check_by_touch(pilot: Hands, who: str = "TO", weight: str = "1450", wrong: str = "") -> None:
    """The same by touch."""
    for typed in (who, weight):
        await touch_keys(pilot, typed)
    await touch_row(pilot, TODAY)
    await touch_row(pilot, CHECK_ANSWERS[0])
    for typed in (wrong or CHECK_ANSWERS[1], *CHECK_ANSWERS[2:]):
        await touch_keys(pilot, typed)


def run(desk: object, size: tuple[int, int]):  # noqa: ANN201 (the library's own context)
    return PrepkitApp(desk).run_test(size=size)  # type: ignore[arg-type]
