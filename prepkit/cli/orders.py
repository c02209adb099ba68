"""`--order LINE=OPTION` of `prepkit list`: what was ordered for a dose line. May import: `prepkit.rules` and below."""

from collections.abc import Iterable
from datetime import datetime

from prepkit.kit.baby import Baby
from prepkit.kit.finding import suggest
from prepkit.kit.kit import Kit
from prepkit.kit.lines import DoseLine
from prepkit.kit.problems import Problem
from prepkit.kit.ward import Ward
from prepkit.rules.case import Case, Order
from prepkit.rules.options import find_options

PRESCRIBER = "the command"


def read_orders(
    texts: Iterable[str], kit: Kit, ward: Ward | None, baby: Baby, now: datetime
) -> tuple[dict[str, Order], tuple[Problem, ...]]:
    """Read every `LINE=OPTION`; one that cannot be drawn up for this baby is a problem that names those that can."""
    orders: dict[str, Order] = {}
    problems = []
    case = Case(kit, ward, baby, now, {})
    for text in texts:
        line, equals, option = text.partition("=")
        found = _read(line, option, case) if equals else ("has no option", "write LINE=OPTION")
        if line in orders:
            found = "is given twice", ""
        if isinstance(found, Order):
            orders[line] = found
        else:
            problems.append(Problem("", 0, f'--order "{line}"', *found))
    return orders, tuple(problems)


def _read(line_id: str, option: str, case: Case) -> Order | tuple[str, str]:
    """One order; or what is wrong with it, and a hint."""
    lines = {line.id: line for line in case.kit.line if isinstance(line, DoseLine)}
    if line_id not in lines:
        return "is not a dose line of this kit", suggest(line_id, lines)
    options = find_options(lines[line_id], case)
    for each in options.choices:
        if each.id == option:
            return Order(each.product, each.whole, PRESCRIBER)
    known = [f'"{each.id}" ({each.words})' for each in options.choices]
    return f'"{option}" cannot be ordered for this baby', " | ".join((*known, *options.not_offered))
