"""The route table is whole, and screens lead to each other by it alone."""

import inspect
import pkgutil

import grimp
import pytest
from scenes import SCENES
from textual.screen import Screen

from prepkit.tui import screens
from prepkit.tui.routes import ROUTES, load_screen
from prepkit.tui.screens.base import WorkstationScreen
from prepkit.view.routes import ScreenRoute

SHARED = {"base", "covered", "focus", "preparation", "pad", "record_items"}
"""What screens are made from: their base classes, the pad that the checker's is made from, the record's own rows."""


def test_every_route_has_its_screen_and_every_screen_its_route() -> None:
    assert set(ROUTES) == set(ScreenRoute)
    assert {load_screen(route) for route in ROUTES} == {scene.screen for scene in SCENES.values()}


@pytest.mark.parametrize("route", ROUTES)
def test_a_screen_is_made_from_what_its_route_says(route: ScreenRoute) -> None:
    kind = load_screen(route)
    assert tuple(inspect.signature(kind).parameters)[: len(ROUTES[route].needs)] == ROUTES[route].needs
    assert isinstance(kind, type)
    assert issubclass(kind, Screen)
    if route is not ScreenRoute.CHECK:  # a pad, with the keys of one
        assert getattr(kind, "ROUTE", None) is route
    if issubclass(kind, WorkstationScreen):
        assert ROUTES[route].needs[0] == "desk"


def test_no_screen_imports_another() -> None:
    graph = grimp.build_graph("prepkit", exclude_type_checking_imports=False, cache_dir=None)
    names = {module.name for module in pkgutil.iter_modules(screens.__path__)}
    for name in names:
        imported = graph.find_modules_directly_imported_by(f"prepkit.tui.screens.{name}")
        others = {each.rpartition(".")[2] for each in imported if each.startswith("prepkit.tui.screens.")}
        assert others <= SHARED, f"{name} imports {others - SHARED}: go there by its route"
