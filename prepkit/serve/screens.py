"""`python -m prepkit.serve.screens`: the program of one session. Started by the server, never by hand.

May import: everything but the command line.
"""

import argparse
import sys
from contextlib import suppress
from datetime import timedelta
from pathlib import Path
from typing import TYPE_CHECKING

from prepkit.desk.desk import open_desk
from prepkit.serve.driver import take_opening, tell_place, tell_standing
from prepkit.serve.standing import Opening, Standing
from prepkit.shelf import find_store, read_store
from prepkit.store import open_store
from prepkit.tui.app import PrepkitApp, run_opened
from prepkit.tui.place import read_place

if TYPE_CHECKING:
    from prepkit.desk.desk import Desk

NOT_STARTED = 2


def main() -> int:
    """Show the screens until the person leaves or the server is gone; the exit code."""
    parser = argparse.ArgumentParser(prog="prepkit.serve.screens", allow_abbrev=False)
    parser.add_argument("--store", type=read_store)
    for option in ("--ward", "--kits"):
        parser.add_argument(option, type=Path)
    parser.add_argument("--practice", action="store_true")
    arguments = parser.parse_args()
    try:
        opening = take_opening()
    except ValueError:
        sys.stderr.write("prepkit.serve.screens: this is started by prepkit serve alone.\n")
        return NOT_STARTED
    at = find_store(arguments.store)
    with open_store(at) as store:
        desk = open_desk(store, ward=arguments.ward, kits=arguments.kits, practice=arguments.practice, store_at=at)
        return _show(desk, opening)


def _show(desk: "Desk", opening: Opening) -> int:
    standing = opening.standing
    if standing.signed is not None:
        desk.take_up(standing.signed, locked=standing.locked)
    app = PrepkitApp(desk, read_place(opening.place), tell_place, idle=timedelta(seconds=standing.idle))
    code = run_opened(app)
    if code == 0:  # after a fault nobody knows how it stood: whoever comes back gives the PIN
        signed = desk.signed_on
        with suppress(BrokenPipeError):  # the server is gone
            tell_standing(Standing(signed, locked=desk.is_locked, idle=app.idle.total_seconds()))
    return code


if __name__ == "__main__":
    sys.exit(main())
