"""Phrases that several sentences share: citations, days, containers, sizes, strengths, routes."""

from collections.abc import Sequence
from datetime import date, datetime
from types import MappingProxyType

from prepkit.kit.axes import WEIGHTS, Axis
from prepkit.kit.baby import Age, Baby, BabySize
from prepkit.kit.fields import EXCERPT
from prepkit.kit.kit import Source
from prepkit.kit.ward import Approved
from prepkit.quantities.gestation import Gestation
from prepkit.quantities.text import show_amount
from prepkit.rules.findings import Citation
from prepkit.rules.rule import Dilution, VialCount
from prepkit.wording.baby import say_weights

TIMES = "\N{MULTIPLICATION SIGN}"
_UNCITED = MappingProxyType(
    {"from memory": "from memory, not read: check it", "common practice": "common practice, no source to cite"}
)
# ISO 80369 gives each route a connector that fits no other; the trachea has none of its own.
_CONNECTORS = MappingProxyType(
    {
        "intravenous": "a luer syringe (ISO 80369-7)",
        "enteral": "an enteral syringe (ISO 80369-3), which fits no line",
        "tracheal": "a syringe labelled not for injection: no connector of its own keeps it from a line",
    }
)

CLASS_COLOURS = MappingProxyType({"anticholinergic": "green"})
"""The colour of a class of medicines on a syringe label (ISO 26825, 2020): an aid, never without the word."""


def say_citation(cited: Citation) -> str:
    """Give the basis and the citation in one phrase: "published: Canadian Paediatric Society (2011), doi ..."."""
    basis = _UNCITED.get(cited.basis, cited.basis)
    if not cited.sources:
        return basis
    sources = "; ".join(source.words() if isinstance(source, Source) else source for source in cited.sources)
    return f"{basis}{_find_link(cited)}{sources}"


def say_basis(basis: str) -> str:
    """Name a basis short, to stand in brackets on a narrow row."""
    return "excerpt or account" if basis == EXCERPT else basis


def tag(cited: Citation) -> str:
    """Give the basis and the titles, to stand behind a sentence of the working."""
    basis = say_basis(cited.basis)
    if not cited.sources:
        return f"[{basis}]"
    return f"[{basis}{_find_link(cited)}{'; '.join(_name_source(source) for source in cited.sources)}]"


def _find_link(cited: Citation) -> str:
    """What has no source of its own is not said to come from one that only stands beside it."""
    return "; see also: " if cited.basis in _UNCITED else ": "


def _name_source(source: Source | str) -> str:
    if isinstance(source, str):
        return source
    return f"{source.title} {source.year}" if source.year else source.title


def show_day(day: date) -> str:
    """Write a day: "01 Mar 2026"."""
    return f"{day:%d %b %Y}"


def tell(moment: datetime, now: datetime) -> str:
    """The moment on the clock of `now`; with its offset where that clock shows the time twice that night."""
    here = moment.astimezone(now.tzinfo)
    is_twice = here.replace(fold=1 - here.fold).utcoffset() != here.utcoffset()
    return f"{here:%H:%M}{here.isoformat()[-6:] if is_twice else ''} on {here:%d %b}"


def say_ground(approved: Approved) -> str:
    """Give the approval's reference, who gave it and when."""
    return f"{approved.reference}, approved by {approved.approver} on {show_day(approved.approved_on)}"


def say_ground_and_review(approved: Approved) -> str:
    """Give the approval's ground, and by when it is to be looked at again."""
    return f"{say_ground(approved)}; review by {show_day(approved.review_by)}"


def say_size(size: BabySize) -> str:
    """How heavy and how mature a baby was at birth and is now: "birth 1450, now 1310 g · 30+2, today 30+5"."""
    birth, today = size.birth_gestation, size.gestation_today
    later = f", today {today}" if today != birth else ""
    weights = say_weights(size.birth_weight_g, size.weight_now_g)
    return f"{weights} · {f'{birth}{later}' if birth else 'gestation not known'}"


def say_since_birth(baby: Baby) -> str:
    """When a baby was born, how old it is, when it was weighed since; empty where nobody said when it was born."""
    born = "" if baby.is_birth_assumed else f"born {baby.born.words()}, {say_age(baby.age)} old"
    return " · ".join(filter(None, (born, f"weighed {baby.weighed:%d %b}" if baby.weighed else "")))


def say_age(age: Age) -> str:
    """An age in words: "5 h"; of a birth without a time "0-5 h"."""
    least, most = age.least_min // 60, age.most_h
    return f"{most} h" if least == most else f"{least}\N{EN DASH}{most} h"


def say_measure(axis: Axis, value: int) -> str:
    """One weight or gestation in words: "1450 g", "30+2"."""
    return f"{value} g" if axis in WEIGHTS else str(Gestation(value))


def join_sizes(sizes: Sequence[str], word: str = "or") -> str:
    """Write sizes in words, a shared unit said once: "5 or 6 Fr", "3.0 mm"."""
    units = {size.partition(" ")[2] for size in sizes}
    if len(units) == 1 and len(sizes) > 1 and "" not in units:
        return f" {word} ".join(size.partition(" ")[0] for size in sizes) + f" {units.pop()}"
    return f" {word} ".join(sizes)


def show_vials(vials: Sequence[VialCount]) -> str:
    """Write the containers in words: "3 mL + 1.5 mL", or "2 x 3 mL" with the multiplication sign."""
    return " + ".join(_show_count(vial) for vial in vials)


def _show_count(vial: VialCount) -> str:
    many = f"{vial.count} {TIMES} " if vial.count > 1 else ""
    return many + show_amount(vial.size)


def say_dilution(dilution: Dilution) -> str:
    """Write a strength and how it is made, with the recipe's source."""
    return say_made_up(dilution) + (f" {tag(dilution.cited)}" if dilution.cited else "")


def say_made_up(dilution: Dilution) -> str:
    """Write a strength and how it is made."""
    product, recipe = dilution.product, dilution.recipe
    named = f"{product.name} {show_amount(product.strength)}"
    if recipe is None or dilution.made is None:
        return f"{named}, undiluted"
    added = f"{show_amount(recipe.add)} {recipe.diluent} = {show_amount(dilution.made)} of {show_amount(recipe.gives)}"
    return f"{show_amount(recipe.take)} of {named} + {added}"


def say_whole(container: str) -> str:
    """Name whole containers: "whole vials"."""
    return f"whole {container}s"


def say_route(route: str) -> str:
    """Say which route, and which connector its syringe has."""
    return f"Route: {route}, {_CONNECTORS[route]}."
