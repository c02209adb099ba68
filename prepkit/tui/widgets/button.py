"""Buttons big enough for a thumb, and the action bar at the bottom of every screen."""

from collections.abc import Iterable, Sequence
from typing import ClassVar

from msgspec import Struct
from textual import events
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Horizontal
from textual.content import Content
from textual.geometry import Offset
from textual.message import Message

from prepkit.tui.input.keys import bindings_of
from prepkit.tui.input.touch import Touchable
from prepkit.tui.layout import wrap
from prepkit.tui.widgets.text import TextBlock

NARROW = 60
FEW = 3
"""Most buttons in a narrow bar."""

MANY = 12
EDGES = 2
ROOMY_EDGES = 4
GAP = 1
"""Between two buttons of a bar."""
LEAST_PRIMARY = 16
TIGHT, LEAST_IN_TIGHT = 40, 14
"""Below so many cells the primary button gives way a little, before another one is out of reach."""


class ButtonRow(Horizontal):
    """Widgets in a row: ◀ and ▶ move among them, ▲ and ▼ go past them."""


class Button(TextBlock, Touchable, can_focus=True):
    """A label in a box; the underlined letter is its key."""

    FOCUS_ON_CLICK = False
    BINDINGS: ClassVar[list[BindingType]] = bindings_of("button")

    class Pressed(Message):
        """The button was touched, or Enter or space was pressed on it."""

        def __init__(self, button: "Button") -> None:
            super().__init__()
            self.button = button

        @property
        def control(self) -> "Button":
            """The button, for selectors."""
            return self.button

    def __init__(self, name: str, label: str, letter: str = "", *, classes: str | None = None) -> None:
        super().__init__(name=name, classes=classes)
        self._label = label
        self._letter = letter

    def relabel(self, label: str, letter: str = "") -> None:
        """Show another label; `letter` is its key."""
        self._letter = letter
        if label != self._label:
            self._label = label
            self.redraw()

    @property
    def label(self) -> str:
        """The words on the button."""
        return self._label

    def lines(self, width: int) -> list[Content]:
        """The label, centred by the stylesheet; ▶ stands before it while it has the focus."""
        marked = f"▶ {self._label}" if self.has_focus and width >= len(self._label) + 2 else self._label
        style = "reverse" if self.has_focus else ""
        at = self._label.lower().find(self._letter) if len(self._letter) == 1 else -1
        found = False
        lines = []
        for words in wrap(marked, width) or [""]:
            line = Content.styled(words, style)
            spot = words.lower().find(self._letter) if at >= 0 and not found else -1
            if spot >= 0:
                line, found = line.stylize("underline", spot, spot + 1), True
            lines.append(line)
        return lines

    def touch(self, at: Offset) -> None:  # noqa: ARG002 (anywhere on it will do)
        """Press it."""
        self.action_press()

    def action_press(self) -> None:
        """Tell whoever holds the button."""
        self.post_message(self.Pressed(self))


class Action(Struct, frozen=True):
    """One thing that can be done on a screen now."""

    name: str
    label: str
    letter: str = ""


class ActionBar(ButtonRow):
    """The actions of a screen: the primary one largest and rightmost, what has no room behind "More"."""

    def __init__(self, names: Iterable[str]) -> None:
        super().__init__(id="bar")
        self._names = tuple(names)
        self._actions: tuple[Action, ...] = ()
        self._primary: str | None = None
        self.hidden_actions: tuple[Action, ...] = ()
        """Actions that wait behind "More"."""

    def compose(self) -> ComposeResult:
        """One button for every action the screen may ever offer."""
        for name in self._names:
            button = Button(name, name)
            button.display = False
            yield button

    def show(self, actions: Sequence[Action], primary: str | None) -> None:
        """Offer these actions, in order of use; "back" and "more" come first on the left where they are among them."""
        if (tuple(actions), primary) == (self._actions, self._primary):
            return
        self._actions, self._primary = tuple(actions), primary
        self._arrange(self.size.width or self.app.size.width)

    def on_resize(self, event: events.Resize) -> None:
        """Offer as many as there is room for now."""
        self._arrange(event.size.width)

    def _arrange(self, width: int) -> None:
        if not self._actions:
            return
        shown, self.hidden_actions = _fitting(self._actions, self._primary, width)
        by_name = {action.name: action for action in shown}
        for button in self.query(Button):
            action = by_name.get(button.name or "")
            button.display = action is not None
            button.set_class(button.name == self._primary, "-primary")
            if action is not None:
                button.styles.width = "1fr" if action.name == self._primary else len(action.label) + _edges(width)
                button.relabel(action.label, action.letter)
        self._put_in_order([action.name for action in shown])

    def _put_in_order(self, names: list[str]) -> None:
        buttons = {button.name: button for button in self.query(Button)}
        wanted = [buttons[name] for name in names]
        if [child for child in self.children if child.display] != wanted:
            for button in wanted:
                self.move_child(button, after=len(self.children) - 1)


def _edges(width: int) -> int:
    return EDGES if width < NARROW else ROOMY_EDGES


def _fitting(actions: tuple[Action, ...], primary: str | None, width: int) -> tuple[list[Action], tuple[Action, ...]]:
    """The actions that fit, in the order of their buttons, and those that wait behind "More"."""
    last = [action for action in actions if action.name == primary]
    more = [action for action in actions if action.name == "more"]
    back = [action for action in actions if action.name == "back"]
    rest = [action for action in actions if action not in (*last, *more, *back)]
    if _fits([*back, *rest, *last], width):
        return [*back, *rest, *last], ()
    shown = [*back, *more]
    while rest and _fits([*shown, rest[0], *last], width):
        shown.append(rest.pop(0))
    return [*shown, *last], tuple(rest)


def _fits(actions: list[Action], width: int) -> bool:
    *others, last = actions
    room = sum(len(action.label) + _edges(width) + GAP for action in others)
    most = FEW if width < NARROW else MANY
    least = LEAST_IN_TIGHT if width < TIGHT else LEAST_PRIMARY
    return len(actions) <= most and room + max(len(last.label) + _edges(width), least) <= width
