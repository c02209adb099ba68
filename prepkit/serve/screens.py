"""`python -m prepkit.serve.screens`: the program of one session. Started by the server, never by hand."""

import argparse
import gc
import sys
from contextlib import suppress
from datetime import timedelta
from pathlib import Path

from prepkit.app.workstation import Workstation, open_workstation
from prepkit.paths import find_store, read_store_location
from prepkit.serve.driver import take_opening, tell_place, tell_session_state
from prepkit.serve.session_state import Opening, SessionState
from prepkit.store import open_store
from prepkit.tui.app import PrepkitApp, run_and_report
from prepkit.tui.place import read_place

NOT_STARTED = 2


def main() -> int:
    """Show the screens until the person leaves or the server is gone; the exit code."""
    parser = argparse.ArgumentParser(prog="prepkit.serve.screens", allow_abbrev=False)
    parser.add_argument("--store", type=read_store_location)
    for option in ("--ward", "--kits"):
        parser.add_argument(option, type=Path)
    parser.add_argument("--practice", action="store_true")
    arguments = parser.parse_args()
    try:
        opening = take_opening()
    except ValueError:
        sys.stderr.write("prepkit.serve.screens: this is started by prepkit serve alone.\n")
        return NOT_STARTED
    gc.disable()  # until the screens have loaded everything: prepkit.tui.background
    at = find_store(arguments.store)
    with open_store(at) as store:
        desk = open_workstation(
            store, ward=arguments.ward, kits=arguments.kits, practice=arguments.practice, store_at=at
        )
        return _show(desk, opening)


def _show(desk: Workstation, opening: Opening) -> int:
    state = opening.state
    if state.signed is not None:
        desk.identity.resume_sign_in(state.signed, locked=state.locked)
    app = PrepkitApp(desk, read_place(opening.place), tell_place, idle=timedelta(seconds=state.idle))
    code = run_and_report(app)
    if code == 0:  # after a fault nobody knows the state: whoever comes back gives the PIN
        signed = desk.identity.verified_person
        with suppress(BrokenPipeError):  # the server is gone
            tell_session_state(SessionState(signed, locked=desk.identity.is_locked, idle=app.idle.total_seconds()))
    return code


if __name__ == "__main__":
    sys.exit(main())
