"""The shipped kits as they are stored: each text with those of its fragments behind it."""

from prepkit.app.kit_files import load_kit
from prepkit.paths import find_shipped

KIT_IDS = sorted(path.stem for path in find_shipped("kits").glob("*.toml"))


def read_kit_text(kit: str = "surfactant-supraglottic") -> str:
    """The whole text of a shipped kit."""
    read, problems = load_kit(find_shipped("kits") / f"{kit}.toml")
    assert read is not None, problems
    return read.text
