"""`python -m tests.bench.steps`: what a session's memory and its time on the processor go into, load by load.

The profile behind what docs/speed.md says of the targets that are missed.
"""

import dataclasses
import os
import sys
import time
from importlib import import_module
from pathlib import Path
from typing import Any

from tests.bench.terminal import read_rss

STEPS = {
    "the terminal library": ("textual.app", "textual.screen", "textual.containers"),
    "the first screen": ("prepkit.cli.screens_command", "prepkit.tui.app"),
    "the events and their fold": ("prepkit.app.eventlog.repository",),
    "the models of kits and ward files": ("prepkit.kit.read",),
    "rules, lists and preparations": ("prepkit.app.open_preparation",),
    "the other screens": (
        "prepkit.tui.prompts.sign_in",
        *(f"prepkit.tui.screens.{name}" for name in ("list", "pad", "overlays", "baby", "cot", "steps", "record")),
    ),
    "pint, which a session goes without": ("pint",),
}


def main() -> None:
    """Load them in the order in which a session does, and print what each added."""
    classes = _time_dataclasses()
    rss, spent = read_rss(os.getpid()), time.process_time()
    for name, modules in (*STEPS.items(), ("the shipped kits and the demo ward, read", ())):
        for module in modules:
            import_module(module)
        if not modules:
            _read_files()
        now, then = read_rss(os.getpid()), time.process_time()
        sys.stdout.write(f"{name}: {(now - rss) / 1e6:.1f} MB, {(then - spent) * 1000:.0f} ms\n")
        rss, spent = now, then
    sys.stdout.write(f"of all that, {len(classes)} dataclasses made: {sum(classes) * 1000:.0f} ms\n")


def _time_dataclasses() -> list[float]:
    """The seconds that each dataclass takes to make from here on, whoever's it is."""
    made, taken = dataclasses.dataclass, []

    def timed(cls: type | None = None, /, **options: Any) -> Any:  # noqa: ANN401  (the decorator's own signature)
        def make(each: type) -> type:
            begun = time.process_time()
            done: type = made(**options)(each)
            taken.append(time.process_time() - begun)
            return done

        return make if cls is None else make(cls)

    setattr(dataclasses, "dataclass", timed)  # noqa: B010  (no other way round the type of a decorator)
    return taken


def _read_files() -> None:
    shelf = import_module("prepkit.paths")
    shelf.load_all_kits(shelf.find_kits())
    shelf.load_ward(Path(shelf.find_shipped("demo")) / "ward.toml")


if __name__ == "__main__":
    main()
