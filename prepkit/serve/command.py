"""How the program of a session is started. May import: the standard library."""

import sys
from pathlib import Path


def make_command(store: Path | str | None, ward: Path | None, kits: Path | None, *, practice: bool) -> tuple[str, ...]:
    """The words that start it; without a store it looks where the environment says.

    Everybody on the machine can read them, so they name files and nobody.
    """
    optional = (("--store", store), ("--ward", ward), ("--kits", kits))
    named = [word for option, path in optional if path is not None for word in (option, str(path))]
    last = ["--practice"] if practice else []
    return (sys.executable, "-m", "prepkit.serve.screens", *named, *last)
