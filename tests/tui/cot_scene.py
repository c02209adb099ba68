"""What the tests of the screens at the cot share: a clock that a test moves, and a team that has gone to the cot."""

from datetime import datetime, timedelta

from hands import Hands, place, see, touch_button, type_in
from tui_samples import NIGHT

from prepkit.app.open_preparation import OpenPreparation
from prepkit.app.workstation import Workstation


class Clock:
    """The time now at a desk, moved by hand."""

    def __init__(self, desk: Workstation) -> None:
        self.now = NIGHT
        desk.identity.clock = self

    def __call__(self) -> datetime:
        return self.now

    def move(self, **by: float) -> None:
        self.now += timedelta(**by)


ASKING = {
    "t-piece-on",
    "device-in",
    "t-piece-on-device",
    "catheter-in",
    "surfactant-begun",
    "catheter-out",
    "device-out",
    "stomach-measured",
}
"""Steps of the shipped kit that ask for readings."""


def words(pilot: Hands) -> str:
    """Everything on the screen, without frames and line ends."""
    return " ".join(see(pilot).replace("┃", " ").replace("│", " ").split())


async def go_to_cot(pilot: Hands) -> None:
    """From home, on a keyboard: the list, ready, read aloud, the cot."""
    await type_in(pilot, "", "enter", "r", "a", "g")
    assert place(pilot) == "cot"


async def do_next(pilot: Hands) -> None:
    """Touch "Done now", and "Later" where readings are asked for."""
    await touch_button(pilot, "done")
    if place(pilot) == "pad":
        await touch_button(pilot, "other")
    assert place(pilot) == "cot"


def do_all(opened: OpenPreparation, clock: Clock) -> None:
    """Every step at the desk, a minute apart, and both volumes."""
    while (step := opened.bedside.show_cot().next_step) is not None:
        clock.move(minutes=1)
        assert opened.bedside.do_step(step.step) == ""
    volumes = (("catheter-out", "volume_given", "3.6"), ("stomach-measured", "volume_recovered", "0.4"))
    for step_id, reading, typed in volumes:
        entry = next(row.entry for row in opened.bedside.show_cot().steps if row.step == step_id)
        assert opened.bedside.give_reading(entry, reading, typed) == ""


def complete(opened: OpenPreparation, clock: Clock) -> None:
    """Everything that a record needs before it is signed."""
    do_all(opened, clock)
    for row in opened.bedside.show_record().follow_ups:
        assert opened.bedside.miss_follow_up(row.follow_up, "gone to another ward") == ""
    assert opened.bedside.give_outcome("given in full") == ""
    assert opened.bedside.say_complications(()) == ""
