"""Spans with explicit edges, and the conditions (`Where`) made of them."""

from collections.abc import Iterator
from typing import Annotated, Any, Generic, TypeAlias, TypeVar

from msgspec import Meta, field

from prepkit.kit.axes import WORDS, Axis
from prepkit.kit.fields import AnyAmount, BodyWeight, FactId, Spec, Text, Time
from prepkit.quantities.amount import Amount, DimensionMismatchError
from prepkit.quantities.gestation import Gestation
from prepkit.quantities.text import show_amount

Edge = TypeVar("Edge", bound=Any)


class Span(Spec, Generic[Edge], frozen=True, kw_only=True):
    """From an edge to an edge; each says by its key whether it belongs to the span."""

    at_least: Annotated[Edge | None, Meta(description="the lower edge; belongs to the span")] = None
    above: Annotated[Edge | None, Meta(description="the lower edge; does not belong to the span")] = None
    at_most: Annotated[Edge | None, Meta(description="the upper edge; belongs to the span")] = None
    below: Annotated[Edge | None, Meta(description="the upper edge; does not belong to the span")] = None

    def __post_init__(self) -> None:
        """Refuse edges that do not make a span.

        Raises:
            ValueError: what is wrong with them.
        """
        if wrong := find_wrong_edges(self.at_least, self.above, self.at_most, self.below):
            raise ValueError(wrong)

    @property
    def low(self) -> Edge | None:
        """The lower edge, whether it belongs to the span or not."""
        return self.at_least if self.at_least is not None else self.above

    @property
    def high(self) -> Edge | None:
        """The upper edge, whether it belongs to the span or not."""
        return self.at_most if self.at_most is not None else self.below

    def contains(self, value: Edge) -> bool:
        """Whether the value lies in the span."""
        return (
            (self.at_least is None or self.at_least <= value)
            and (self.above is None or self.above < value)
            and (self.at_most is None or value <= self.at_most)
            and (self.below is None or value < self.below)
        )

    def words(self) -> str:
        """The span in words: "at least 1200 g and under 2000 g"."""
        parts = (("at least", self.at_least), ("over", self.above), ("at most", self.at_most), ("under", self.below))
        return " and ".join(f"{word} {_show(edge)}" for word, edge in parts if edge is not None)


def find_wrong_edges(at_least: Edge | None, above: Edge | None, at_most: Edge | None, below: Edge | None) -> str:
    """What is wrong with the edges of a span, to be read after its name; empty where they make one."""
    if at_least is not None and above is not None:
        return "has two lower edges: keep one of at_least and above"
    if at_most is not None and below is not None:
        return "has two upper edges: keep one of at_most and below"
    low, high = (above if at_least is None else at_least), (below if at_most is None else at_most)
    if low is None and high is None:
        return "has no edge: give at_least, above, at_most or below"
    if low is None or high is None:
        return ""
    return _find_wrong_order(low, high, holds_both=at_least is not None and at_most is not None)


def _find_wrong_order(low: Edge, high: Edge, *, holds_both: bool) -> str:
    try:
        is_upside_down, is_open = high < low, low < high
    except DimensionMismatchError:
        return "has edges that do not measure the same thing"
    if is_upside_down:
        return "has its lower edge above its upper edge"
    return "" if is_open or holds_both else "holds nothing: its edges are equal and not both its own"


def _show(edge: Amount | Gestation) -> str:
    return show_amount(edge) if isinstance(edge, Amount) else str(edge)


class WeightSpan(Span[BodyWeight], frozen=True):
    """From one body weight to another."""


class GestationSpan(Span[Gestation], frozen=True):
    """From one gestation to another."""


class AgeSpan(Span[Time], frozen=True):
    """From one age to another."""


class AmountSpan(Span[AnyAmount], frozen=True):
    """From one amount to another."""


FactTest: TypeAlias = Annotated[
    AmountSpan | Text,
    Meta(description="for a fact with a unit, a span of it; for a choice, the value it must have"),
]


class AxisSpans(Spec, frozen=True, kw_only=True):
    """Spans of weights, gestations and the age, each saying which one it means."""

    birth_weight: Annotated[WeightSpan | None, Meta(description="the weight at birth")] = None
    weight_now: Annotated[WeightSpan | None, Meta(description="the weight now: at birth where not weighed since")] = (
        None
    )
    greater_weight: Annotated[
        WeightSpan | None, Meta(description="the greater of the weight at birth and the weight now")
    ] = None
    birth_gestation: Annotated[GestationSpan | None, Meta(description="the gestation at birth")] = None
    gestation_today: Annotated[
        GestationSpan | None, Meta(description="the gestation today: at birth, and the days since")
    ] = None
    age: Annotated[
        AgeSpan | None, Meta(description="the age; of a birth without a time, every age that it may be has to fit")
    ] = None

    def list_spans(self) -> Iterator[tuple[Axis, Span[Any]]]:
        """Each axis that is named, with its span."""
        for axis in Axis:
            span = getattr(self, axis)
            if span is not None:
                yield axis, span

    def say_spans(self) -> list[str]:
        """Each span in words, with what it is of: "birth weight at least 1200 g"."""
        return [f"{WORDS[axis]} {span.words()}" for axis, span in self.list_spans()]


class Where(AxisSpans, frozen=True, kw_only=True):
    """For which babies something holds: every condition given must be met."""

    facts: Annotated[dict[FactId, FactTest], Meta(description="what facts must be, by their ids")] = field(
        default_factory=dict
    )

    @property
    def is_stated(self) -> bool:
        """Whether there is any condition; without one it holds for any baby."""
        return bool(self.facts) or any(True for _ in self.list_spans())

    def words(self) -> str:
        """The condition in words; "any baby" where there is none."""
        facts = [f"{fact.replace('_', ' ')} {_show_test(test)}" for fact, test in self.facts.items()]
        return ", ".join([*self.say_spans(), *facts]) or "any baby"


def _show_test(test: "AmountSpan | str") -> str:
    return test if isinstance(test, str) else test.words()
