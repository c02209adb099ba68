"""The syringe labels of an open preparation, as a screen shows them. May import: every layer but the front ends."""

import shlex
from pathlib import Path
from typing import TYPE_CHECKING

from prepkit.desk.named import find_named
from prepkit.documents.labels import list_label_rows, make_labels
from prepkit.preparation.state import Preparation
from prepkit.shelf import find_own_store
from prepkit.store import StoreAt, is_address
from prepkit.view.banner import show_banner
from prepkit.view.models import LabelsView

if TYPE_CHECKING:
    from prepkit.desk.opened import OpenPreparation


def show_labels(opened: "OpenPreparation") -> LabelsView | str:
    """The labels as they would be printed now; why there can be none, in words, as while somebody checks."""
    now = opened.desk.clock()
    sheet = make_labels(opened.state, opened.work_out(), now, lambda at: at.astimezone(now.tzinfo))
    if isinstance(sheet, str):
        return sheet
    labels = tuple(tuple(list_label_rows(label)) for label in sheet.labels)
    return LabelsView(show_banner(opened.state), labels, sheet.left_out, _write_command(opened))


def _write_command(opened: "OpenPreparation") -> str:
    """What prints these labels: by the cot label where no other preparation has it, else by the id."""
    found = find_named(opened.desk.store, opened.state.cot)
    name = opened.state.cot if isinstance(found, Preparation) else opened.prep
    return f"prepkit labels {shlex.quote(name)}{_name_store(opened.desk.store_at)} --format html --out labels.html"


def _name_store(at: StoreAt | None) -> str:
    """Name the store where prepkit would open another one by itself: an environment may differ at another prompt.

    A server's address is left to the environment: it may hold a password.
    """
    if at is None or is_address(at) or Path(at).absolute() == find_own_store():
        return ""
    return f" --store {shlex.quote(str(Path(at).absolute()))}"
