"""`prepkit kits` and `prepkit check`: what kits there are, and what is wrong with files."""

import argparse
import json
import sys
from collections.abc import Sequence
from pathlib import Path

import tomli

from prepkit.app.clock import read_clock
from prepkit.app.kit_files import load_all_kits, load_kit, load_ward
from prepkit.cli.output import Exit, write_out
from prepkit.errors import FileUnreadable
from prepkit.kit.kit import Kit
from prepkit.kit.problems import Problem, explain_all
from prepkit.kit.read import ParsedFile, check_beside
from prepkit.kit.ward import Ward
from prepkit.paths import find_kits


def run_kits(arguments: argparse.Namespace) -> int:
    """List the kits on this machine with edition, review date and problems."""
    today = read_clock().date()
    files = [(file, *_load(file.path)) for file in find_kits(arguments.kits)]
    rows = []
    for file, kit, problems in files:
        if kit is not None and isinstance(kit.model, Kit):
            late = ", overdue" if kit.model.review_by < today else ""
            rows.append(f"{kit.model.id}  edition {kit.model.edition}, review by {kit.model.review_by}{late}")
            rows.append(f"    {kit.model.name}")
        else:
            rows.append(f"{file.id}  cannot be used, problems: {len(problems)} (prepkit check {file.path})")
        rows.append(f"    {file.path}")
    write_out("\n".join(rows) + "\n" if rows else "No kit was found.\n")
    return Exit.INVALID if any(problems for _, _, problems in files) else Exit.DONE


def run_check(arguments: argparse.Namespace) -> int:
    """Report every problem of every file at once."""
    kits: list[ParsedFile[Kit]] = list(load_all_kits(find_kits(arguments.kits)))
    wards: list[ParsedFile[Ward]] = []
    problems: list[Problem] = []
    files = _list_files(arguments.paths)
    for path in files:
        written, found = _load(path)
        problems += found
        if written is not None and isinstance(written.model, Kit):
            kits.append(written)
        elif written is not None:
            wards.append(written)
    for ward in wards:
        problems += check_beside(ward, kits)
    if arguments.format == "json":
        write_out(json.dumps([_shape(problem) for problem in problems], ensure_ascii=False, indent=2) + "\n", utf8=True)
    elif problems:
        write_out(explain_all(tuple(problems)) + "\n")
    sys.stderr.write(f"prepkit: {_count(problems, 'problem')} in {_count(files, 'file')}\n")
    return Exit.INVALID if problems else Exit.DONE


def _count(things: Sequence[object], name: str) -> str:
    return f"{len(things)} {name}{'' if len(things) == 1 else 's'}"


def _list_files(paths: list[Path]) -> list[Path]:
    return [file for path in paths for file in (sorted(path.glob("*.toml")) if path.is_dir() else [path])]


def _load(path: Path) -> tuple[ParsedFile[Kit] | ParsedFile[Ward] | None, tuple[Problem, ...]]:
    """Load a file as a kit or a ward file: only a kit has lines of its own and an id at its top."""
    try:
        return load_kit(path) if _looks_like_a_kit(path) else load_ward(path)
    except FileUnreadable as error:
        return None, (Problem(str(path), 0, "", str(error)),)


def _looks_like_a_kit(path: Path) -> bool:
    try:
        top = tomli.loads(path.read_bytes().decode("utf-8-sig"))
    except (OSError, ValueError, RecursionError):
        return True
    return "id" in top or not {"syringe", "stock", "deviation", "approver"} & set(top)


def _shape(problem: Problem) -> dict[str, object]:
    return {
        "file": problem.file,
        "line": problem.line,
        "where": problem.where,
        "wrong": problem.wrong,
        "hint": problem.hint,
        "excerpt": problem.excerpt,
    }
