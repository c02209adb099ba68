"""Batches in hand for a line: what the ward asks for, and what was scanned or typed."""

from datetime import datetime

from msgspec import Struct

from prepkit.preparation.batches.decide import find_wanted_product
from prepkit.preparation.batches.events import BatchInHand
from prepkit.preparation.listing import WorkedList
from prepkit.preparation.state import Preparation
from prepkit.preparation.text import say_stamp
from prepkit.view.banner import show_banner
from prepkit.view.models import Banner, Offer

_EXPIRY_FORM = "2027-03 (to the end of the month) or 2027-03-31"


class InHandRow(Struct, frozen=True):
    """One container or pack in hand."""

    show: str
    """Batch and expiry: "batch AB12, in date to 2027-03-31"."""
    word: str
    """How and by whom it was given: "scanned KM 03:12"."""
    note: str
    """That it is out of date by now; else empty."""


class InHandView(Struct, frozen=True):
    """What is asked of the containers and packs in hand for one line, and what was given."""

    banner: Banner
    line: str
    name: str
    """What is wanted, in words: "Poractant alfa"."""
    ask: str
    """What to do, as a sentence."""
    is_missing: bool
    """Whether the tick waits for it."""
    expiry_form: str
    """How an expiry is typed."""
    rows: tuple[InHandRow, ...]
    put_back: Offer


def show_in_hand(state: Preparation, worked: WorkedList, line: str, now: datetime) -> InHandView | None:
    """What is asked and what was given for a line; None where the ward asks for nothing, or the line is gone."""
    wanted = find_wanted_product(worked, line)
    if wanted is None:
        return None
    held = state.find_in_hand(line)
    return InHandView(
        banner=show_banner(state, worked.baby),
        line=line,
        name=wanted.name,
        ask=_say_ask(len(held)),
        is_missing=not held,
        expiry_form=_EXPIRY_FORM,
        rows=tuple(_show_row(each, now) for each in held),
        put_back=Offer("Put back", "" if held else "Nothing is in hand yet."),
    )


def say_served(worked: WorkedList, served: tuple[str, ...], gtin: str) -> str:
    """Why a scan on the list belongs to no single line: the product is for none of them, or for several."""
    if not served:
        return f"No line of this list is for the product number {gtin}: look at what is in your hand."
    names = ", ".join(line.name for line in worked.tray.lines if line.id in served) if worked.tray else ""
    return f"This serves more than one line: {names}. Open the one it is for, and scan it there."


def _say_ask(given: int) -> str:
    if not given:
        return "Scan the pack, or type batch and expiry."
    return f"{given} given. Scan or type a further one, or go on."


def _show_row(held: BatchInHand, now: datetime) -> InHandRow:
    serial = f", serial {held.serial}" if held.serial else ""
    how = "scanned" if held.scanned else "typed"
    note = "out of date: put it back and take another one" if held.expiry < now.date() else ""
    show = f"batch {held.batch}{serial}, in date to {held.expiry}"
    return InHandRow(show, f"{how} {say_stamp(held.stamp)}", note)
