"""Finding a preparation by what a person calls it. May import: `prepkit.store`, `prepkit.preparation`, this layer."""

from prepkit.desk.ledger import read_open, read_preparation
from prepkit.errors import StoreDamaged
from prepkit.people.events import STAFF
from prepkit.preparation.state import Preparation
from prepkit.preparation.text import say_stamp
from prepkit.quantities.read import show_safely
from prepkit.store import Store

_MOST_QUOTED = 60


def find_named(store: Store, name: str) -> Preparation | str:
    """Find a preparation by its id, or one in progress by its cot label; else say what there is, in words.

    Raises:
        StoreDamaged: where the preparation of that id cannot be read.
    """
    if name != STAFF and store.read(name, most=1):
        return read_preparation(store, name)
    found = _list_open(store)
    named = {prep: state for prep, state in found.items() if state.cot.casefold() == name.strip().casefold()}
    if len(named) == 1:
        return next(iter(named.values()))
    if named:
        which = "; ".join(f"{prep} (begun by {say_stamp(state.started)})" for prep, state in named.items())
        return f"{len(named)} preparations are in progress for this cot. Name one by its id: {which}."
    cots = ", ".join(dict.fromkeys(state.cot for state in found.values()))
    known = f"In progress: {cots}." if cots else "None is in progress."
    return f'There is no preparation "{show_safely(name[:_MOST_QUOTED])}". {known}'


def _list_open(store: Store) -> dict[str, Preparation]:
    """Read every preparation in progress that can be read; one that cannot is told by the screens and by its id."""
    found = {}
    for prep in read_open(store):
        try:
            found[prep] = read_preparation(store, prep)
        except StoreDamaged:
            continue
    return found
