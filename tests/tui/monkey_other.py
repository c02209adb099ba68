"""The second desk: another device that writes to the same preparation in between."""

import random  # noqa: TID251  (seeded: the same steps at every run)
from collections.abc import Callable

from hands import write_code
from monkey_usual import PINS
from tui_samples import SURFACTANT
from workstation_scene import enter_as_listed

from prepkit.app.open_preparation import OpenPreparation

Chance = random.Random
Act = Callable[[OpenPreparation, Chance], object]


def _lines(opened: OpenPreparation) -> list[str]:
    return [row.id for group in opened.lines.show_list().groups for row in group.lines]


def _any_line(act: Callable[[OpenPreparation, str], object]) -> Act:
    def do(opened: OpenPreparation, chance: Chance) -> object:
        lines = _lines(opened)
        return act(opened, chance.choice(lines)) if lines else None

    return do


def _tick_all(opened: OpenPreparation, chance: Chance) -> None:
    for line in _lines(opened):
        if not opened.session.state.is_ticked(line):
            opened.batches.give(line, "AB12", "2027-12-31")
            opened.lines.tick(line)


def _answer_all(opened: OpenPreparation, chance: Chance) -> None:
    opened.baby.answer_others()
    opened.baby.confirm_facts()


def _check(opened: OpenPreparation, chance: Chance) -> None:
    """A whole check, or as far as somebody comes; now and then one answer is another than the list's."""
    if all(opened.check.begin(who, pin) for who, pin in PINS.items()):
        return
    tray = opened.session.work_out().tray
    if tray is None or chance.random() < 0.3:
        return
    opened.check.enter_weight(str(tray.baby.weight_g) if chance.random() < 0.9 else "1540")
    while (field := opened.check.show_check().field) is not None and chance.random() < 0.97:
        line = next(line for line in tray.lines if line.id == field.line)
        typed, counts = enter_as_listed(line)
        is_wrong = not line.declared.choices and chance.random() < 0.2
        if opened.check.enter(line.id, "3.2" if is_wrong else typed, counts):
            return


def _order(opened: OpenPreparation, line: str) -> object:
    view = opened.lines.show_options(line)
    return opened.lines.order(line, view.choices[-1][0], "KM") if view and view.choices else None


def _do_step(opened: OpenPreparation, chance: Chance) -> object:
    step = opened.bedside.show_cot().next_step
    return opened.bedside.do_step(step.step) if step else None


def _do_all_steps(opened: OpenPreparation, chance: Chance) -> None:
    while (step := opened.bedside.show_cot().next_step) is not None and not opened.bedside.do_step(step.step):
        pass


def _strike(opened: OpenPreparation, chance: Chance) -> object:
    rows = opened.bedside.show_record().timeline
    return opened.bedside.strike(chance.choice(rows).entry, "Wrong step") if rows else None


def _complete(opened: OpenPreparation, chance: Chance) -> None:
    """What a record needs beside its steps and volumes."""
    for row in opened.bedside.show_record().follow_ups:
        opened.bedside.miss_follow_up(row.follow_up, "gone to another ward")
    opened.bedside.give_outcome("given in full")
    opened.bedside.say_complications(())


def _sign(opened: OpenPreparation, chance: Chance) -> None:
    opened.bedside.sign(opened.bedside.show_record().standing)


def _take_over(opened: OpenPreparation, chance: Chance) -> object:
    return opened.handover.take_over(opened.handover.show_handover().standing)


ACTS: dict[str, tuple[Act, float]] = {
    "tick": (_any_line(lambda opened, line: opened.lines.tick(line)), 20),
    "set aside": (_any_line(lambda opened, line: opened.lines.set_aside(line, "Already in place")), 4),
    "restore": (_any_line(lambda opened, line: opened.lines.restore(line)), 3),
    "order": (_any_line(_order), 3),
    "give in hand": (_any_line(lambda opened, line: opened.batches.give(line, "CD34", "2027-06-30")), 4),
    "scan": (_any_line(lambda opened, line: opened.batches.scan(line, write_code(SURFACTANT))), 2),
    "put back": (_any_line(lambda opened, line: opened.batches.put_back(line)), 3),
    "settle": (_any_line(lambda opened, line: opened.check.settle(line, "read off the order")), 4),
    "birth_weight": (
        lambda opened, chance: opened.baby.give_fact("birth_weight", chance.choice(("1450", "1450", "1500", "2100"))),
        4,
    ),
    "birth_gestation": (
        lambda opened, chance: opened.baby.give_fact("birth_gestation", chance.choice(("30+2", "30+2", "27+0"))),
        3,
    ),
    "tick all": (_tick_all, 6),
    "answer all": (_answer_all, 6),
    "check": (_check, 10),
    "stop the check": (lambda opened, _: opened.check.stop("TO"), 4),
    "hand over": (lambda opened, _: opened.handover.hand_over("catheter still to mark"), 4),
    "take over": (_take_over, 3),
    "read aloud": (lambda opened, _: opened.ready.read_aloud(), 4),
    "step": (_do_step, 6),
    "all steps": (_do_all_steps, 4),
    "strike": (_strike, 3),
    "complete": (_complete, 3),
    "sign": (_sign, 3),
    "come back": (lambda opened, _: opened.bedside.come_back("Wrong baby"), 2),
    "stand down": (lambda opened, _: opened.ready.stand_down("Started by mistake"), 0.7),
}
"""What is done there, and how often."""


def do_one(opened: OpenPreparation, chance: Chance) -> str:
    """Do one thing, and say which and whether it was refused."""
    name = chance.choices(list(ACTS), [weight for _, weight in ACTS.values()])[0]
    refusal = ACTS[name][0](opened, chance)
    return f"{name}{f' (refused: {refusal})' if refusal else ''}"
