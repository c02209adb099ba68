"""Kits and ward files as commands name them."""

import argparse
import sys
from pathlib import Path

from msgspec import Struct

from prepkit.app.kit_files import load_all_kits, load_kit, load_ward
from prepkit.cli.output import Exit
from prepkit.kit.kit import Kit
from prepkit.kit.problems import NotGiven, Problem, explain_all
from prepkit.kit.read import ParsedFile, check_beside
from prepkit.kit.ward import Ward
from prepkit.paths import find_kits, find_ward


def refuse(problems: tuple[Problem, ...]) -> int:
    """Print every problem on standard error; return the exit code: that of usage where an option alone is wanting."""
    sys.stderr.write(explain_all(problems) + "\n")
    return Exit.USAGE if all(isinstance(each, NotGiven) for each in problems) else Exit.INVALID


class NamedKit(Struct, frozen=True):
    """A kit, and the ward file beside it where there is one."""

    kit: ParsedFile[Kit]
    ward: ParsedFile[Ward] | None


def load_kit_and_ward(arguments: argparse.Namespace) -> NamedKit | tuple[Problem, ...]:
    """Load the kit and the ward file that a command names, or every problem of either.

    Raises:
        FileUnreadable: where a file cannot be read at all.
    """
    kit, problems = _load_named_kit(arguments.kit, arguments.kits)
    if kit is None:
        return problems
    ward, problems = _load_ward_beside(arguments.ward, kit, arguments.kits)
    return problems or NamedKit(kit, ward)


def _load_named_kit(name: str, folder: Path | None) -> tuple[ParsedFile[Kit] | None, tuple[Problem, ...]]:
    """Load a kit by its id, or by the path of its file.

    Raises:
        FileUnreadable: where the file cannot be read at all.
    """
    if name.endswith(".toml"):
        return load_kit(Path(name))
    kits = {kit.id: kit for kit in find_kits(folder)}
    if name not in kits:
        hint = f"known: {', '.join(kits) or 'none'}; a file of your own is named with its ending, {name}.toml"
        return None, (Problem("", 0, f'kit "{name}"', "is not on this machine", hint),)
    return load_kit(kits[name].path)


def _load_ward_beside(
    path: Path | None, kit: ParsedFile[Kit], folder: Path | None
) -> tuple[ParsedFile[Ward] | None, tuple[Problem, ...]]:
    """Load the ward file, if there is one, and check it against this kit and every other on the machine.

    Raises:
        FileUnreadable: where the file cannot be read at all.
    """
    named = find_ward(path)
    if named is None:
        return None, ()
    ward, problems = load_ward(named)
    if ward is None:
        return None, problems
    others = tuple(file for file in find_kits(folder) if str(file.path) != kit.name)
    problems = check_beside(ward, (kit, *load_all_kits(others)))
    return (None, problems) if problems else (ward, ())
