"""At the cot: the next step, the clocks, what happens out of plan, and the rescue lines."""

from typing import ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.timer import Timer
from textual.widget import Widget

from prepkit.tui.input.keys import bindings_of
from prepkit.tui.prompts.prompt import ReasonWizard
from prepkit.tui.screens.preparation import PreparationScreen
from prepkit.tui.widgets.button import Button, ButtonRow
from prepkit.tui.widgets.column import Column, HeadingItem, Item, RowItem, WordsItem
from prepkit.tui.widgets.cot import BoardItem, ClocksItem, NextBoard, board_of, compartment_of
from prepkit.tui.widgets.row import Row, RowText
from prepkit.tui.widgets.text import Sentence
from prepkit.view.cot import CotView, StepRow
from prepkit.view.models import Sign
from prepkit.view.routes import ScreenRoute


class HappeningScreen(PreparationScreen):
    """One row a happening; a touch records it now and shows what is done then."""

    ROUTE = ScreenRoute.HAPPENING
    CSS_PATH = "steps.tcss"
    BINDINGS: ClassVar[list[BindingType]] = bindings_of(ROUTE)

    def draw(self) -> None:
        """What may have happened."""
        view = self.prep.bedside.show_cot()
        self.head(view.banner, "What happened?")
        self.body.show([RowItem(each.happening, RowText(each.name)) for each in view.happenings])
        self.offer(self.action_named("back"), self.action_named("help"), primary="back")

    def open_row(self, row: Row) -> None:
        """Record that it happened, and show the entry."""
        if self.do(lambda: self.prep.bedside.note_happening(row.key)):
            self.go(ScreenRoute.ENTRY, self.prep.bedside.last_entry)


class RescueScreen(PreparationScreen):
    """The rescue lines, large."""

    ROUTE = ScreenRoute.RESCUE
    MARKS_BACK = True
    STEPS_SCROLL = True
    CSS_PATH = "steps.tcss"
    BINDINGS: ClassVar[list[BindingType]] = bindings_of(ROUTE)

    def draw(self) -> None:
        """Each line in its part of one frame."""
        view = self.prep.bedside.show_cot()
        self.head(view.banner, "Rescue")
        self.body.show([BoardItem("rescue", tuple(compartment_of(line) for line in view.rescue))])
        names = ("back", "help") if view.refusal else ("back", "happening")
        self.offer(*(self.action_named(name) for name in names), primary=names[-1])

    def action_happening(self) -> None:
        """Record what happened."""
        if not self.prep.bedside.show_cot().refusal:
            self.go(ScreenRoute.HAPPENING)


COME_BACK_REASONS = ("Another size is needed", "Something is missing", "The baby is not ready", "Wrong baby")
EVERY_SECOND = 1.0
ALL_RECORDED = "Every step is recorded."
STEP, READINGS = "step", "readings"


class CotScreen(PreparationScreen):
    """The next step in a frame; "Done now" stamps it. The other steps are rows."""

    ROUTE = ScreenRoute.COT
    CSS_PATH = "cot.tcss"
    BINDINGS: ClassVar[list[BindingType]] = bindings_of(ROUTE)

    REST: ClassVar[float] = 0.5
    """Seconds after a stamp in which no other is taken: a second touch of a trembling finger is not another step."""

    _resting: Timer | None = None

    def compose_middle(self) -> ComposeResult:
        """The steps, and what may be needed at once."""
        yield Column(id="body")
        with ButtonRow(id="urgent"):
            for name in ("rescue", "happening"):
                action = self.action_named(name)
                yield Button(name, action.label, action.letter)

    def on_mount(self) -> None:
        """Let the clocks run."""
        self.set_interval(EVERY_SECOND, self._let_clocks_run)

    def _let_clocks_run(self) -> None:
        if self.is_on_top:
            self.safely(self.show_now)

    def on_screen_resume(self) -> None:
        """Take no touch that was meant for the screen that closed, and turn to the next step again."""
        self._rest()
        # Twice, because the column puts mark and scroll back once it is laid out anew.
        self.call_after_refresh(lambda: self.call_after_refresh(self._turn_to_next))

    def _turn_to_next(self) -> None:
        for board in self.query(NextBoard):
            self.set_focus(board)
        self.body.scroll_home(animate=False)

    def draw(self) -> None:
        """The clocks, the next step, and all steps; or why nothing can be recorded here."""
        view = self.prep.bedside.show_cot()
        self.head(view.banner, "At the cot", view.progress)
        self.body.show([WordsItem("why", (Sentence(view.refusal),))] if view.refusal else _items(view))
        self.query_one("#urgent").display = not view.refusal
        self.query_one("#urgent Button").display = bool(view.rescue)
        primary = "done" if view.next_step and not view.refusal else "record"
        record = ["record"] if primary == "done" else []
        come_back = ["come_back"] if view.can_come_back else []
        names = ("back", "more", *record, "onward", *come_back, "home", "help", primary)
        self.offer(*(self.action_named(name) for name in names), primary=primary)

    # Stamping

    def action_done(self) -> None:
        """Record the next step as done now; where it is out of sight, bring it in sight first."""
        step = self.prep.bedside.show_cot().next_step
        if step is None or self._resting is not None:
            return
        if not self._is_next_in_sight():
            self.body.scroll_home(animate=False)
            return
        self._rest()
        if self.do(lambda: self.prep.bedside.do_step(step.step)):
            self.body.scroll_home(animate=False)
            self.ask_readings(self.prep.bedside.last_entry)

    def _is_next_in_sight(self) -> bool:
        window = self.body.scrollable_content_region
        boards = self.query(NextBoard)
        return self.body.scroll_offset.y == 0 or any(window.contains_region(board.region) for board in boards)

    def _rest(self) -> None:
        if self._resting is not None:
            self._resting.stop()
        self._resting = self.set_timer(self.REST, self._wake) if self.REST else None

    def _wake(self) -> None:
        self._resting = None

    # Touch and keys

    def open_marked(self, marked: Widget | None) -> None:
        """Open the step, or ask for the readings of one."""
        view = self.prep.bedside.show_cot()
        if isinstance(marked, NextBoard) and view.next_step:
            self.go(ScreenRoute.STEP, view.next_step.step)
        elif isinstance(marked, Row):
            kind, _, name = marked.key.partition(" ")
            row = next(row for row in view.steps if row.step == name)
            if kind == READINGS:
                self.ask_readings(row.entry)
            elif row.entry:
                self.go(ScreenRoute.ENTRY, row.entry)
            else:
                self.go(ScreenRoute.STEP, row.step)

    @on(Button.Pressed, "#urgent Button")
    async def _urgent(self, event: Button.Pressed) -> None:
        event.stop()
        await self.run_action(event.button.name or "")

    def action_rescue(self) -> None:
        """Show the rescue lines, large."""
        if self.prep.bedside.show_cot().rescue:
            self.go(ScreenRoute.RESCUE)

    def action_happening(self) -> None:
        """Show what may have happened."""
        self.go(ScreenRoute.HAPPENING)

    def action_come_back(self) -> None:
        """Ask for the reason, then whether it is meant, then go back to preparing."""
        if not self.prep.bedside.show_cot().can_come_back:
            return
        reasons: list[str] = []

        def take(reason: str) -> str:
            reasons.append(reason.strip())
            return "" if reason.strip() else "Enter the reason."

        words = ("Come back from the cot: ready has to be reached again. What was recorded stays.", "Why?")
        wizard = ReasonWizard("Come back to prepare", words, COME_BACK_REASONS, take, self.prep)
        self.ask(wizard, lambda given: self._confirm_come_back(reasons[-1]) if given else None)

    def _confirm_come_back(self, reason: str) -> None:
        words = (f"Reason: {reason}", "The list can be changed again. At the next going all steps are done afresh.")
        self.show_message("Come back?", words, "Come back", lambda sure: self._come_back(reason) if sure else None)

    def _come_back(self, reason: str) -> None:
        if self.do(lambda: self.prep.bedside.come_back(reason)):
            self.go(ScreenRoute.LIST)


def _items(view: CotView) -> list[Item]:
    clocks = [ClocksItem(view.clocks)] if view.clocks else []
    ahead: Item = WordsItem("all", (Sentence(ALL_RECORDED, "bold $done", lead="✓ "),))
    if view.next_step is not None:
        ahead = BoardItem("next", board_of(view.next_step), touchable=True)
    open_rows = [row for row in view.steps if any(not reading.value for reading in row.readings)]
    readings = [RowItem(f"{READINGS} {row.step}", _readings_text(row), "readings") for row in open_rows]
    rows = [RowItem(f"{STEP} {row.step}", step_text(row)) for row in view.steps]
    return [*clocks, ahead, *readings, HeadingItem("steps", "All steps"), *rows]


def _readings_text(row: StepRow) -> RowText:
    labels = ", ".join(reading.label for reading in row.readings if not reading.value)
    return RowText(f"{labels} still to record", details=(row.name,), sign=Sign.QUESTION)


def step_text(row: StepRow) -> RowText:
    """A step as a row says it: the amounts while it is to do, the readings once it is done."""
    shows = "" if row.entry else " · ".join(line.show for line in row.lines if line.show)
    given = tuple(f"{reading.label} {reading.value}" for reading in row.readings if reading.value)
    return RowText(row.name, show=shows, details=given, sign=row.sign, word=row.word, note=row.note)
