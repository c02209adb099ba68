"""A device of its own, for `test_two_programs`: opens a preparation and ticks lines, saying what became of each.

Usage: python ticking_program.py STORE WARD PREP WHO LINE...; one row a line: "done LINE", or "refused LINE: reason".
"""

import sys
from pathlib import Path

from prepkit.app.demo import CHOSEN
from prepkit.app.files import WorkstationFiles
from prepkit.app.workstation import Workstation
from prepkit.store import open_sqlite


def main(store: str, ward: str, prep: str, who: str, *lines: str) -> None:
    with open_sqlite(Path(store)) as opened_store:
        opened = Workstation(opened_store, WorkstationFiles(Path(ward), None), who=who).resume(prep)
        if isinstance(opened, str):
            raise SystemExit(opened)
        sys.stdout.write("ready\n")
        sys.stdout.flush()
        sys.stdin.readline()
        for line in lines:
            # As on a screen: a line that is shown as done is not touched again, which would take the tick back.
            tick = opened.session.state.ticks.get(line)
            refusal = f"was ticked by {tick.stamp.who}" if tick else opened.lines.tick(line, CHOSEN.get(line, ""))
            # Said only once the store has it.
            sys.stdout.write(f"refused {line}: {refusal}\n" if refusal else f"done {line}\n")
            sys.stdout.flush()


if __name__ == "__main__":
    main(*sys.argv[1:])
