"""What the tests of the desk share: a clock that a test moves, and the steps that most of them take."""

from collections.abc import Callable
from datetime import datetime, timedelta, timezone

from prepkit.app.demo import CHOSEN
from prepkit.app.kit_files import load_kit
from prepkit.app.open_preparation import OpenPreparation
from prepkit.app.workstation import Workstation
from prepkit.list.lines import ListLine
from prepkit.paths import find_shipped
from prepkit.quantities.text import show_amount, write_decimal
from prepkit.view.models import LineRow

KIT = "surfactant-supraglottic"
WARD = find_shipped("demo") / "ward.toml"
_READ, _ = load_kit(find_shipped("kits") / f"{KIT}.toml")
LINES = len(_READ.model.line) if _READ else 0
ALL_LEFT, NONE_LEFT = f"{LINES} of {LINES} left", f"0 of {LINES} left"
"""What the list says when nothing is ticked, and when all of it is."""
NIGHT = datetime(2026, 11, 25, 3, 0, tzinfo=timezone(timedelta(hours=1)))


class Clock:
    """The time now, moved by hand."""

    def __init__(self) -> None:
        self.now = NIGHT

    def __call__(self) -> datetime:
        return self.now

    def move(self, **by: float) -> None:
        self.now += timedelta(**by)


MakeDesk = Callable[..., Workstation]


def start(
    desk: Workstation, weight: str = "1450", gestation: str = "30+2", cot: str = "Cot 4", born: str = "today"
) -> OpenPreparation:
    """A preparation for a baby; `born` empty leaves it assumed as today."""
    opened = desk.start(KIT, cot)
    assert not isinstance(opened, str), opened
    given = {"birth_weight": weight, "birth_gestation": gestation} | ({"born": born} if born else {})
    for fact, typed in given.items():
        assert opened.baby.give_fact(fact, typed) == ""
    return opened


def list_lines(opened: OpenPreparation) -> list[str]:
    return [line.id for group in opened.lines.show_list().groups for line in group.lines]


def find_row(opened: OpenPreparation, line: str) -> LineRow:
    return next(row for group in opened.lines.show_list().groups for row in group.lines if row.id == line)


USUAL = {"fio2": "38", "line_patent": "yes", "leads": "KM, skilled", "intubates": "TO, on the unit"}
"""Facts of the kit that have no default, or that a ticked line says."""


def answer_all(opened: OpenPreparation) -> None:
    """No reason applies; every fact that nobody gave is given, and every default confirmed."""
    assert opened.baby.answer_others() == ""
    given = opened.session.state.facts
    for fact in (each.id for each in opened.session.work_out().laid.fact):
        if fact in USUAL and fact not in given:
            assert opened.baby.give_fact(fact, USUAL[fact]) == ""
    assert opened.baby.confirm_facts() == ""


def tick(opened: OpenPreparation, line: str) -> str:
    """Tick a line; the refusal, or an empty string."""
    return opened.lines.tick(line, CHOSEN.get(line, ""))


def tick_all(opened: OpenPreparation) -> None:
    """Tick every line, those that copy a fact without a default for what somebody gave."""
    if "fio2" not in opened.session.state.facts:
        assert opened.baby.give_fact("fio2", USUAL["fio2"]) == ""
    for line in list_lines(opened):
        assert tick(opened, line) == ""


def check_all(opened: OpenPreparation, who: str = "TO", wrong: dict[str, str] | None = None, pin: str = "") -> None:
    """A second person works everything out and agrees, but for the values of the lines in `wrong`."""
    assert opened.check.begin(who, pin) == ""
    tray = opened.session.work_out().tray
    assert tray is not None
    read_baby(opened)
    while (field := opened.check.show_check().field) is not None:
        line = next(line for line in tray.lines if line.id == field.line)
        typed, counts = enter_as_listed(line)
        assert opened.check.enter(line.id, (wrong or {}).get(line.id, typed), counts) == ""


def read_baby(opened: OpenPreparation) -> None:
    """The checker reads what is left of the baby, as it was given."""
    while (asked := opened.check.show_check().fact) is not None:
        ours = opened.session.state.facts[asked.fact].partition(" on ")[0]
        assert opened.check.enter_fact(asked.fact, ours) == ""


def enter_as_listed(line: ListLine) -> tuple[str, dict[str, str]]:
    """What somebody types who works the line out right."""
    found = line.outcome
    if line.declared.choices:
        return found.sizes[0], {}
    amount = found.amount or found.high
    assert amount is not None
    return write_decimal(amount.value), {show_amount(vial.size): str(vial.count) for vial in found.vials}
