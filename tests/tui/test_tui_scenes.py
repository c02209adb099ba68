"""The table of scenes leaves no screen out."""

import importlib
import pkgutil

from scenes import GOLDEN, SCENES
from textual.screen import Screen

from prepkit.tui import screens


def _find_shown() -> set[type]:
    """Every class of screen that a person can see: what others are made from has no keys of its own."""
    found: set[type] = set()
    for module in pkgutil.iter_modules(screens.__path__, f"{screens.__name__}."):
        here = vars(importlib.import_module(module.name)).values()
        found |= {each for each in here if isinstance(each, type) and issubclass(each, Screen)}
    return {each for each in found if "BINDINGS" in vars(each) or not each.__subclasses__()} - {Screen}


def test_every_screen_has_a_scene_and_one_in_the_goldens() -> None:
    shown = _find_shown()
    assert {scene.screen for scene in SCENES.values()} == shown
    assert {SCENES[name].screen for name in GOLDEN} == shown
