"""`prepkit kits` and `prepkit check`: what kits there are, and what is wrong with files."""

import argparse
import json
import sys
from collections.abc import Mapping, Sequence
from pathlib import Path

import tomli
from msgspec.structs import replace

from prepkit.app.clock import read_clock
from prepkit.app.kit_files import load_all_kits, load_fragment, load_kit, load_ward
from prepkit.cli.output import Exit, write_out
from prepkit.errors import FileUnreadable
from prepkit.kit.fragments import TABLE
from prepkit.kit.kit import Kit
from prepkit.kit.problems import Problem, explain_all
from prepkit.kit.read import ParsedFile, check_beside, read_fragment
from prepkit.kit.ward import Ward
from prepkit.paths import FRAGMENTS, find_kits


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
    found: list[Problem] = []
    files = _list_files(arguments.paths)
    for path in files:
        written, problems = _load(path)
        found += problems
        if written is not None and isinstance(written.model, Kit):
            kits.append(written)
        elif written is not None:
            wards.append(written)
    for ward in wards:
        found += check_beside(ward, kits)
    # What is wrong in a fragment is found in each kit that names it.
    problems = tuple({replace(each, where=""): each for each in reversed(found)}.values())[::-1]
    if arguments.format == "json":
        write_out(json.dumps([_shape(problem) for problem in problems], ensure_ascii=False, indent=2) + "\n", utf8=True)
    elif problems:
        write_out(explain_all(problems) + "\n")
    sys.stderr.write(f"prepkit: {_count(problems, 'problem')} in {_count(files, 'file')}\n")
    return Exit.INVALID if problems else Exit.DONE


def _count(things: Sequence[object], name: str) -> str:
    return f"{len(things)} {name}{'' if len(things) == 1 else 's'}"


def _list_files(paths: list[Path]) -> list[Path]:
    folders = ("*.toml", f"{FRAGMENTS}/*.toml")
    return [
        file
        for path in paths
        for file in ([each for form in folders for each in sorted(path.glob(form))] if path.is_dir() else [path])
    ]


def _load(path: Path) -> tuple[ParsedFile[Kit] | ParsedFile[Ward] | None, tuple[Problem, ...]]:
    """Load a kit or a ward file, or check a fragment: only a kit has lines of its own and an id at its top."""
    try:
        if path.parent.name == FRAGMENTS or set(_read_top(path) or ()) == {TABLE}:
            return None, read_fragment(path.stem, load_fragment(path))
        return load_kit(path) if _looks_like_a_kit(path) else load_ward(path)
    except FileUnreadable as error:
        return None, (Problem(str(path), 0, "", str(error)),)


def _looks_like_a_kit(path: Path) -> bool:
    top = _read_top(path)
    return top is None or "id" in top or not {"syringe", "stock", "deviation", "approver"} & set(top)


def _read_top(path: Path) -> Mapping[str, object] | None:
    """A file's tables, unchecked; None where it cannot be read, which its reading will say."""
    try:
        return tomli.loads(path.read_bytes().decode("utf-8-sig"))
    except (OSError, ValueError, RecursionError):
        return None


def _shape(problem: Problem) -> dict[str, object]:
    return {
        "file": problem.file,
        "line": problem.line,
        "where": problem.where,
        "wrong": problem.wrong,
        "hint": problem.hint,
        "excerpt": problem.excerpt,
    }
