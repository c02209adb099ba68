"""`prepkit backup` and `prepkit restore`: a checked copy of the store, and the way back.

May import: everything but the screens.
"""

import argparse
import sys
from pathlib import Path

from prepkit.cli.exits import Exit
from prepkit.cli.output import write_out
from prepkit.cli.stores import find_file, open_kept
from prepkit.cli.verify_command import say_kept
from prepkit.desk.clock import read_clock
from prepkit.desk.staff import read_staff
from prepkit.desk.verifying import Verified, verify_store
from prepkit.documents.safe import make_plain
from prepkit.errors import StoreError
from prepkit.people.going_back import UNKNOWN, compare_staff
from prepkit.people.state import Staff
from prepkit.store import open_backup, open_sqlite, put_in_place


def run_backup(arguments: argparse.Namespace) -> int:
    """Write a backup and check what was written; a store with faults is copied with them, and says so."""
    with open_kept(arguments.store) as store:
        store.write_copy(arguments.path)
    with open_sqlite(arguments.path) as copy:
        found = verify_store(copy)
    _write([f'Written: "{arguments.path}".', *_say(found)])
    if _count_faults(found):
        sys.stderr.write(f"prepkit: the backup holds what the store holds. {_say_faults(found)}\n")
        return Exit.STORE
    return Exit.DONE


def run_restore(arguments: argparse.Namespace) -> int:
    """Check a backup; where it is whole, move the store aside and put a copy of the backup in its place.

    The staff list goes back with everything else, and whose PIN is an older one then is said, by initials. It is not
    carried over: what a damaged or foreign store says of PINs is nothing to let people in by.
    """
    path = find_file(arguments.store)
    aside = path.with_name(f"{path.name}.before-restore-{read_clock():%Y%m%d-%H%M%S}")
    with open_backup(arguments.path, path) as store:
        found = verify_store(store)
        if _count_faults(found):
            sys.stderr.write(make_plain(f"prepkit: not restored, the store is as it was. {_say_faults(found)}\n"))
            return Exit.STORE
        staff = _compare_staff(path, read_staff(store))
        was_there = put_in_place(store, path, aside)
    moved = [f'What was there is kept as: "{aside}".'] if was_there else []
    _write([f'Restored: "{path}".', *moved, *staff, *_say(found)])
    return Exit.DONE


def _compare_staff(path: Path, then: Staff) -> tuple[str, ...]:
    try:
        if path.exists():
            with open_sqlite(path) as store:
                return compare_staff(read_staff(store), then)
    except StoreError:  # most often it is for this that a backup is brought back
        pass
    return (UNKNOWN,) if then.people else ()


def _write(rows: list[str]) -> None:
    write_out(make_plain("\n".join(rows) + "\n"))


def _say(found: Verified) -> list[str]:
    last = f"Last event: {found.last_hash}" if found.last_hash else "It is empty."
    return [f"Checked: {found.events} events, {found.lists} lists worked out again.", *say_kept(found), last]


def _count_faults(found: Verified) -> int:
    return len(found.chain) + len(found.wrong)


def _say_faults(found: Verified) -> str:
    faults = (*found.chain, *found.wrong)
    return make_plain(f"{len(faults)} found to be wrong in it. The first: {faults[0]}.")
