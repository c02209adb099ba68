"""Draw the pictures in README from the real app: the list on a narrow screen and on a wide one.

Usage: python docs/make_pictures.py. The clock, the ward and the baby are fixed, so that a picture changes only with
the app.
"""

import asyncio
import os
import tempfile
from datetime import UTC, datetime
from pathlib import Path

os.environ.setdefault("TEXTUAL_ANIMATIONS", "none")

from svg import make_small

from prepkit.app.files import WorkstationFiles
from prepkit.app.workstation import Workstation
from prepkit.paths import find_shipped
from prepkit.store import open_sqlite
from prepkit.tui.app import PrepkitApp

DOCS = Path(__file__).parent
NIGHT = datetime(2026, 11, 25, 3, 12, tzinfo=UTC)
PICTURES = {"list-narrow.svg": (40, 40), "list-wide.svg": (120, 40)}
TICKED = 11
_FACTS = {
    "birth_weight": "1450",
    "birth_gestation": "30+2",
    "born": "today",
    "cpap": "6",
    "fio2": "38",
    "gastric_tube": "no",
    "line_patent": "yes",
    "nil_by_mouth": "yes",
    "earlier_surfactant": "0",
}


async def draw(desk: Workstation, size: tuple[int, int]) -> str:
    """Open the one preparation's list at a size and give its picture as SVG."""
    app = PrepkitApp(desk)
    async with app.run_test(size=size) as pilot:
        await pilot.pause()
        await pilot.press("enter")
        await pilot.pause()
        await pilot.press(*(["down"] * TICKED))
        await pilot.pause()
        return make_small(app.export_screenshot())


def main() -> None:
    """Lay out one invented baby, and draw every picture."""
    with tempfile.TemporaryDirectory() as folder, open_sqlite(Path(folder) / "store.sqlite") as store:
        ward = find_shipped("demo") / "ward.toml"
        desk = Workstation(store, WorkstationFiles(ward, None), practice=True, who="RA", clock=lambda: NIGHT)
        opened = desk.start("surfactant-supraglottic", "Cot 4")
        if isinstance(opened, str):
            raise SystemExit(opened)
        for fact, typed in _FACTS.items():
            opened.baby.give_fact(fact, typed)
        for group in opened.lines.show_list().groups[:3]:
            for line in group.lines:
                if line.id not in {"surfactant", "atropine", "sucrose", "flush", "catheter-depth"}:
                    opened.lines.tick(line.id)
        for name, size in PICTURES.items():
            (DOCS / name).write_text(asyncio.run(draw(desk, size)), "utf-8")


if __name__ == "__main__":
    main()
