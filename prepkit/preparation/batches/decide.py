"""Commands on batches in hand: record batch and expiry of a container, put back everything of a line.

Also which lines the ward wants batch and expiry for, and which of its products serve. Needs the worked list.
"""

from collections.abc import Iterator, Mapping
from datetime import date

from msgspec import Struct

from prepkit.kit.lines import SizeLine
from prepkit.kit.ward import Ward
from prepkit.list.lines import ListLine, TrayList
from prepkit.preparation.batches.events import InHand, PutBack
from prepkit.preparation.decision import Decision
from prepkit.preparation.lines.decide import find_line, refuse_if_aside, refuse_if_changed
from prepkit.preparation.lines.events import LineSnapshot, Unticked
from prepkit.preparation.listing import WorkedList
from prepkit.preparation.state import Preparation
from prepkit.preparation.text import Refusal
from prepkit.scan.fields import GTIN_DIGITS, Unreadable, read_batch, read_expiry
from prepkit.scan.reader import read_scan
from prepkit.wording.say import say


class WantedProduct(Struct, frozen=True):
    """What may be in hand for one line."""

    name: str
    """What it is, in words: "Poractant alfa", "Supraglottic airway, size 1"."""
    gtins: frozenset[str]
    """The product numbers that serve, of 14 digits each; none where the ward file lists none."""
    others: Mapping[str, str]
    """Everything else that the ward lists: its name by its product number."""


def find_wanted_product(worked: WorkedList, line_id: str) -> WantedProduct | None:
    """Find which product a line needs; None if the ward wants no batch for it, or if it is not on the list."""
    tray, ward = worked.tray, worked.ward
    line = next((line for line in tray.lines if line.id == line_id), None) if tray else None
    if tray is None or ward is None or line is None or not ward.model.in_hand or not _is_asked(line, tray):
        return None
    listed = dict(_list_gtins(ward.model, tray))
    serving = frozenset(gtin for gtin, (owner, size, _) in listed.items() if _serves(line, owner, size))
    others = {gtin: name for gtin, (_, _, name) in listed.items() if gtin not in serving}
    return WantedProduct(_name(line, tray), serving, others)


def list_lines_wanting_batches(worked: WorkedList) -> tuple[str, ...]:
    """List the lines that the ward wants batch and expiry for, in the order of the list."""
    lines = worked.tray.lines if worked.tray else ()
    return tuple(line.id for line in lines if find_wanted_product(worked, line.id) is not None)


def list_lines_served(worked: WorkedList, gtin: str) -> tuple[str, ...]:
    """List the lines that a product number serves, in the order of the list."""
    wanted = ((line, find_wanted_product(worked, line)) for line in list_lines_wanting_batches(worked))
    return tuple(line for line, each in wanted if each is not None and gtin in each.gtins)


def _is_asked(line: ListLine, tray: TrayList) -> bool:
    if line.kind == "dose":
        return True
    own = next(each for each in tray.laid.line if each.id == line.id)
    return isinstance(own, SizeLine) and own.label


def _list_gtins(ward: Ward, tray: TrayList) -> Iterator[tuple[str, tuple[str, str | None, str]]]:
    """List the ward's stock: product number, owner (a product or a line), size, name."""
    products = {product.id: product.name for product in tray.laid.product}
    for stock in ward.stock:
        name = products.get(stock.product, stock.product)
        yield from ((gtin.zfill(GTIN_DIGITS), (f"product {stock.product}", None, name)) for gtin in stock.gtin)
    lines = {line.id: line.name for line in tray.laid.line}
    for device in ward.device:
        name = lines.get(device.line, device.line) + (f", size {device.size}" if device.size else "")
        yield from ((gtin.zfill(GTIN_DIGITS), (f"line {device.line}", device.size, name)) for gtin in device.gtin)


def _serves(line: ListLine, owner: str, size: str | None) -> bool:
    if line.outcome.product:
        return owner == f"product {line.outcome.product}"
    return owner == f"line {line.id}" and (size is None or line.outcome.sizes == (size,))


def _name(line: ListLine, tray: TrayList) -> str:
    if not line.outcome.product:
        return f"{line.name}, {say(line.outcome.show)}" if line.outcome.show else line.name
    return next(product.name for product in tray.laid.product if product.id == line.outcome.product)


MOST_IN_HAND = 20
"""More containers than any line opens."""


class GivenBatch(Struct, frozen=True):
    """Batch and expiry of one container, as typed or scanned."""

    batch: str
    expiry: date
    gtin: str = ""
    """14 digits where it was scanned; empty where it was typed."""
    serial: str = ""


def read_typed(batch: str, expiry: str) -> GivenBatch | str:
    """Read batch and expiry as typed, or say why one of them is refused."""
    read, until = read_batch(batch), read_expiry(expiry)
    if isinstance(read, Unreadable):
        return read.reason
    return until.reason if isinstance(until, Unreadable) else GivenBatch(read, until)


def read_scanned(text: str, today: date) -> GivenBatch | str:
    """Read a scan, or say why it is refused."""
    found = read_scan(text, today)
    return (
        found.reason
        if isinstance(found, Unreadable)
        else GivenBatch(found.batch, found.expiry, found.gtin, found.serial)
    )


def decide_in_hand(
    state: Preparation, line: str, fingerprint_seen: str, given: GivenBatch, wanted: WantedProduct | None, today: date
) -> Decision:
    """Give batch and expiry of one container for a line.

    `wanted` is from `find_wanted_product`; `today` is the day at the desk. A container is in date on its expiry day.
    """
    found = find_line(state, line)
    if isinstance(found, Refusal):
        return found
    if found.blocked:
        return Refusal(f"{found.name} is blocked: {found.blocked}")
    refusal = refuse_if_aside(state, found) or refuse_if_changed(
        state, found, fingerprint_seen, "give batch and expiry"
    )
    if refusal is not None:
        return refusal
    if wanted is None:
        return Refusal(f"{found.name}: the ward file asks for no batch and expiry here.")
    refusal = _refuse_if_wrong(given, wanted, today) or _refuse_if_repeated(state, found, given)
    if refusal is not None:
        return refusal
    expiry = given.expiry.isoformat()
    return (InHand(line, found.fingerprint, given.gtin, given.batch, expiry, given.serial, scanned=bool(given.gtin)),)


def decide_put_back(state: Preparation, line: str) -> Decision:
    """Put back everything in hand for a line and take its tick away: its replacement is given and ticked anew."""
    found = find_line(state, line)
    if isinstance(found, Refusal):
        return found
    if not state.find_in_hand(line):
        return Refusal(f"{found.name} has nothing in hand: there is nothing to put back.")
    return (*((Unticked(line),) if state.is_ticked(line) else ()), PutBack(line))


def _refuse_if_wrong(given: GivenBatch, wanted: WantedProduct, today: date) -> Refusal | None:
    """Refuse the wrong container: another product, an unreadable batch, out of date."""
    if given.gtin and given.gtin not in wanted.gtins:
        return Refusal(_say_other(given.gtin, wanted))
    batch = read_batch(given.batch)
    if isinstance(batch, Unreadable):
        return Refusal(batch.reason)
    if given.expiry < today:
        return Refusal(f"Out of date: batch {batch} was in date until {given.expiry}. Take another one.")
    return None


def _say_other(gtin: str, wanted: WantedProduct) -> str:
    if gtin in wanted.others:
        return f"The wrong one: this is {wanted.others[gtin]}, and {wanted.name} is wanted here."
    if not wanted.gtins:
        return f"The ward file lists no product number for {wanted.name}: read the name, then type batch and expiry."
    return f"The product number {gtin} is not in the ward's stock list for {wanted.name}: look at what is in your hand."


def _refuse_if_repeated(state: Preparation, line: LineSnapshot, given: GivenBatch) -> Refusal | None:
    held = state.find_in_hand(line.id)
    if given.serial and (given.gtin, given.serial) in {(each.gtin, each.serial) for each in held}:
        return Refusal(f"{line.name}: this very container was given already.")
    if len(held) >= MOST_IN_HAND:
        return Refusal(f"{line.name}: {MOST_IN_HAND} are in hand already. Put them back to begin again.")
    return None
