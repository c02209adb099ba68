"""Loads what the first screen does not need behind it: units, kits, rules and the other screens.

A thread of its own imports it, because an import takes longer than a keystroke may. Whoever needs a part sooner
imports it too, and waits for that part alone.
"""

import gc
from importlib import import_module
from threading import Thread
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from prepkit.app.files import FileFault
    from prepkit.app.workstation import Workstation

NEEDED = (
    "prepkit.app.session",
    "prepkit.tui.screens.list",
    "prepkit.tui.screens.record",
    "prepkit.tui.prompts.sign_in",
)
"""In the order in which a person comes to need them; each brings what it needs itself."""


def load_behind(desk: "Workstation", tell: "Callable[[dict[Path, FileFault]], object]") -> None:
    """Begin to load, and tell at last what was found wrong with the kits and the ward file, from that thread."""
    Thread(target=_load, args=(desk, tell), name="loading").start()


def _load(desk: "Workstation", tell: "Callable[[dict[Path, FileFault]], object]") -> None:
    try:
        for module in NEEDED:
            import_module(module)
        problems = desk.files.find_problems()
    finally:
        settle_memory()
    tell(problems)


def settle_memory() -> None:
    """Let go of what loading left behind, once: what stays is in use until the end, and is not looked through again.

    The collector is off from the start where a program was started for the screens alone, and goes on from here.
    """
    if not gc.isenabled():
        gc.collect()
        gc.freeze()
        gc.enable()
