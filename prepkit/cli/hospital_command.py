"""`prepkit store-setup` and `prepkit move`: a hospital's PostgreSQL made ready, and a store moved there or back.

May import: everything but the screens.
"""

import argparse
import sys
from importlib.util import find_spec

from prepkit.cli.exits import Exit
from prepkit.cli.output import write_out
from prepkit.desk.verifying import verify_store
from prepkit.documents.safe import make_plain
from prepkit.errors import say_install
from prepkit.store import move_records, open_store

_NOT_INSTALLED = f"the server's part is not installed: {say_install('postgres')}"
_BOTH = "a ward is added with both --ward NAME and --login ROLE."


def run_setup(arguments: argparse.Namespace) -> int:
    """Print the SQL; nothing is connected to."""
    if find_spec("psycopg") is None:
        return _refuse(_NOT_INSTALLED)
    from prepkit.store.postgres.setup import write_setup, write_ward  # noqa: PLC0415  (needs what may not be installed)

    if (arguments.ward_name is None) != (arguments.login is None):
        return _refuse(_BOTH)
    text = write_ward(arguments.ward_name, arguments.login) if arguments.login else write_setup()
    return Exit.DONE if write_out(text) else Exit.USAGE


def run_move(arguments: argparse.Namespace) -> int:
    """Move what is not there yet, then verify all of it there."""
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
