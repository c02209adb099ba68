"""`python -m prepkit.serve.screens`: the program of one session. Started by the server, never by hand.

May import: everything but the command line.
"""

import argparse
import os
import sys
from pathlib import Path

from prepkit.desk.desk import open_desk
from prepkit.serve.command import PLACE_VARIABLE
from prepkit.serve.driver import tell_place
from prepkit.shelf import find_store, read_store
from prepkit.store import open_store
from prepkit.tui.app import run_app
from prepkit.tui.place import read_place


def main() -> int:
    """Show the screens until the person leaves or the server is gone; the exit code."""
    parser = argparse.ArgumentParser(prog="prepkit.serve.screens", allow_abbrev=False)
    parser.add_argument("--store", type=read_store)
    for option in ("--ward", "--kits"):
        parser.add_argument(option, type=Path)
    parser.add_argument("--practice", action="store_true")
    arguments = parser.parse_args()
    at = read_place(os.environ.get(PLACE_VARIABLE, ""))
    with open_store(find_store(arguments.store)) as store:
        desk = open_desk(store, ward=arguments.ward, kits=arguments.kits, practice=arguments.practice)
        return run_app(desk, at, tell_place)


if __name__ == "__main__":
    sys.exit(main())
