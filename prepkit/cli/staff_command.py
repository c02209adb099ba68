"""`prepkit staff`: who may sign in, with which role and PIN."""

import argparse
import getpass
import socket
import sys
import warnings
from collections.abc import Callable, Iterator
from contextlib import contextmanager

from prepkit.app.clock import read_clock
from prepkit.app.staff import StaffList
from prepkit.cli.output import Exit, write_out
from prepkit.paths import find_store
from prepkit.people.pin import Pin, read_new_pin, read_pin
from prepkit.people.staff import Person
from prepkit.preparation.text import Refusal
from prepkit.store import open_store

_NO_TERMINAL = "the PIN is typed on a terminal: there is none. A script gives it with --pin-stdin."
_NOT_HIDDEN = "this terminal would show the PIN: nothing was changed. A script gives it with --pin-stdin."
_LONGEST_LINE = 1000
_DIFFER = "the two PINs differ: nothing was changed."
_NO_PIN = "no PIN was given: nothing was changed."


def run_add(arguments: argparse.Namespace) -> int:
    """Put a person on the staff list."""
    pin = None if arguments.no_pin else _ask_pin(arguments)
    if isinstance(pin, Refusal):
        return _refuse(pin.reason)
    return _change(arguments, lambda staff, account: staff.add(arguments.initials, arguments.role, pin, account))


def run_remove(arguments: argparse.Namespace) -> int:
    """Take a person off the staff list."""
    return _change(arguments, lambda staff, account: staff.remove(arguments.initials, account))


def run_reset(arguments: argparse.Namespace) -> int:
    """Give a person another PIN."""
    pin = _ask_pin(arguments)
    if isinstance(pin, Refusal):
        return _refuse(pin.reason)
    return _change(arguments, lambda staff, account: staff.reset(arguments.initials, pin, account))


def run_list(arguments: argparse.Namespace) -> int:
    """List everybody on it."""
    with _open_staff(arguments) as staff:
        people = staff.list_people()
    if not people:
        sys.stderr.write("prepkit: nobody is on the staff list.\n")
    return Exit.DONE if write_out("".join(map(_write_person, people))) else Exit.USAGE


def _write_person(person: Person) -> str:
    return f"{person.initials:<6}{person.role}{'' if person.pin else '  (no PIN)'}\n"


def _change(arguments: argparse.Namespace, change: Callable[[StaffList, str], str]) -> int:
    with _open_staff(arguments) as staff:
        refusal = change(staff, _find_account())
    return _refuse(refusal) if refusal else Exit.DONE


@contextmanager
def _open_staff(arguments: argparse.Namespace) -> Iterator[StaffList]:
    with open_store(find_store(arguments.store)) as store:
        if store.is_new:
            sys.stderr.write(f'prepkit: there was no store at "{store.name}": a new one was made\n')
        yield StaffList(store, read_clock, socket.gethostname())


def _ask_pin(arguments: argparse.Namespace) -> Pin | Refusal:
    if arguments.pin_stdin:
        return read_new_pin(sys.stdin.buffer.readline(_LONGEST_LINE).decode("ascii", "replace").rstrip("\r\n"))
    if not sys.stdin.isatty():
        # getpass would fall back to standard input, and show what is typed.
        return Refusal(_NO_TERMINAL)
    try:
        with warnings.catch_warnings():
            # Raised before anything is read from a terminal that cannot hide it.
            warnings.simplefilter("error", getpass.GetPassWarning)
            pin = read_new_pin(getpass.getpass("PIN (4 to 8 digits): "))
            again = pin if isinstance(pin, Refusal) else read_pin(getpass.getpass("The same PIN again: "))
    except EOFError:
        return Refusal(_NO_PIN)
    except getpass.GetPassWarning:
        return Refusal(_NOT_HIDDEN)
    return pin if again == pin else Refusal(_DIFFER)


def _find_account() -> str:
    """Who runs the command, by the machine's own account name; empty where it has none."""
    try:
        return getpass.getuser()
    except (KeyError, ImportError, OSError):
        return ""


def _refuse(reason: str) -> int:
    sys.stderr.write(f"prepkit: {reason}\n")
    return Exit.USAGE
