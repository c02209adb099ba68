"""`prepkit verify`, `backup`, `restore`, `move` and `store-setup`: looking after a store.

A copy is always verified where it arrives.
"""

import argparse
import sys
from importlib.util import find_spec
from pathlib import Path

from prepkit.app.clock import read_clock
from prepkit.app.staff import read_staff
from prepkit.app.verification import VerificationReport, find_missing_hashes, verify_store
from prepkit.cli.output import Exit, write_out
from prepkit.cli.stores import find_store_file, open_existing_store
from prepkit.documents.safe_text import make_plain
from prepkit.errors import StoreError, say_install
from prepkit.people.staff import CANNOT_COMPARE, Staff, compare_staff
from prepkit.store import move_records, open_backup, open_sqlite, open_store, put_in_place


def run_verify(arguments: argparse.Namespace) -> int:
    """Verify the store, and name everything that is not as it was written, in order."""
    with open_existing_store(arguments.store) as store:
        found = verify_store(store)
        missing = [_say_missing(each) for each in find_missing_hashes(store, arguments.holds)]
    if not write_out(make_plain("\n".join((*missing, *_describe_report(found))) + "\n")):
        return Exit.USAGE
    return Exit.STORE if missing or found.chain or found.wrong or found.rebuilt else Exit.DONE


def _say_missing(event: str) -> str:
    return f"MISSING: no event is {event}. This store was put back to before it, or written anew."


def _describe_report(found: VerificationReport) -> list[str]:
    chain = f"Chain: {found.events} events, each following the one before it."
    lists = f"Lists: {found.lists} worked out again, each the same."
    if found.chain:
        chain = f"CHAIN BROKEN, {len(found.chain)} found. The first: {found.chain[0]}."
    if found.wrong:
        lists = f"LISTS DIFFER, {len(found.wrong)} preparations of which. The first: {found.wrong[0]}."
    more = [f"  {words}" for words in (*found.chain[1:], *found.wrong[1:])]
    more += describe_rebuilt(found)
    last = f"Last event: {found.last_hash}" if found.last_hash else "The store is empty."
    return [chain, lists, *more, last]


def describe_rebuilt(found: VerificationReport) -> list[str]:
    """Say what was rebuilt beside the records; nothing where nothing was."""
    if not found.rebuilt:
        return []
    rows = [f"  {words}" for words in found.rebuilt]
    return [f"KEPT BESIDE THE EVENTS, {len(rows)} found to differ; made anew from the events:", *rows]


def run_backup(arguments: argparse.Namespace) -> int:
    """Write a backup and check it. A store with faults is copied with its faults, and this says so."""
    with open_existing_store(arguments.store) as store:
        store.write_copy(arguments.path)
    with open_sqlite(arguments.path) as copy:
        found = verify_store(copy)
    _write_rows([f'Written: "{arguments.path}".', *_describe_check(found)])
    if _count_faults(found):
        sys.stderr.write(f"prepkit: the backup holds what the store holds. {_say_faults(found)}\n")
        return Exit.STORE
    return Exit.DONE


def run_restore(arguments: argparse.Namespace) -> int:
    """Check a backup; if it is whole, move the store aside and put a copy of the backup in its place.

    The staff list goes back with everything else, and everybody whose PIN is now an older one is named. The list is not
    carried over: nobody should be let in by what a damaged or foreign store says of PINs.
    """
    path = find_store_file(arguments.store)
    aside = path.with_name(f"{path.name}.before-restore-{read_clock():%Y%m%d-%H%M%S}")
    with open_backup(arguments.path, path) as store:
        found = verify_store(store)
        if _count_faults(found):
            sys.stderr.write(make_plain(f"prepkit: not restored, the store is as it was. {_say_faults(found)}\n"))
            return Exit.STORE
        staff = _compare_staff(path, read_staff(store))
        was_there = put_in_place(store, path, aside)
    moved = [f'What was there is kept as: "{aside}".'] if was_there else []
    _write_rows([f'Restored: "{path}".', *moved, *staff, *_describe_check(found)])
    return Exit.DONE


def _compare_staff(path: Path, then: Staff) -> tuple[str, ...]:
    try:
        if path.exists():
            with open_sqlite(path) as store:
                return compare_staff(read_staff(store), then)
    except StoreError:  # most often this is why a backup is restored
        pass
    return (CANNOT_COMPARE,) if then.people else ()


def _write_rows(rows: list[str]) -> None:
    write_out(make_plain("\n".join(rows) + "\n"))


def _describe_check(found: VerificationReport) -> list[str]:
    last = f"Last event: {found.last_hash}" if found.last_hash else "It is empty."
    return [f"Checked: {found.events} events, {found.lists} lists worked out again.", *describe_rebuilt(found), last]


def _count_faults(found: VerificationReport) -> int:
    return len(found.chain) + len(found.wrong)


def _say_faults(found: VerificationReport) -> str:
    faults = (*found.chain, *found.wrong)
    return make_plain(f"{len(faults)} found to be wrong in it. The first: {faults[0]}.")


_NOT_INSTALLED = f"the server's part is not installed: {say_install('postgres')}"
_BOTH = "a ward is added with both --ward NAME and --login ROLE."


def run_setup(arguments: argparse.Namespace) -> int:
    """Print the SQL; connect to nothing."""
    if find_spec("psycopg") is None:
        return _refuse(_NOT_INSTALLED)
    from prepkit.store.postgres.setup import write_setup, write_ward  # noqa: PLC0415  (psycopg may be missing)

    if (arguments.ward_name is None) != (arguments.login is None):
        return _refuse(_BOTH)
    text = write_ward(arguments.ward_name, arguments.login) if arguments.login else write_setup()
    return Exit.DONE if write_out(text) else Exit.USAGE


def run_move(arguments: argparse.Namespace) -> int:
    """Move the records that are not there yet, then verify all of them there."""
    with (
        open_store(arguments.source, is_made=False) as source,
        open_store(arguments.target) as target,
    ):
        count = move_records(source, target)
        found = verify_store(target)
    faults = (*found.chain, *found.wrong)
    if faults:
        sys.stderr.write(make_plain(f"prepkit: {len(faults)} found to be wrong there. The first: {faults[0]}.\n"))
        return Exit.STORE
    rows = [
        f'Moved: {count} events from "{source.name}" to "{target.name}".',
        f"Checked there: {found.events} events, {found.lists} lists worked out again.",
        f"Last event: {found.last_hash}" if found.last_hash else "It is empty.",
    ]
    return Exit.DONE if write_out(make_plain("\n".join(rows) + "\n")) else Exit.USAGE


def _refuse(sentence: str) -> int:
    sys.stderr.write(f"prepkit: {sentence}\n")
    return Exit.USAGE
