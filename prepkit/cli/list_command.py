"""`prepkit list`: the list for one baby, headless. May import: everything but the screens."""

import argparse
import sys
from pathlib import Path

from prepkit.cli.exits import Exit
from prepkit.cli.output import write_out
from prepkit.desk.desk import read_clock
from prepkit.documents.list_json import write_list_json
from prepkit.documents.list_text import write_list_text
from prepkit.kit.baby import ANSWERS, make_baby
from prepkit.kit.kit import Kit
from prepkit.kit.problems import Problem, explain_all
from prepkit.kit.read import Written, check_beside
from prepkit.kit.ward import Ward
from prepkit.list.compute import compute_list
from prepkit.shelf import find_kits, find_ward, load_kit, load_ward


def run_list(arguments: argparse.Namespace) -> int:
    """Print the list; the exit code says whether anything stands in its way."""
    now = read_clock()
    kit, problems = _load_kit(arguments.kit, arguments.kits)
    if kit is None:
        return _refuse(problems)
    ward, problems = _load_ward(arguments.ward, kit)
    if problems:
        return _refuse(problems)
    given, answers, problems = _read_given(arguments, kit.model)
    baby, more = make_baby(kit.model, given, now)
    if baby is None or problems or more:
        return _refuse((*problems, *more))
    tray = compute_list(kit, ward, baby, answers, now)
    is_json = arguments.format == "json"
    if not write_out(write_list_json(tray) if is_json else write_list_text(tray), utf8=is_json):
        return Exit.USAGE
    return Exit.NOT_READY if tray.blocked or tray.verdict == "not suitable" else Exit.DONE


def _refuse(problems: tuple[Problem, ...]) -> int:
    sys.stderr.write(explain_all(problems) + "\n")
    return Exit.INVALID


def _load_kit(name: str, folder: Path | None) -> tuple[Written[Kit] | None, tuple[Problem, ...]]:
    if name.endswith(".toml"):
        return load_kit(Path(name))
    kits = {kit.id: kit for kit in find_kits(folder)}
    if name not in kits:
        return None, (Problem("", 0, f'kit "{name}"', "is not on this machine", f"known: {', '.join(kits) or 'none'}"),)
    return load_kit(kits[name].path)


def _load_ward(path: Path | None, kit: Written[Kit]) -> tuple[Written[Ward] | None, tuple[Problem, ...]]:
    named = find_ward(path)
    if named is None:
        return None, ()
    ward, problems = load_ward(named)
    return ward, problems or (check_beside(ward, (kit,)) if ward else ())


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
