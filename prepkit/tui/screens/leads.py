"""Where a sentence on a screen leads when it is touched: the thing whose own words it contains.

May import: the view-models. Sentences and the things they speak of come from the same view-models, word for word.
"""

from dataclasses import dataclass
from enum import Enum
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from prepkit.desk.opened import OpenPreparation


class Place(Enum):
    """A screen that a sentence leads to."""

    LIST = "list"
    LINE = "line"
    BABY = "baby"
    SUITABILITY = "suitability"
    CHECK = "check"
    DIFFERENCE = "difference"
    HANDOVER = "handover"


@dataclass(frozen=True, slots=True)
class Lead:
    """A screen, and the line on it where the sentence names one."""

    place: Place
    line: str = ""


def find_lead(preparation: "OpenPreparation", words: str, otherwise: Place) -> Lead:
    """Find what `words` speak of: a line's name, a criterion's text, a fact's label or its note."""
    ready = preparation.show_ready()
    if words in ready.checks:
        return _find_check_lead(preparation, words)
    if words == ready.handover:
        return Lead(Place.HANDOVER)
    rows = [row for group in preparation.show_list().groups for row in group.lines]
    named = sorted((row for row in rows if words.startswith(row.name)), key=lambda row: len(row.name))
    if named:
        return Lead(Place.LINE, named[-1].id)
    if any(row.text in words for row in preparation.show_suitability().rows):
        return Lead(Place.SUITABILITY)
    facts = preparation.show_baby().facts
    if any(words.endswith(fact.label) or (fact.note and fact.note in words) for fact in facts):
        return Lead(Place.BABY)
    return Lead(otherwise)


def _find_check_lead(preparation: "OpenPreparation", words: str) -> Lead:
    """A difference leads to its two workings, everything else to a check."""
    rows = preparation.checks.show_checked().rows
    differing = [row for row in rows if row.note and row.their_working and words.startswith(f"{row.name}: {row.note}")]
    return Lead(Place.DIFFERENCE, differing[0].line) if differing else Lead(Place.CHECK)
