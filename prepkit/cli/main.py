"""The command `prepkit`: what is asked for, and which front end answers. May import: everything.

Data goes to standard output, everything else to standard error. Exit codes: 0 done (questions still open included),
1 a blocked line or a baby that is not suitable, 2 usage, 3 an invalid kit, ward file or fact, 4 the store.
"""

import argparse
import sys
from collections.abc import Sequence
from pathlib import Path

from prepkit import __version__
from prepkit.cli.exits import Exit
from prepkit.errors import FileUnreadable, PrepkitError, StoreError


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command; the exit code."""
    arguments = _make_parser().parse_args(argv)
    try:
        return int(arguments.run(arguments))
    except StoreError as error:
        return _stop(error, Exit.STORE)
    except FileUnreadable as error:
        return _stop(error, Exit.INVALID)


def _stop(error: PrepkitError, code: Exit) -> int:
    sys.stderr.write(f"prepkit: {error}\n")
    return code


def _make_parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="prepkit",
        description="From one weight and one gestation to a complete, checked tray. Without a command: the screens.",
        epilog="Exit codes: 0 done, 1 blocked or not suitable, 2 usage, 3 invalid kit, ward file or fact, 4 the store.",
        allow_abbrev=False,
    )
    parser.add_argument("--version", action="version", version=f"prepkit {__version__}")
    parser.add_argument("--demo", action="store_true", help="an invented ward with a few babies, in a temporary folder")
    parser.add_argument("--store", type=Path, metavar="PATH", help="the preparations' database (also PREPKIT_STORE)")
    _add_files(parser, None)
    parser.set_defaults(run=_run_screens)
    commands = parser.add_subparsers(title="commands", metavar="COMMAND")
    _add_list(commands)
    return parser


def _add_files(parser: argparse.ArgumentParser, default: object) -> None:
    """Add the options that may stand before a command or after it."""
    ward, kits = "the ward file (also PREPKIT_WARD)", "a folder of further kits"
    parser.add_argument("--ward", type=Path, metavar="FILE", default=default, help=ward)
    parser.add_argument("--kits", type=Path, metavar="DIR", default=default, help=kits)


def _add_list(commands: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    command = commands.add_parser("list", help="print the list for one baby", allow_abbrev=False)
    command.add_argument("kit", metavar="KIT", help="a kit's id, or the path of a kit's file")
    command.add_argument("--weight", required=True, metavar="GRAMS", help="whole grams: 1450")
    command.add_argument("--gestation", required=True, metavar="WEEKS+DAYS", help="30+2")
    command.add_argument(
        "--set",
        action="append",
        default=[],
        metavar="NAME=VALUE",
        dest="facts",
        help="a fact or an answer; may be repeated",
    )
    command.add_argument("--format", choices=("text", "json"), default="text")
    _add_files(command, argparse.SUPPRESS)  # a default here would take the place of what stands before the command
    command.set_defaults(run=_run_list)


def _run_list(arguments: argparse.Namespace) -> int:
    from prepkit.cli.list_command import run_list  # noqa: PLC0415  (each command loads what it needs)

    return run_list(arguments)


def _run_screens(arguments: argparse.Namespace) -> int:
    from prepkit.cli.screens_command import run_screens  # noqa: PLC0415  (as above)

    return run_screens(arguments)


if __name__ == "__main__":
    sys.exit(main())
