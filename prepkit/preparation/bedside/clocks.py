"""The clocks that steps started: since when they run, and when they have run out."""

from collections.abc import Iterator
from datetime import datetime

from msgspec import Struct

from prepkit.kit.procedure import Happening, Procedure, Step
from prepkit.preparation.bedside.afterwards import add_time
from prepkit.preparation.bedside.record import TimelineEntry
from prepkit.preparation.state import Preparation
from prepkit.quantities.text import show_amount


class StepClock(Struct, frozen=True):
    """A clock that a step started."""

    step: Step
    name: str
    since: datetime
    """When the step was done, as it was corrected."""
    ends: datetime | None
    """When it has run out; None where it never does."""

    def say_end(self, now: datetime) -> str:
        """What holds now: until when, or since it is past; nothing of a clock without an end."""
        end = self.step.clock_end
        if end is None or self.ends is None:
            return ""
        return self.say_until(now) if now < self.ends else f"past {show_amount(end.after)}: {end.past}"

    def say_until(self, now: datetime) -> str:
        """What holds until when, by the clock of `now`; nothing of a clock without an end."""
        end = self.step.clock_end
        if end is None or self.ends is None:
            return ""
        local = self.ends.astimezone(now.tzinfo)
        return f"until {local:%H:%M}: {end.until}"


def list_clocks(state: Preparation, procedure: Procedure | None) -> tuple[StepClock, ...]:
    """List the clocks that run, in the order of the steps; of those of one name the last one.

    A step done before the team came back and went again counts too, as what was given then was given.
    """
    steps = [] if procedure is None else [step for step in procedure.step if step.clock]
    started = [clock for step in steps for clock in _start(step, state)]
    last = {clock.name: clock for clock in sorted(started, key=lambda clock: clock.since)}
    return tuple(clock for clock in started if last[clock.name] is clock)


def say_until(step: Step | Happening | None, entry: TimelineEntry) -> str:
    """What holds until the clock that an entry started has run out; nothing where none did, or it never does."""
    if not isinstance(step, Step) or step.clock_end is None or entry.left_out or entry.struck:
        return ""
    return _make_clock(step, entry).say_until(entry.at)


def _make_clock(step: Step, entry: TimelineEntry) -> StepClock:
    """The clock that one entry of a step started."""
    end = step.clock_end
    return StepClock(step, step.clock or "", entry.at, add_time(entry.at, end.after) if end else None)


def _start(step: Step, state: Preparation) -> Iterator[StepClock]:
    entries = [each for each in state.cot_record.unstruck_entries if each.kind == "step" and each.id == step.id]
    done = [each for each in entries if not each.left_out]
    if done:
        yield _make_clock(step, done[-1])
