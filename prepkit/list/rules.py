"""Which rule works out which kind of line. May import: `prepkit.rules` and below."""

from collections.abc import Callable, Mapping
from typing import Any

from prepkit.kit.lines import Line
from prepkit.rules.case import Case, Outcome
from prepkit.rules.depth import compute_depth
from prepkit.rules.dose import compute_dose
from prepkit.rules.setting import compute_amount, compute_setting
from prepkit.rules.size import compute_size
from prepkit.rules.supply import compute_supply, compute_trial

# The kind of a line chooses its rule; each rule takes its own kind of line, which a table cannot tell a type checker.
RULES: Mapping[str, Callable[[Any, Case], Outcome]] = {
    "dose": compute_dose,
    "size": compute_size,
    "depth": compute_depth,
    "amount": compute_amount,
    "setting": compute_setting,
    "supply": compute_supply,
    "trial": compute_trial,
}


def apply_rule(line: Line, case: Case) -> Outcome:
    """Find what a line gives by its rule alone; `case.found` holds the lines it follows."""
    return RULES[line.kind](line, case)
