"""The command `prepkit`: reads what was asked for, and hands it to the front end that answers.

Data goes to standard output, everything else to standard error. Exit codes: 0 done (questions still open included),
1 a blocked line or a baby that is not suitable, 2 usage, 3 an invalid kit, ward file or fact, 4 the store.
"""

import argparse
import gc
import sys
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from importlib import import_module
from pathlib import Path

from prepkit import __version__
from prepkit.cli.baby_options import add_baby_options, refuse_unsaid
from prepkit.cli.output import Exit
from prepkit.cli.store_option import read_store_option
from prepkit.errors import FileUnreadable, PrepkitError, StoreError

LIGHTS = ("dusk", "day", "night", "contrast")
"""The palettes' names; the palettes themselves load the terminal library."""


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command; the exit code."""
    words = sys.argv[1:] if argv is None else argv
    arguments = _make_parser(with_commands=bool(words)).parse_args(words)
    try:
        with _loading_quickly():
            run = _find_run(arguments.run)
        return run(arguments)
    except StoreError as error:
        return _stop(error, Exit.STORE)
    except FileUnreadable as error:
        return _stop(error, Exit.INVALID)


@contextmanager
def _loading_quickly() -> Iterator[None]:
    """Turn the garbage collector off, which would go again and again through what was only just loaded."""
    gc.disable()
    try:
        yield
    finally:
        gc.enable()


def _stop(error: PrepkitError, code: Exit) -> int:
    sys.stderr.write(f"prepkit: {error}\n")
    return code


def _find_run(name: str) -> Callable[[argparse.Namespace], int]:
    """Import the command's module only now: each command loads what it needs, and no more."""
    module, _, function = name.partition(".")
    run: Callable[[argparse.Namespace], int] = getattr(import_module(f"prepkit.cli.{module}"), function)
    return run


def _make_parser(*, with_commands: bool = True) -> argparse.ArgumentParser:
    """Make the parser. Without words there is no command, and the screens need not wait for all of them to be added."""
    parser = argparse.ArgumentParser(
        prog="prepkit",
        description="From a baby's weight and gestation to a complete, checked tray. Without a command: the screens.",
        epilog="Exit codes: 0 done, 1 blocked or not suitable, 2 usage, 3 invalid kit, ward file or fact, 4 the store.",
        allow_abbrev=False,
    )
    parser.add_argument("--version", action="version", version=f"prepkit {__version__}")
    parser.add_argument("--demo", action="store_true", help="an invented ward with a few babies, in a temporary folder")
    parser.add_argument("--light", choices=LIGHTS, help="the colours of the screens (also PREPKIT_LIGHT)")
    parser.add_argument("--practice", action="store_true", help="mark everything that is started as practice")
    parser.add_argument(
        "--store", type=read_store_option, metavar="PATH", help="the preparations' database (also PREPKIT_STORE)"
    )
    _add_files(parser, None)
    parser.set_defaults(run="screens_command.run_screens")
    if with_commands:
        _add_commands(parser.add_subparsers(title="commands", metavar="COMMAND"))
    return parser


def _add_commands(commands: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    _add_list(commands)
    _add_file_commands(commands)
    _add_labels(commands)
    _add_staff(commands)
    _add_papers(commands)
    _add_hospital(commands)
    _add_serve(commands)


def _add_files(parser: argparse.ArgumentParser, default: object) -> None:
    """Add the options that may stand before a command or after it."""
    ward, kits = "the ward file (also PREPKIT_WARD)", "a folder of further kits"
    parser.add_argument("--ward", type=Path, metavar="FILE", default=default, help=ward)
    parser.add_argument("--kits", type=Path, metavar="DIR", default=default, help=kits)


def _add_list(commands: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    command = commands.add_parser("list", help="print the list for one baby", allow_abbrev=False)
    command.add_argument("--format", choices=("text", "json"), default="text")
    command.set_defaults(run="list_command.run_list")
    sheet = commands.add_parser("sheet", help="print the list with boxes to tick by hand", allow_abbrev=False)
    sheet.add_argument("--format", choices=("text", "html"), default="text")
    sheet.set_defaults(run="print_commands.run_sheet")
    for each in (command, sheet):
        _add_baby(each)


def _add_baby(command: argparse.ArgumentParser) -> None:
    command.add_argument("kit", metavar="KIT", help="a kit's id, or the path of a kit's file")
    add_baby_options(command)
    command.add_argument(
        "--set",
        action="append",
        default=[],
        metavar="NAME=VALUE",
        dest="facts",
        help="a fact or an answer; may be repeated",
    )
    command.add_argument(
        "--earlier",
        action="append",
        default=[],
        metavar="DOSE",
        help='a dose given before: "poractant-alfa, 250 mg, 2026-11-28 08:00", or "not known" for a part; repeatable',
    )
    command.add_argument(
        "--order",
        action="append",
        default=[],
        metavar="LINE=OPTION",
        dest="orders",
        help='what was ordered for a dose: surfactant="poractant-alfa 3 mL"; may be repeated',
    )
    _add_files(command, argparse.SUPPRESS)  # a default here would override what stands before the command


def _add_labels(commands: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    labels = commands.add_parser("labels", help="print the syringe labels of a preparation", allow_abbrev=False)
    labels.add_argument("prep", metavar="PREP", help="a cot label, or a preparation's id")
    labels.add_argument(
        "--store", type=read_store_option, metavar="PATH", default=argparse.SUPPRESS, help="the preparations' database"
    )
    labels.add_argument("--format", choices=("text", "html"), default="text")
    labels.add_argument("--out", type=Path, metavar="FILE", help="a new file to write to (standard output)")
    _add_files(labels, argparse.SUPPRESS)
    labels.set_defaults(run="labels_command.run_labels")


def _add_serve(commands: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    about = "show the screens in a browser, on this machine or on the ward's phones"
    more = (
        "On this machine alone unless --host says otherwise. Where others can connect it needs PINs or a passphrase for"
        " the sign-in, and a certificate or a proxy for the encryption; it is refused without. What it does not protect"
        " is said at the start."
    )
    serve = commands.add_parser(
        "serve", help=about, description=f"{about[0].upper()}{about[1:]}. {more}", allow_abbrev=False
    )
    serve.add_argument("--host", default="127.0.0.1", metavar="ADDRESS", help="the address to serve at (127.0.0.1)")
    serve.add_argument("--port", type=int, default=8000, metavar="NUMBER", help="the port (8000)")
    serve.add_argument("--demo", action="store_true", default=argparse.SUPPRESS, help="serve the invented ward")
    serve.add_argument(
        "--store", type=read_store_option, metavar="PATH", default=argparse.SUPPRESS, help="the database"
    )
    words = (
        "a file with a passphrase for the sign-in (also PREPKIT_PASSPHRASE); where others can connect it is needed,"
        " unless the ward file asks for PINs; with both, both are asked for"
    )
    serve.add_argument("--passphrase-file", type=Path, metavar="FILE", help=words)
    serve.add_argument("--certificate", type=Path, metavar="FILE", help="a TLS certificate with its chain, PEM")
    serve.add_argument("--key", type=Path, metavar="FILE", help="the certificate's key, PEM, without a passphrase")
    serve.add_argument("--behind-proxy", action="store_true", help="a proxy in front does the encryption")
    names = "a name that browsers call this server by, besides the machine's own; may be repeated"
    serve.add_argument("--name", action="append", default=[], metavar="NAME", dest="names", help=names)
    serve.add_argument("--sessions", type=int, default=12, metavar="COUNT", help="how many at the same time (12)")
    serve.add_argument("--idle", type=int, default=30, metavar="MINUTES", help="unused for so long, signed out (30)")
    _add_files(serve, argparse.SUPPRESS)
    serve.set_defaults(run="serve_command.run_serve")


def _add_file_commands(commands: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    kits = commands.add_parser("kits", help="list the kits on this machine", allow_abbrev=False)
    kits.set_defaults(run="check_command.run_kits")
    check = commands.add_parser("check", help="report every problem of kits and ward files", allow_abbrev=False)
    check.add_argument("paths", nargs="+", type=Path, metavar="PATH", help="a file, or a folder of .toml files")
    check.add_argument("--format", choices=("text", "json"), default="text")
    check.set_defaults(run="check_command.run_check")
    prove = commands.add_parser("prove", help="walk a kit through every gram and every day", allow_abbrev=False)
    prove.add_argument("kit", metavar="KIT", help="a kit's id, or the path of a kit's file")
    prove.set_defaults(run="print_commands.run_prove")
    chart = commands.add_parser("chart", help="print a kit's amounts by weight, for the wall", allow_abbrev=False)
    chart.add_argument("kit", metavar="KIT", help="a kit's id, or the path of a kit's file")
    chart.add_argument("--from", type=int, metavar="GRAMS", dest="first", help="the first weight (the kit's least)")
    chart.add_argument("--to", type=int, metavar="GRAMS", dest="last", help="the last weight")
    chart.add_argument("--every", type=int, metavar="GRAMS", default=50, help="grams between rows (50)")
    chart.add_argument("--birth-gestation", metavar="WEEKS+DAYS", help="the one that it stands for (the kit's least)")
    refuse_unsaid(chart, "--gestation")
    chart.add_argument("--format", choices=("text", "csv", "html"), default="text")
    chart.set_defaults(run="print_commands.run_chart")
    new_kit = commands.add_parser("new-kit", help="write a commented start for a kit", allow_abbrev=False)
    new_kit.add_argument("name", metavar="NAME", help="the kit's id: small letters, digits and hyphens")
    new_kit.add_argument("--folder", type=Path, default=Path(), metavar="DIR", help="where to write it (here)")
    new_kit.set_defaults(run="new_kit_command.run_new_kit")
    for command in (kits, check, prove, chart):
        _add_files(command, argparse.SUPPRESS)


def _add_staff(commands: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    staff = commands.add_parser(
        "staff",
        help="who may sign in, with which role and PIN",
        description="Who may sign in, with which role and PIN. The list is kept in the preparations' store: whoever can"
        " write to that file can change it, and nobody else. A PIN is asked for on the terminal, twice and without"
        " showing it, or read from one line of standard input; it cannot be given on the command line, where others"
        " would see it.",
        allow_abbrev=False,
    )
    actions = staff.add_subparsers(title="commands", metavar="COMMAND", required=True)
    add = actions.add_parser("add", help="put a person on the list", allow_abbrev=False)
    add.add_argument("--role", required=True, metavar="ROLE", help="such as registrar; the ward file may bar a role")
    remove = actions.add_parser("remove", help="take a person off the list", allow_abbrev=False)
    reset = actions.add_parser("reset", help="give a person another PIN; it ends a wait too", allow_abbrev=False)
    shown = actions.add_parser("list", help="list everybody on it", allow_abbrev=False)
    for action in (add, remove, reset):
        action.add_argument("initials", metavar="INITIALS", help="2 to 4 letters")
    how = add.add_mutually_exclusive_group()
    how.add_argument("--no-pin", action="store_true", help="a person without a PIN, on a ward that asks for none")
    for group in (how, reset):
        group.add_argument("--pin-stdin", action="store_true", help="read the PIN from one line of standard input")
    for name, action in (("add", add), ("remove", remove), ("reset", reset), ("list", shown)):
        store = "the preparations' database (also PREPKIT_STORE)"
        action.add_argument("--store", type=read_store_option, metavar="PATH", default=argparse.SUPPRESS, help=store)
        action.set_defaults(run=f"staff_command.run_{name}")


def _add_papers(commands: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    record = commands.add_parser("record", help="print one preparation for the notes", allow_abbrev=False)
    record.add_argument("prep", metavar="PREP", help="its cot label, or its id where several have that label")
    record.add_argument("--format", choices=("text", "html", "json", "fhir"), default="text")
    record.set_defaults(run="record_commands.run_record")
    audit = commands.add_parser("audit", help="print the ward's numbers over its closed records", allow_abbrev=False)
    audit.add_argument("--from", metavar="YYYY-MM-DD", dest="first", help="the first day of starting (all)")
    audit.add_argument("--to", metavar="YYYY-MM-DD", dest="last", help="the last day (all)")
    audit.add_argument("--format", choices=("text", "csv", "html"), default="text")
    audit.set_defaults(run="record_commands.run_audit")
    verify = commands.add_parser("verify", help="check the chain of events and every stored list", allow_abbrev=False)
    words = "the last event of a printed record, a backup or an earlier verify: it has to be in the store still"
    verify.add_argument("--holds", action="append", default=[], metavar="HASH", help=words)
    verify.set_defaults(run="store_commands.run_verify")
    backup = commands.add_parser("backup", help="write a backup, while the store is in use", allow_abbrev=False)
    backup.add_argument("path", type=Path, metavar="PATH", help="a new file to write it to")
    backup.set_defaults(run="store_commands.run_backup")
    restore = commands.add_parser("restore", help="check a backup and put it in the store's place", allow_abbrev=False)
    restore.add_argument("path", type=Path, metavar="PATH", help="the backup; the store there is moved aside")
    restore.set_defaults(run="store_commands.run_restore")
    mine = commands.add_parser("mine", help="list what one person prepared, checked and gave", allow_abbrev=False)
    mine.add_argument("initials", metavar="INITIALS", help="2 to 4 letters")
    mine.set_defaults(run="record_commands.run_mine")
    for command in (record, audit, verify, backup, restore, mine):
        store = "the preparations' database (also PREPKIT_STORE)"
        command.add_argument("--store", type=read_store_option, metavar="PATH", default=argparse.SUPPRESS, help=store)


def _add_hospital(commands: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    about = "print the SQL that makes the store on a hospital's PostgreSQL, or one more ward in it"
    setup = commands.add_parser("store-setup", help=about, description=f"{about.capitalize()}.", allow_abbrev=False)
    setup.add_argument("--ward", metavar="NAME", dest="ward_name", help="a ward to add, by the name it is known by")
    setup.add_argument("--login", metavar="ROLE", help="the role that the ward's devices log in as")
    setup.set_defaults(run="store_commands.run_setup")
    about = "copy a store into an empty one, file or server, and verify it there"
    move = commands.add_parser("move", help=about, description=f"{about.capitalize()}.", allow_abbrev=False)
    move.add_argument(
        "source", type=read_store_option, metavar="FROM", help="a file, or a server's address; it stays as it is"
    )
    move.add_argument(
        "target", type=read_store_option, metavar="TO", help="a new file, or the address of an empty ward"
    )
    move.set_defaults(run="store_commands.run_move")


if __name__ == "__main__":
    sys.exit(main())
