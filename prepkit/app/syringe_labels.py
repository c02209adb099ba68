"""The syringe labels of one preparation, as a screen shows them, and the preparation that a person names to print them.

Loads the documents: import it only when labels are asked for.
"""

import shlex
from pathlib import Path

from prepkit.app.eventlog.repository import read_preparation
from prepkit.app.eventlog.stream_index import read_open
from prepkit.app.session import PreparationSession
from prepkit.documents.labels import list_label_rows, list_stock_rows, make_labels
from prepkit.errors import StoreDamaged
from prepkit.paths import find_own_store
from prepkit.people import STAFF_STREAM
from prepkit.preparation.state import Preparation
from prepkit.preparation.text import say_stamp
from prepkit.quantities.text import show_safely
from prepkit.store import Store, StoreAt, is_address
from prepkit.view.banner import show_banner
from prepkit.view.models import LabelsView

_MOST_QUOTED = 60


def find_preparation(store: Store, name: str) -> Preparation | str:
    """Find a preparation by its id, or one in progress by its cot label; else say what there is, in words.

    Raises:
        StoreDamaged: where the preparation of that id cannot be read.
    """
    if name != STAFF_STREAM and store.read(name, most=1):
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


def show_labels(session: PreparationSession, store_at: StoreAt | None) -> LabelsView | str:
    """The labels as they would be printed now; why there can be none, in words, as while somebody checks."""
    now, worked = session.clock(), session.work_out()
    sheet = make_labels(session.state, worked, now, lambda at: at.astimezone(now.tzinfo))
    if isinstance(sheet, str):
        return sheet
    rows = (*map(list_label_rows, sheet.labels), *map(list_stock_rows, sheet.stock))
    labels = tuple(tuple(each) for each in rows)
    return LabelsView(
        show_banner(session.state, worked.baby), labels, sheet.left_out, _write_command(session, store_at)
    )


def _write_command(session: PreparationSession, store_at: StoreAt | None) -> str:
    """What prints these labels: by the cot label where no other preparation has it, else by the id."""
    found = find_preparation(session.store, session.state.cot)
    name = session.state.cot if isinstance(found, Preparation) else session.prep
    return f"prepkit labels {shlex.quote(name)}{_name_store(store_at)} --format html --out labels.html"


def _name_store(at: StoreAt | None) -> str:
    """Name the store where prepkit would open another one by itself: an environment may differ at another prompt.

    A server's address is left to the environment: it may hold a password.
    """
    if at is None or is_address(at) or Path(at).absolute() == find_own_store():
        return ""
    return f" --store {shlex.quote(str(Path(at).absolute()))}"
