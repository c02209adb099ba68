"""What a ward wants to know of the containers and packs in hand: for which lines, and which products serve.

May import: `prepkit.list` and below, and this layer.
"""

from collections.abc import Iterator, Mapping

from msgspec import Struct

from prepkit.kit.lines import SizeLine
from prepkit.kit.ward import Ward
from prepkit.list.lines import ListLine, TrayList
from prepkit.preparation.worked import Worked
from prepkit.scan.fields import GTIN_DIGITS


class Wanted(Struct, frozen=True):
    """What may be in hand for one line."""

    name: str
    """What it is, in words: "Poractant alfa", "Supraglottic airway, size 1"."""
    gtins: frozenset[str]
    """The product numbers that serve, of 14 digits each; none where the ward file lists none."""
    others: Mapping[str, str]
    """Everything else that the ward lists: its name by its product number."""


def find_wanted(worked: Worked, line_id: str) -> Wanted | None:
    """Find what is wanted for a line; None where the ward asks for nothing, or the line is not on the list."""
    tray, ward = worked.tray, worked.ward
    line = next((line for line in tray.lines if line.id == line_id), None) if tray else None
    if tray is None or ward is None or line is None or not ward.model.in_hand or not _is_asked(line, tray):
        return None
    listed = dict(_list_gtins(ward.model, tray))
    serving = frozenset(gtin for gtin, (owner, size, _) in listed.items() if _serves(line, owner, size))
    others = {gtin: name for gtin, (_, _, name) in listed.items() if gtin not in serving}
    return Wanted(_name(line, tray), serving, others)


def list_wanting(worked: Worked) -> tuple[str, ...]:
    """List the lines whose batch and expiry the ward wants, in the order of the list."""
    lines = worked.tray.lines if worked.tray else ()
    return tuple(line.id for line in lines if find_wanted(worked, line.id) is not None)


def list_served(worked: Worked, gtin: str) -> tuple[str, ...]:
    """List the lines for which a product number serves, in the order of the list."""
    wanted = ((line, find_wanted(worked, line)) for line in list_wanting(worked))
    return tuple(line for line, each in wanted if each is not None and gtin in each.gtins)


def _is_asked(line: ListLine, tray: TrayList) -> bool:
    if line.kind == "dose":
        return True
    own = next(each for each in tray.laid.line if each.id == line.id)
    return isinstance(own, SizeLine) and own.label


def _list_gtins(ward: Ward, tray: TrayList) -> Iterator[tuple[str, tuple[str, str | None, str]]]:
    """List what the ward keeps: the number, whose it is (a product or a line), of which size, its name."""
    products = {product.id: product.name for product in tray.laid.product}
    for stock in ward.stock:
        name = products.get(stock.product, stock.product)
        yield from ((gtin.zfill(GTIN_DIGITS), (f"product {stock.product}", None, name)) for gtin in stock.gtin)
    lines = {line.id: line.name for line in tray.laid.line}
    for device in ward.device:
        name = lines.get(device.line, device.line) + (f", size {device.size}" if device.size else "")
        yield from ((gtin.zfill(GTIN_DIGITS), (f"line {device.line}", device.size, name)) for gtin in device.gtin)


def _serves(line: ListLine, owner: str, size: str | None) -> bool:
    if line.product:
        return owner == f"product {line.product}"
    return owner == f"line {line.id}" and size in {None, line.size}


def _name(line: ListLine, tray: TrayList) -> str:
    if not line.product:
        return f"{line.name}, {line.show}" if line.show else line.name
    return next(product.name for product in tray.laid.product if product.id == line.product)
