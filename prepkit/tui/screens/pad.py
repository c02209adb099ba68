"""The pad: one question after the other, answered on keys of our own, on a keyboard, or by touching a choice."""

from collections.abc import Callable
from typing import ClassVar

from msgspec.structs import replace
from textual import events, on
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Center, Vertical

from prepkit.app.workstation import Workstation
from prepkit.tui.input import keypad
from prepkit.tui.input.keypad import Caps, Keypad
from prepkit.tui.input.keys import bindings_of
from prepkit.tui.input.scanner import SEPARATOR, ScanDetector, is_code
from prepkit.tui.prompts.prompt import Prompt, Wizard
from prepkit.tui.screens.base import SCAN_WHERE, WorkstationScreen
from prepkit.tui.widgets.button import Action, ActionBar, Button
from prepkit.tui.widgets.column import Column, Item, RowItem, WordsItem
from prepkit.tui.widgets.field import Field
from prepkit.tui.widgets.row import Row, RowText
from prepkit.tui.widgets.text import Sentence
from prepkit.view.models import InputKind
from prepkit.view.routes import ScreenRoute

MOST_IN_A_PIN = 8

CAPS: dict[InputKind, Caps] = {
    InputKind.GRAMS: keypad.GRAMS,
    InputKind.GESTATION: keypad.GESTATION,
    InputKind.NUMBER: keypad.NUMBER,
    InputKind.COUNT: keypad.GRAMS,
    InputKind.MOMENT: keypad.MOMENT,
    InputKind.DATE: keypad.DATE,
    InputKind.CLOCK: keypad.CLOCK,
}


class PadScreen(WorkstationScreen[bool]):
    """Asks until the wizard has no more questions; True when all are answered, False when left before."""

    ROUTE = ScreenRoute.PAD
    CSS_PATH = "pad.tcss"
    BINDINGS: ClassVar[list[BindingType]] = bindings_of(ROUTE)
    TAKES_TYPING = True

    LOW_KEYS: ClassVar[bool] = False
    """Whether the words need more room than the keys."""

    def __init__(self, desk: Workstation, wizard: Wizard) -> None:
        super().__init__(desk, wizard.preparation)
        self._wizard = wizard
        self._ask: Prompt | None = None
        self._before: list[Prompt] = []
        self._refusal = ""
        self._keys = ScanDetector()

    def compose(self) -> ComposeResult:
        """Words or choices, the field, and the keys."""
        yield from self.compose_head()
        with Center(id="around"), Vertical(id="pad"):
            yield Column(id="body")
            yield Field()
            yield Keypad(low=self.LOW_KEYS)
        yield ActionBar(("back", "other", "help", "accept"))

    @property
    def field(self) -> Field:
        """The field typed into."""
        return self.query_one(Field)

    def draw(self) -> None:
        """Show the question, or ask the first one."""
        if self._ask is None:
            following = self._wizard.next_prompt()
            if following is None:
                self.leave(answered=True)
                return
            self._put(following)
            self.call_after_refresh(self._mark_choice)
        self._show()

    def leave(self, *, answered: bool) -> None:
        """Close the pad; tell whoever asked whether everything is answered."""
        self.dismiss(answered)

    def _put(self, ask: Prompt) -> None:
        self._ask, self._refusal = ask, ""
        self._keys.clear()
        by_choice = ask.entry is InputKind.CHOICE
        pad = self.query_one("#pad")
        pad.set_class(ask.entry in CAPS, "-number")
        pad.set_class(by_choice, "-choice")
        self.field.display = self.query_one(Keypad).display = not by_choice
        if by_choice:
            # A field that is hidden gives its focus up only later, and would take the first choice its mark.
            self.set_focus(None)
        else:
            self.field.ask(ask.label, ask.unit, ask.typed, secret=ask.is_secret, is_text=ask.entry is InputKind.TEXT)
            self.query_one(Keypad).lay(CAPS.get(ask.entry) or keypad.letters(capitals=ask.capitals))
            self.set_focus(self.field)

    def _show(self) -> None:
        ask = self._ask
        if ask is None:
            return
        banner = self._wizard.banner()
        self.set_class(banner is not None, "-bannered")
        self.head(banner, ask.heading or self._wizard.title or ask.label)
        self.body.show(_items(ask, self._refusal))
        other = [Action("other", ask.alternative.label)] if ask.alternative else []
        accept = [] if ask.entry is InputKind.CHOICE else [self.action_named("accept")]
        rest = other or [self.action_named("help")]
        self.offer(self.action_named("back"), *rest, *accept, primary="accept" if accept else None)

    def go_on(self) -> None:
        """Ask the next question, or leave if there is none."""
        self._ask = None
        self.show_now()

    def _mark_choice(self) -> None:
        by_choice = self._ask is not None and self._ask.entry is InputKind.CHOICE
        if self._ask is not None and by_choice and not self.body.mark(self._ask.typed):
            self.keep_mark()

    def _answer(self, typed: str) -> None:
        ask = self._ask
        if ask is not None:
            is_last = ask.final or ask.is_secret
            self._take(lambda: ask.accept(typed), [] if is_last else [*self._before, replace(ask, typed=typed)])

    def _take(self, act: Callable[[], str], before: list[Prompt]) -> None:
        """Take an answer and ask on, with what one can go back to then; or say why it was refused."""
        self._refusal = self.attempt(act)
        if self._refusal:
            self._refuse()
            return
        self.preparation = self._wizard.preparation
        self._before = before
        self.safely(self.go_on)

    def _refuse(self) -> None:
        self.field.refuse()
        self.safely(self.show_now)
        self.body.scroll_home(animate=False)

    def _scan(self, text: str) -> None:
        """Answer with what a scanner typed, where a scan is an answer; nothing of it stays in the field."""
        ask = self._ask
        if ask is None:
            return
        self._keys.clear()
        scan = ask.scan
        if scan is None:
            self._refuse_scan(text)
            return
        self.field.clear()
        self._refusal = self.attempt(lambda: scan(text))
        if self._refusal:
            self._refuse()
        else:
            self.safely(self.go_on)

    def _refuse_scan(self, text: str) -> None:
        """Take what a scanner typed out of the field again, and say where scanning is done."""
        self.field.take_away(len(text.replace(SEPARATOR, "")))
        self._refusal = SCAN_WHERE
        self.safely(self.show_now)
        self.body.scroll_home(animate=False)

    def on_screen_suspend(self) -> None:
        """Forget a PIN half typed when another screen comes over it, as the lock does."""
        if self._ask is not None and self._ask.is_secret:
            self.field.clear()

    # Typing

    def on_key(self, event: events.Key) -> None:
        """Take every character that is typed into the field, and Enter, ⌫, Esc, ▲ and ▼ in their turn among them.

        The bindings would handle them after keys that were typed later, because the app looks a binding up only once a
        key has passed through every widget: ▼ and Enter in one go would choose the row above.
        """
        in_turn = self._list_in_turn().get(event.key)
        is_character = event.is_printable and bool(event.character) and self.field.display
        is_scanned = self._keys.take(event) and self._is_scan(self._keys)
        if in_turn is None and not is_character:
            return
        event.stop()
        if not self.is_on_top:
            return
        if is_scanned:
            self._scan(self._keys.text)
        elif in_turn is not None:
            in_turn()
        elif event.character == " " and isinstance(self.focused, Button):
            self.focused.action_press()
        elif event.character:
            self._type(event.character)

    def _list_in_turn(self) -> dict[str, Callable[[], None]]:
        return {
            "enter": self._enter,
            "backspace": self.action_rub_out,
            "escape": self.action_back,
            "up": lambda: self._move(-1),
            "down": lambda: self._move(1),
        }

    def _move(self, step: int) -> None:
        if isinstance(self.focused, Keypad):
            self.focused.action_walk(step, 0)
        else:
            self.action_step(step)

    def _is_scan(self, keys: ScanDetector) -> bool:
        """Whether what ended in Enter was a scan: where none is taken it may be text, or a PIN, quickly typed."""
        ask = self._ask
        if ask is None or ask.scan is not None:
            return ask is not None
        return keys.is_quick and " " not in keys.text and not (ask.is_secret and len(keys.text) <= MOST_IN_A_PIN)

    def _enter(self) -> None:
        pressed = self.focused
        if isinstance(pressed, Button | Keypad):
            pressed.action_press()
        else:
            self.action_accept()

    def on_paste(self, event: events.Paste) -> None:
        """Take pasted characters into the field."""
        pasted = event.text.strip("\r\n ")
        if self._ask is not None and self._ask.scan is not None and is_code(pasted):
            self._scan(pasted)
        elif self.field.display:
            self._type(" ".join(event.text.split()))

    @on(Keypad.Typed)
    def _typed_on_keypad(self, event: Keypad.Typed) -> None:
        if event.types == keypad.RUB_OUT:
            self.field.rub_out()
        elif event.types == keypad.CLEAR:
            self.field.clear()
        else:
            self.field.type(event.types)

    def _type(self, characters: str) -> None:
        self.field.type(characters)
        self.set_focus(self.field)

    # Actions

    def action_page(self, step: int) -> None:
        """Scroll the words; the mark stays in the field."""
        self.body.scroll_relative(y=step * max(self.body.size.height - 1, 1), animate=False)

    def action_rub_out(self) -> None:
        """Rub out the last character."""
        if self.field.display:
            self.field.rub_out()

    def action_accept(self) -> None:
        """Accept the marked choice, or what is in the field."""
        if self.field.display:
            self._answer(self.field.typed)
        else:
            self.action_open()

    def action_other(self) -> None:
        """Take the alternative to answering."""
        ask = self._ask
        if ask is not None and ask.alternative is not None:
            before = [*self._before, ask] if ask.alternative.is_answer else self._before
            self._take(ask.alternative.take, [] if ask.alternative.is_answer and ask.final else before)

    def action_back(self) -> None:
        """Go back to the question before, or leave where there is none, or where this one may stay open."""
        if not self._before or (self._ask is not None and self._ask.may_stay_open):
            self.leave(answered=False)
            return
        self._put(self._before.pop())
        self._show()
        self.call_after_refresh(self._mark_choice)

    def open_row(self, row: Row) -> None:
        """Answer with the choice."""
        self._answer(row.key)


def _items(ask: Prompt, refusal: str) -> list[Item]:
    said = [WordsItem("refusal", (Sentence(refusal, "bold $ask", lead="✗ "),))] if refusal else []
    words = WordsItem("words", tuple(Sentence(words) for words in ask.words), classes="words")
    rows = [
        RowItem(value, RowText(shown, sign="✓" if value == ask.typed else "○"), classes="choice")
        for value, shown in ask.choices
    ]
    after = [WordsItem("after", tuple(Sentence(words, "$pale") for words in ask.after))] if ask.after else []
    return [*said, words, *rows, *after]
