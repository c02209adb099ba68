"""Loads what the first screen does not need behind it: units, kits, rules and the other screens.

A thread of its own imports it, because an import takes longer than a keystroke may. Whoever needs a part sooner
imports it too, and waits for that part alone.
"""

import gc
from collections.abc import Callable
from importlib import import_module
from pathlib import Path
from threading import Thread

from prepkit.app.files import FileFault
from prepkit.app.workstation import Workstation
from prepkit.tui.routes import load_screen
from prepkit.view.routes import ScreenRoute

NEEDED = ("prepkit.app.open_preparation", "prepkit.tui.prompts.sign_in")
"""Each brings what it needs itself."""
SCREENS = (
    ScreenRoute.LIST,
    ScreenRoute.PAD,
    ScreenRoute.MESSAGE,
    ScreenRoute.BABY,
    ScreenRoute.COT,
    ScreenRoute.STEP,
    ScreenRoute.RECORD,
)
"""In the order in which a person comes to need them. The rest load in a moment when they are first gone to."""


def load_behind(desk: Workstation, tell: Callable[[dict[Path, FileFault]], object]) -> None:
    """Begin to load; at the end, that thread tells what is wrong with the kits and the ward file."""
    Thread(target=_load, args=(desk, tell), name="loading").start()


def _load(desk: Workstation, tell: Callable[[dict[Path, FileFault]], object]) -> None:
    try:
        for module in NEEDED:
            import_module(module)
        for route in SCREENS:
            load_screen(route)
        problems = desk.files.find_problems()
    finally:
        settle_memory()
    tell(problems)


def settle_memory() -> None:
    """Collect once what loading left behind; what remains is in use until the end, and is not searched again.

    A program started for the screens alone begins with the collector off, and turns it on here.
    """
    if not gc.isenabled():
        gc.collect()
        gc.freeze()
        gc.enable()
