"""One figure of a benchmark beside its floor, measured in the same run."""

import statistics
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction


@dataclass(frozen=True)
class Figure:
    """What was measured, beside what it cannot be less than."""

    name: str
    value: Fraction | float
    unit: str
    floor_name: str
    floor: float
    """In the unit of the value."""
    target: str
    """In words: "<= 1.25x"."""
    met: bool
    note: str

    @property
    def ratio(self) -> float:
        """How many times the floor it is."""
        return float(self.value) / self.floor if self.floor else 0.0


def make_ratio(
    name: str, value: float, unit: str, floor_name: str, floor: float, most: float, note: str = ""
) -> Figure:
    """A figure whose target is a multiple of its floor."""
    return Figure(name, value, unit, floor_name, floor, f"<= {most:g}x", value <= most * floor, note)


def make_bound(
    name: str, value: float, unit: str, floor_name: str, floor: float, most: float, note: str = ""
) -> Figure:
    """A figure whose target is a number of its own unit; the floor stands beside it all the same."""
    return Figure(name, value, unit, floor_name, floor, f"<= {most:g} {unit}", value <= most, note)


def alternate(runs: int, measures: Mapping[str, Callable[[], float]]) -> dict[str, list[float]]:
    """Measure each in turn, again and again, so that whatever else the machine does hits them all alike."""
    found: dict[str, list[float]] = {name: [] for name in measures}
    for _ in range(runs):
        for name, measure in measures.items():
            found[name].append(measure())
    return found


def find_median(values: Sequence[float]) -> float:
    """The median."""
    return statistics.median(values)


def find_percentile(values: Sequence[float], percent: int) -> float:
    """The value that so many in a hundred do not exceed."""
    ordered = sorted(values)
    return ordered[min(len(ordered) - 1, -(-len(ordered) * percent // 100) - 1)]
