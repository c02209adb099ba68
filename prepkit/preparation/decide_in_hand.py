"""What may be done with the containers and packs in hand: give batch and expiry of one, put all of a line back.

May import: this layer, `prepkit.scan`, msgspec and the standard library.
"""

from datetime import date

from msgspec import Struct

from prepkit.preparation.decide_lines import find_aside, find_changed, find_line
from prepkit.preparation.decision import Decision
from prepkit.preparation.events import LineStamp
from prepkit.preparation.line_events import InHand, PutBack, Unticked
from prepkit.preparation.state import Preparation
from prepkit.preparation.text import Refusal
from prepkit.preparation.wanted import Wanted
from prepkit.scan.fields import Unread, read_batch, read_expiry
from prepkit.scan.scanned import read_scan

MOST_IN_HAND = 20
"""More containers than any line opens."""


class Given(Struct, frozen=True):
    """Batch and expiry of one container, as typed or scanned."""

    batch: str
    expiry: date
    gtin: str = ""
    """14 digits where it was scanned; empty where it was typed."""
    serial: str = ""


def read_typed(batch: str, expiry: str) -> Given | str:
    """Read batch and expiry as typed, or why one of them cannot be taken."""
    read, until = read_batch(batch), read_expiry(expiry)
    if isinstance(read, Unread):
        return read.reason
    return until.reason if isinstance(until, Unread) else Given(read, until)


def read_scanned(text: str, today: date) -> Given | str:
    """Read a scan, or why it cannot be taken."""
    found = read_scan(text, today)
    return found.reason if isinstance(found, Unread) else Given(found.batch, found.expiry, found.gtin, found.serial)


def decide_in_hand(
    state: Preparation, line: str, fingerprint_seen: str, given: Given, wanted: Wanted | None, today: date
) -> Decision:
    """Give batch and expiry of one container for a line.

    `wanted` is what the ward wants for the line, None where it asks for nothing; `today` is the day at the desk. The
    expiry day itself is in date.
    """
    found = find_line(state, line)
    if isinstance(found, Refusal):
        return found
    if found.blocked:
        return Refusal(f"{found.name} is blocked: {found.blocked}")
    refusal = find_aside(state, found) or find_changed(state, found, fingerprint_seen, "give batch and expiry")
    if refusal is not None:
        return refusal
    if wanted is None:
        return Refusal(f"{found.name}: the ward file asks for no batch and expiry here.")
    refusal = _find_wrong(given, wanted, today) or _find_again(state, found, given)
    if refusal is not None:
        return refusal
    expiry = given.expiry.isoformat()
    return (InHand(line, found.fingerprint, given.gtin, given.batch, expiry, given.serial, scanned=bool(given.gtin)),)


def decide_put_back(state: Preparation, line: str) -> Decision:
    """Take back everything given for a line, and its tick with it: what is used instead is given and ticked anew."""
    found = find_line(state, line)
    if isinstance(found, Refusal):
        return found
    if not state.find_in_hand(line):
        return Refusal(f"{found.name} has nothing in hand: there is nothing to put back.")
    return (*((Unticked(line),) if state.is_ticked(line) else ()), PutBack(line))


def _find_wrong(given: Given, wanted: Wanted, today: date) -> Refusal | None:
    """Find what makes this the wrong container: what it is, its batch, its date."""
    if given.gtin and given.gtin not in wanted.gtins:
        return Refusal(_say_other(given.gtin, wanted))
    batch = read_batch(given.batch)
    if isinstance(batch, Unread):
        return Refusal(batch.reason)
    if given.expiry < today:
        return Refusal(f"Out of date: batch {batch} was in date until {given.expiry}. Take another one.")
    return None


def _say_other(gtin: str, wanted: Wanted) -> str:
    if gtin in wanted.others:
        return f"The wrong one: this is {wanted.others[gtin]}, and {wanted.name} is wanted here."
    if not wanted.gtins:
        return f"The ward file lists no product number for {wanted.name}: read the name, then type batch and expiry."
    return f"The product number {gtin} is not in the ward's stock list for {wanted.name}: look at what is in your hand."


def _find_again(state: Preparation, line: LineStamp, given: Given) -> Refusal | None:
    held = state.find_in_hand(line.id)
    if given.serial and (given.gtin, given.serial) in {(each.gtin, each.serial) for each in held}:
        return Refusal(f"{line.name}: this very container was given already.")
    if len(held) >= MOST_IN_HAND:
        return Refusal(f"{line.name}: {MOST_IN_HAND} are in hand already. Put them back to begin again.")
    return None
