"""What can be ordered for one dose line and one baby: the measured dose of each product, and whole containers.

May import: `prepkit.rules`.
"""

from msgspec import Struct

from prepkit.kit.lines import DoseLine
from prepkit.kit.ward import UNDILUTED
from prepkit.quantities.amount import Amount
from prepkit.quantities.show import show_amount, write_decimal
from prepkit.rules.case import Case
from prepkit.rules.drawn import Drawn, compute_reached
from prepkit.rules.vials import show_vials
from prepkit.rules.way import Way, draw_measured, list_ways, prepare_stocked
from prepkit.rules.whole import draw_whole, list_whole, name_whole


class Option(Struct, frozen=True):
    """One thing that can be ordered, and that can be drawn up for this baby as the ward is stocked."""

    id: str
    """Canonical: "poractant-alfa" for the measured dose, "poractant-alfa 3 mL" for whole containers."""
    product: str
    whole: Amount | None
    """The volume of the whole containers, in mL; None for the measured dose."""
    words: str
    """Which way, the volume, the dose per kg that it reaches, what is opened and what is left."""


class Options(Struct, frozen=True):
    """What can be ordered, in the ward's order; and what might be looked for and is not among it, with why."""

    choices: tuple[Option, ...]
    not_offered: tuple[str, ...]


def list_options(line: DoseLine, case: Case) -> tuple[Option, ...]:
    """List what can be ordered, whatever was. The first measured one is what is used where nothing was ordered."""
    return find_options(line, case).choices


def find_options(line: DoseLine, case: Case) -> Options:
    """Find what can be ordered, and why the rest cannot."""
    if case.ward is None:
        return Options((), ("Nothing can be ordered without a ward file: what is in stock is not known.",))
    measured: list[Option] = []
    whole: list[Option] = []
    misses: list[str] = []
    for way in list_ways(prepare_stocked(line, case.kit, case.ward), case):
        if isinstance(way, str):
            misses.append(f"Nothing more is offered: {way}.")
            break
        drawn = draw_measured(way)
        if isinstance(drawn, Drawn):
            measured.append(_make_measured(way, drawn))
        else:
            misses += dict.fromkeys(f"Not measured: {miss.reason}." for miss in drawn)
        for volume in list_whole(way):
            found = draw_whole(way, volume)
            if isinstance(found, Drawn):
                whole.append(_make_whole(way, found, volume))
            else:
                misses.append(f"Not {name_whole(way.product)} of {way.product.name}, {show_amount(volume)}: {found}.")
    return Options((*measured, *whole), tuple(misses))


def write_volume(whole: Amount | None) -> str:
    """Write the volume of whole containers as it is stored and typed: "3 mL"; empty for the measured dose."""
    return f"{write_decimal(whole.value)} {whole.unit.text}" if whole is not None else ""


def write_option(product: str, whole: str) -> str:
    """Write the id of an option from its product's id and the text of its volume."""
    return f"{product} {whole}".rstrip()


def _make_measured(way: Way, drawn: Drawn) -> Option:
    which = "repeat dose, measured" if way.due.is_repeat else "measured"
    of = "" if drawn.dilution.id == UNDILUTED else f" of {show_amount(drawn.dilution.strength)}"
    left = f", discard {show_amount(drawn.left)}" if drawn.left is not None and drawn.left.value else ""
    words = f"{way.product.name}, {which}: {_show_reached(way, drawn, of)}; open {show_vials(drawn.vials)}{left}"
    return Option(write_option(way.product.id, ""), way.product.id, None, words)


def _make_whole(way: Way, drawn: Drawn, volume: Amount) -> Option:
    opened = f"open {show_vials(drawn.vials)}, nothing discarded"
    words = f"{way.product.name}, {name_whole(way.product)}: {_show_reached(way, drawn)}; {opened}"
    return Option(write_option(way.product.id, write_volume(volume)), way.product.id, volume, words)


def _show_reached(way: Way, drawn: Drawn, of: str = "") -> str:
    reached = compute_reached(drawn, way.case)
    return f"{show_amount(drawn.measured.volume)}{of} = {show_amount(reached, 1)}"
