"""What the benchmarks run on: a folder with a store, the demo ward, a kit of sixty lines, an environment of its own."""

import os
import sys
from dataclasses import dataclass
from pathlib import Path

from prepkit.app.eventlog.repository import read_attribution
from prepkit.app.kit_files import load_kit
from prepkit.app.open_preparation import OpenPreparation
from prepkit.app.workstation import Workstation, open_workstation
from prepkit.paths import find_shipped
from prepkit.store import Draft, SqliteStore, open_sqlite

ROOT = Path(__file__).parents[2]
KIT = "surfactant-supraglottic"
LONG_KIT = "sixty-lines"
LINES = 60
_READ, _ = load_kit(find_shipped("kits") / f"{KIT}.toml")
_SHIPPED = len(_READ.model.line) if _READ else 0
ALL_LEFT = f"{_SHIPPED} of {_SHIPPED} left"
"""What the shipped kit's list shows once it is there."""
_LINE = """
[[line]]
kind = "supply"
id = "further-{at}"
group = "airway"
name = "Further thing {at}"
how = ["Lay it out."]
basis = "local"
"""


@dataclass(frozen=True)
class Scene:
    """A folder to run in."""

    folder: Path

    @property
    def store(self) -> Path:
        """The store's file."""
        return self.folder / "preparations.sqlite"

    @property
    def environment(self) -> dict[str, str]:
        """A terminal with all colours, and nothing of the user's own."""
        kept = {name: os.environ[name] for name in ("PATH", "LANG", "TMPDIR") if name in os.environ}
        return kept | {
            "HOME": str(self.folder),
            "XDG_CONFIG_HOME": str(self.folder / "config"),
            "XDG_DATA_HOME": str(self.folder / "data"),
            "PYTHONPATH": str(ROOT),
            "PREPKIT_STORE": str(self.store),
            "PREPKIT_WARD": str(find_shipped("demo") / "ward.toml"),
            "TERM": "xterm-256color",
            "COLORTERM": "truecolor",
        }

    @property
    def kits(self) -> Path:
        """A folder with the kit of sixty lines."""
        return self.folder / "kits"


PREPKIT = (sys.executable, "-m", "prepkit")
EMPTY = (sys.executable, "-c", "from textual.app import App; App().run()")
"""An empty app of the terminal library."""


def make_scene(folder: Path) -> Scene:
    """An empty store, and the kits."""
    scene = Scene(folder)
    scene.kits.mkdir()
    text = (find_shipped("kits") / f"{KIT}.toml").read_text("utf-8").replace(f'id = "{KIT}"', f'id = "{LONG_KIT}"', 1)
    head, steps, tail = text.partition("[[procedure.reading]]")
    with open_sqlite(scene.store) as store:
        have = count_lines(prepare(store, scene, "Cot 1", KIT))
    scene.store.unlink()
    further = "".join(_LINE.format(at=at) for at in range(1, LINES - have + 1))
    (scene.kits / f"{LONG_KIT}.toml").write_text(head + further + steps + tail, "utf-8")
    open_sqlite(scene.store).close()
    return scene


def prepare(store: SqliteStore, scene: Scene, cot: str, kit: str = KIT) -> OpenPreparation:
    """A preparation with its list, by an invented nurse."""
    desk: Workstation = open_workstation(store, ward=find_shipped("demo") / "ward.toml", kits=scene.kits, who="RA")
    opened = desk.start(kit, cot)
    if isinstance(opened, str):
        raise TypeError(opened)
    for fact, typed in (("birth_weight", "1450"), ("birth_gestation", "30+2")):
        if refusal := opened.baby.give_fact(fact, typed):
            raise ValueError(refusal)
    return opened


def list_lines(opened: OpenPreparation) -> list[str]:
    """The ids of the lines of its list."""
    return [line.id for group in opened.lines.show_list().groups for line in group.lines]


def count_lines(opened: OpenPreparation) -> int:
    """How many lines its list has."""
    return len(list_lines(opened))


def fill(scene: Scene, in_progress: int, ended: int) -> None:
    """So many preparations: each half ticked, the ended ones stood down; one append each, as copies of one."""
    with open_sqlite(scene.store) as store:
        model = prepare(store, scene, "Cot 1")
        for line in list_lines(model)[:15]:
            model.lines.tick(line)
        going = [Draft(each.kind, each.form, each.body) for each in store.read(model.session.prep)]
        model.ready.stand_down("Started by mistake")
        over = [Draft(each.kind, each.form, each.body) for each in store.read(model.session.prep)]
        stamp = read_attribution(store.read(model.session.prep)[0])
        for number in range(ended + in_progress):
            drafts = over if number < ended else going
            store.append(f"{number:032x}", 0, drafts, stamp)
