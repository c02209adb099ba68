"""`prepkit` without a command: the screens. What it imports is loaded before the first screen."""

import argparse
import gc
import os
import sys
import tempfile
from pathlib import Path

from prepkit.app.demo import lay_out_demo
from prepkit.app.workstation import Workstation, open_workstation
from prepkit.cli.output import Exit
from prepkit.paths import find_shipped, find_store, find_ward
from prepkit.store import open_sqlite, open_store

_NO_SCREEN = (
    "prepkit: the screens need a terminal."
    " For one list without them: prepkit list KIT --birth-weight GRAMS --birth-gestation WEEKS+DAYS\n"
)


def run_screens(arguments: argparse.Namespace) -> int:
    """Open the workstation's screens; the exit code."""
    if (
        not all(stream.isatty() for stream in (sys.stdin, sys.stdout, sys.stderr))
        or os.environ.get("TERM", "dumb") == "dumb"
    ):
        sys.stderr.write(_NO_SCREEN)
        return Exit.USAGE
    gc.disable()  # until the screens have loaded everything: prepkit.tui.background
    return _run_demo(arguments) if arguments.demo else _run_store(arguments)


def _run_store(arguments: argparse.Namespace) -> int:
    at, ward = find_store(arguments.store), find_ward(arguments.ward)
    with open_store(at) as store:
        desk = open_workstation(store, ward=ward, kits=arguments.kits, practice=arguments.practice, store_at=at)
        return _show(desk, arguments.light)


def _run_demo(arguments: argparse.Namespace) -> int:
    with (
        tempfile.TemporaryDirectory(prefix="prepkit-demo-") as folder,
        open_sqlite(Path(folder) / "preparations.sqlite") as store,
    ):
        ward = arguments.ward or find_shipped("demo") / "ward.toml"
        lay_out_demo(store, ward)
        desk = open_workstation(store, ward=ward, kits=arguments.kits, practice=True, store_at=store.path)
        return _show(desk, arguments.light)


def _show(desk: Workstation, chosen: str | None) -> int:
    """Show the screens in the palette asked for on the command line or in the environment."""
    # 240 ms: a store that cannot be opened is said without the terminal library.
    from prepkit.tui.app import run_app  # noqa: PLC0415

    return run_app(desk, light=chosen or os.environ.get("PREPKIT_LIGHT", ""))
