"""The monkey: `python tests/tui/monkey.py [--steps 20000] [--seed 1]` presses keys and touches the screen at random.

It goes through nights of 500 steps, each on a ward and from a scene of its own. No exception and no lost tick may come
of it, and over a run every screen has to be seen. A fault is shrunk to few steps and printed with the command that does
them again.
"""

import argparse
import asyncio
import inspect
import pkgutil
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, field
from importlib import import_module
from pathlib import Path

sys.path.append(str(Path(__file__).parent.parent / "app"))

from monkey_night import SCENES, WARDS, Outcome, Step, live_night, plan_night
from textual.screen import Screen

from prepkit.tui import screens

NIGHT_STEPS = 500
SHRINK = 120.0
"""Seconds for which a fault is shrunk."""


@dataclass(frozen=True, slots=True)
class Setting:
    """Where a night begins."""

    ward: str
    scene: str


@dataclass
class Part:
    """What was done and seen in some nights."""

    visits: Counter[str] = field(default_factory=Counter)
    steps: int = 0
    keys: int = 0
    touches: int = 0
    ticks: int = 0
    faults: list[str] = field(default_factory=list)

    def add(self, more: "Outcome | Part") -> None:
        """Count what was done and seen elsewhere too."""
        self.visits += more.visits
        self.steps += len(more.said) if isinstance(more, Outcome) else more.steps
        self.keys, self.touches, self.ticks = (
            self.keys + more.keys,
            self.touches + more.touches,
            self.ticks + more.ticks,
        )
        self.faults += [] if isinstance(more, Outcome) else more.faults


def list_screens() -> set[str]:
    """Every screen that can be shown: those of our classes that have keys."""
    modules = [import_module(f"{screens.__name__}.{module.name}") for module in pkgutil.iter_modules(screens.__path__)]
    kinds = {kind for module in modules for _, kind in inspect.getmembers(module, inspect.isclass)}
    ours = {kind for kind in kinds if issubclass(kind, Screen) and kind.__module__.startswith(screens.__name__)}
    return {kind.__name__ for kind in ours if any("BINDINGS" in vars(each) for each in kind.__mro__ if each in ours)}


def find_setting(at: int) -> Setting:
    """The setting of the night numbered `at`: the scenes in turn, the wards in turn beside them."""
    return Setting(WARDS[(at + at // len(SCENES)) % len(WARDS)], SCENES[at % len(SCENES)])


def live(setting: Setting, steps: Sequence[Step]) -> Outcome:
    """One night in a folder of its own."""
    with tempfile.TemporaryDirectory() as folder:
        return asyncio.run(live_night(Path(folder), setting.ward, setting.scene, steps))


def shrink(setting: Setting, steps: Sequence[Step], outcome: Outcome, seconds: float) -> Sequence[Step]:
    """Leave out as many steps as can be without losing the fault."""
    steps, head, ends = steps[: len(outcome.said)], _head(outcome), time.monotonic() + seconds
    size = max(len(steps) // 2, 1)
    while size and time.monotonic() < ends:
        at = 0
        while at < len(steps) and time.monotonic() < ends:
            fewer = [*steps[:at], *steps[at + size :]]
            if _head(live(setting, fewer)) == head:
                steps = fewer
            else:
                at += size
        size //= 2
    return steps


def _head(outcome: Outcome) -> str:
    """A fault without what differs from run to run: its kind and its place."""
    return outcome.fault.partition("\n")[0].partition(":")[0]


def tell_fault(setting: Setting, steps: Sequence[Step], outcome: Outcome, seconds: float) -> str:
    """The fault, the fewest steps to it, and how to do them again."""
    fewest = shrink(setting, steps, outcome, seconds)
    again = live(setting, fewest)
    command = f'tests/tui/monkey.py --ward "{setting.ward}" --scene "{setting.scene}" --replay "{_join(fewest)}"'
    return "\n".join(
        (outcome.fault, f"{len(fewest)} steps to it:", *again.said, again.fault.partition("\n")[0], command)
    )


def _join(steps: Sequence[Step]) -> str:
    return " ".join(str(step) for step in steps)


def live_part(seed: int, nights: Sequence[int], count: int = NIGHT_STEPS, seconds: float = SHRINK) -> Part:
    """Some nights of a run one after the other, as far as the first fault."""
    part = Part()
    for at in nights:
        setting, steps = find_setting(at), plan_night(seed * 1000 + at, count)
        outcome = live(setting, steps)
        part.add(outcome)
        if outcome.fault:
            where = f"seed {seed}, night {at}, step {len(outcome.said)}, {setting}"
            part.faults.append(f"{where}\n{tell_fault(setting, steps, outcome, seconds)}")
            break
    return part


def show_visits(visits: Counter[str]) -> str:
    """A table of how often each screen was seen."""
    names = sorted(list_screens(), key=lambda name: -visits[name])
    return "\n".join(f"{name:22} {visits[name]:6}" for name in names)


def main() -> int:
    """Run, and say what was seen; 1 where there was a fault or a screen was never seen."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--steps", type=int, default=20000)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--workers", type=int, default=2)
    parser.add_argument("--shrink", type=float, default=SHRINK, metavar="SECONDS")
    parser.add_argument("--ward", choices=WARDS, default=WARDS[0])
    parser.add_argument("--scene", choices=SCENES, default=SCENES[0])
    parser.add_argument("--replay", metavar="STEPS")
    given = parser.parse_args()
    if given.replay is not None:
        steps = [Step(kind, int(number)) for kind, _, number in (each.partition(":") for each in given.replay.split())]
        outcome = live(Setting(given.ward, given.scene), steps)
        sys.stdout.write("\n".join((*outcome.said, outcome.fault or "no fault")) + "\n")
        return 1 if outcome.fault else 0
    return _run(given.steps, given.seed, given.workers, given.shrink)


def _run(count: int, seed: int, workers: int, seconds: float) -> int:
    nights, total = max(1, -(-count // NIGHT_STEPS)), Part()
    with ProcessPoolExecutor(workers) as pool:
        each = [pool.submit(live_part, seed, [at], min(count, NIGHT_STEPS), seconds) for at in range(nights)]
        for done in each:
            part = done.result()
            total.add(part)
            sys.stdout.write("".join(f"{fault}\n\n" for fault in part.faults))
            sys.stdout.flush()
    unseen = sorted(list_screens() - set(total.visits))
    sys.stdout.write(f"{show_visits(total.visits)}\n")
    sys.stdout.write(f"{total.steps} steps: {total.keys} keys, {total.touches} touches; {total.ticks} ticks shown\n")
    sys.stdout.write(f"{len(total.faults)} faults; never seen: {', '.join(unseen) or 'none'}\n")
    return 1 if total.faults or unseen else 0


if __name__ == "__main__":
    sys.exit(main())
