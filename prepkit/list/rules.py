"""Which rule works out which kind of line. May import: `prepkit.rules` and below."""

from collections.abc import Callable, Mapping
from typing import Any

from prepkit.kit.kit import Kit
from prepkit.kit.lines import Line
from prepkit.kit.ward import Ward
from prepkit.rules.case import Case, Outcome, Rule
from prepkit.rules.depth import prepare_depth
from prepkit.rules.dose import prepare_dose
from prepkit.rules.setting import prepare_amount, prepare_setting
from prepkit.rules.size import prepare_size
from prepkit.rules.supply import prepare_supply, prepare_trial

# The kind of a line chooses its rule; each rule takes its own kind of line, which a table cannot tell a type checker.
RULES: Mapping[str, Callable[[Any, Kit, Ward | None], Rule]] = {
    "dose": prepare_dose,
    "size": prepare_size,
    "depth": prepare_depth,
    "amount": prepare_amount,
    "setting": prepare_setting,
    "supply": prepare_supply,
    "trial": prepare_trial,
}


def prepare_rule(line: Line, kit: Kit, ward: Ward | None) -> Rule:
    """Prepare what a line gives by its rule alone, for any baby."""
    return RULES[line.kind](line, kit, ward)


def apply_rule(line: Line, case: Case) -> Outcome:
    """Find what a line gives by its rule alone, for one baby; `case.found` holds the lines it follows."""
    return prepare_rule(line, case.kit, case.ward).work_out(case)
