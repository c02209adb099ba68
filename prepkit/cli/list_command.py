"""`prepkit list`: the list for one baby, headless. May import: everything but the screens."""

import argparse
from datetime import datetime

from prepkit.cli.exits import Exit
from prepkit.cli.files import Loaded, load_kit_and_ward, refuse
from prepkit.cli.orders import read_orders
from prepkit.cli.output import write_out
from prepkit.desk.clock import read_clock
from prepkit.documents.list_json import write_list_json
from prepkit.documents.list_text import write_list_text
from prepkit.kit.baby import ANSWERS, make_baby
from prepkit.kit.kit import Kit
from prepkit.kit.layer import lay_over
from prepkit.kit.problems import Problem
from prepkit.list.compute import compute_list
from prepkit.list.lines import TrayList
from prepkit.list.others import find_other_kits, say_other_kits
from prepkit.shelf import find_kits, load_all_kits


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
    """How a command ends that printed a list."""
    return Exit.NOT_READY if tray.blocked or tray.verdict == "not suitable" else Exit.DONE


def make_tray(arguments: argparse.Namespace, now: datetime) -> TrayList | tuple[Problem, ...]:
    """The list for the kit, the ward and the facts that were named, or every problem of them."""
    loaded = load_kit_and_ward(arguments)
    if not isinstance(loaded, Loaded):
        return loaded
    kit, ward = loaded.kit, loaded.ward
    laid = lay_over(kit.model, ward.model if ward else None).kit
    given, answers, problems = _read_given(arguments, laid)
    baby, more = make_baby(laid, given, now)
    if baby is None or problems or more:
        return (*problems, *more)
    orders, problems = read_orders(arguments.orders, laid, ward.model if ward else None, baby, now)
    return problems or compute_list(kit, ward, baby, answers, now, orders=orders)


def _read_given(arguments: argparse.Namespace, kit: Kit) -> tuple[dict[str, str], dict[str, str], tuple[Problem, ...]]:
    """Split `--set` into facts and answers to the kit's questions."""
    given = {"weight": arguments.weight, "gestation": arguments.gestation}
    answers: dict[str, str] = {}
    problems = []
    questions = {criterion.id for criterion in kit.criterion if criterion.wanted}
    for text in arguments.facts:
        name, equals, value = text.partition("=")
        if not equals:
            problems.append(Problem("", 0, f'--set "{text}"', "has no value", "write NAME=VALUE"))
        elif name in given or name in answers:
            problems.append(Problem("", 0, f'--set "{name}"', "is given twice"))
        elif name in questions and value not in ANSWERS:
            problems.append(Problem("", 0, f'--set "{name}"', f'"{value}" is not one of {", ".join(ANSWERS)}'))
        else:
            (answers if name in questions else given)[name] = value
    return given, answers, tuple(problems)
