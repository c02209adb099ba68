"""`prepkit list`: the list for one baby, with what was ordered for it (`--order`).

The quickest command: it loads neither the store nor a document that it does not print.
"""

import argparse
from collections.abc import Iterable
from datetime import datetime

from msgspec.structs import replace

from prepkit.app.clock import read_clock
from prepkit.app.kit_files import load_all_kits
from prepkit.cli.files import NamedKit, load_kit_and_ward, refuse
from prepkit.cli.output import Exit, write_out
from prepkit.documents.list_json import write_list_json
from prepkit.documents.tray_list import write_list_text
from prepkit.kit.baby import Baby, make_baby
from prepkit.kit.facts import ANSWERS, DONE
from prepkit.kit.kit import Kit
from prepkit.kit.layer import lay_over
from prepkit.kit.lines import DoseLine
from prepkit.kit.names import CORE_LABELS, NOT_KNOWN, WEIGHT_NOW
from prepkit.kit.problems import NotGiven, Problem, suggest
from prepkit.kit.ward import Ward
from prepkit.list.compute import compute_list
from prepkit.list.criteria import find_other_kits
from prepkit.list.lines import TrayList
from prepkit.paths import find_kits
from prepkit.rules.dose.rule import find_options
from prepkit.rules.rule import Order, RuleContext
from prepkit.wording.layers import say_other_kits
from prepkit.wording.say import say, say_all

PRESCRIBER = "the command"


def read_orders(
    texts: Iterable[str], kit: Kit, ward: Ward | None, baby: Baby, now: datetime
) -> tuple[dict[str, Order], tuple[Problem, ...]]:
    """Read every `LINE=OPTION`. One that cannot be drawn up for this baby is a problem that names those that can."""
    orders: dict[str, Order] = {}
    problems = []
    context = RuleContext(kit, ward, baby, now, {})
    for text in texts:
        line, equals, option = text.partition("=")
        found = _read_order(line, option, context) if equals else ("has no option", "write LINE=OPTION")
        if line in orders:
            found = "is given twice", ""
        if isinstance(found, Order):
            orders[line] = found
        else:
            problems.append(Problem("", 0, f'--order "{line}"', *found))
    return orders, tuple(problems)


def _read_order(line_id: str, option: str, context: RuleContext) -> Order | tuple[str, str]:
    """One order; or what is wrong with it, and a hint."""
    lines = {line.id: line for line in context.kit.line if isinstance(line, DoseLine)}
    if line_id not in lines:
        return "is not a dose line of this kit", suggest(line_id, lines)
    options = find_options(lines[line_id], context)
    for each in options.choices:
        if each.id == option:
            return replace(each.order, by=PRESCRIBER)
    known = [f'"{each.id}" ({say(each.found)})' for each in options.choices]
    return f'"{option}" cannot be ordered for this baby', " | ".join((*known, *say_all(options.not_offered)))


def run_list(arguments: argparse.Namespace) -> int:
    """Print the list; the exit code says whether anything stands in its way."""
    now = read_clock()
    tray = make_tray(arguments, now)
    if not isinstance(tray, TrayList):
        return refuse(tray)
    others: tuple[Kit, ...] = ()
    if tray.verdict == "not suitable":
        others = find_other_kits(load_all_kits(find_kits(arguments.kits)), tray.kit.model.id, tray.baby, tray.ward, now)
    is_json = arguments.format == "json"
    if not write_out(write_list_json(tray) if is_json else write_list_text(tray, say_other_kits(others)), utf8=is_json):
        return Exit.USAGE
    return find_exit(tray)


def find_exit(tray: TrayList) -> Exit:
    """The exit code of a command that printed a list."""
    return Exit.NOT_READY if tray.blocked or tray.verdict == "not suitable" else Exit.DONE


def make_tray(arguments: argparse.Namespace, now: datetime) -> TrayList | tuple[Problem, ...]:
    """The list for the named kit, ward file and facts, or every problem of them."""
    loaded = load_kit_and_ward(arguments)
    if not isinstance(loaded, NamedKit):
        return loaded
    kit, ward = loaded.kit, loaded.ward
    laid = lay_over(kit.model, ward.model if ward else None).kit
    given, answers, problems = _read_given(arguments, laid)
    baby, more = make_baby(laid, given, now)
    if baby is None or problems or more:
        return (*problems, *(_name_option(each) if isinstance(each, NotGiven) else each for each in more))
    orders, problems = read_orders(arguments.orders, laid, ward.model if ward else None, baby, now)
    return problems or compute_list(kit, ward, baby, answers, now, orders=orders)


def _name_option(problem: NotGiven) -> NotGiven:
    """The option to give, in the place of the fact's label."""
    name = next(name for name, label in CORE_LABELS.items() if label == problem.where)
    hint = f'"{NOT_KNOWN}" will do where nobody can say' if name != WEIGHT_NOW else "the birth weight is not known"
    return replace(problem, where=f"--{name.replace('_', '-')}", hint=hint)


def _read_given(arguments: argparse.Namespace, kit: Kit) -> tuple[dict[str, str], dict[str, str], tuple[Problem, ...]]:
    """Split `--set` into facts and answers to questions; `--earlier` is the fact of the doses given before."""
    given = {name: typed for name in CORE_LABELS if (typed := vars(arguments).get(name)) is not None}
    answers: dict[str, str] = {}
    problems = []
    questions = {row.id: (DONE,) if row.is_said else ANSWERS for row in kit.criterion if row.where is None}
    for text in arguments.facts:
        name, equals, value = text.partition("=")
        if not equals:
            problems.append(Problem("", 0, f'--set "{text}"', "has no value", "write NAME=VALUE"))
        elif name in given or name in answers:
            problems.append(Problem("", 0, f'--set "{name}"', "is given twice"))
        elif value not in questions.get(name, (value,)):
            problems.append(Problem("", 0, f'--set "{name}"', f'"{value}" is not one of {", ".join(questions[name])}'))
        else:
            (answers if name in questions else given)[name] = value
    doses = next((fact.id for fact in kit.fact if fact.kind == "doses"), "")
    if arguments.earlier and (not doses or doses in given):
        wrong = f'is given as --set "{doses}" too' if doses else "this kit asks for no doses given before"
        problems.append(Problem("", 0, "--earlier", wrong))
    elif arguments.earlier:
        given[doses] = "; ".join(arguments.earlier)
    return given, answers, tuple(problems)
