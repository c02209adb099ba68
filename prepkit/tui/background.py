"""What the first screen does not need, loaded meanwhile: units, kits, rules and the other screens.

A thread of its own imports it, since an import takes longer than a key may. Whoever needs a part of it sooner imports
it too and waits for that part alone. May import: the desk.
"""

import gc
from importlib import import_module
from threading import Thread
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from prepkit.desk.desk import Desk
    from prepkit.desk.files import Wrong

NEEDED = ("prepkit.desk.opened", "prepkit.tui.screens.list", "prepkit.tui.screens.record", "prepkit.tui.signing")
"""In the order in which a person comes to need them; each brings what it needs itself."""


def load_behind(desk: "Desk", tell: "Callable[[dict[Path, Wrong]], object]") -> None:
    """Begin to load, and tell at last what was found wrong with the kits and the ward file, from that thread."""
    Thread(target=_load, args=(desk, tell), name="loading").start()


def _load(desk: "Desk", tell: "Callable[[dict[Path, Wrong]], object]") -> None:
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
