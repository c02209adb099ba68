"""Spans with explicit edges, and the conditions made of them. May import: `prepkit.quantities`, pydantic."""

from typing import Annotated, Any, Generic, Self, TypeVar

from pydantic import Discriminator, Field, Tag, model_validator
from pydantic_core import PydanticCustomError

from prepkit.kit.fields import AnyAmount, BodyWeight, FactId, GestationText, Spec, Text
from prepkit.quantities.amount import Amount, DimensionMismatchError
from prepkit.quantities.gestation import Gestation
from prepkit.quantities.show import show_amount

Edge = TypeVar("Edge", bound=Any)


class Span(Spec, Generic[Edge]):
    """From an edge to an edge; each says by its key whether it belongs to the span."""

    at_least: Edge | None = Field(default=None, description="the lower edge; belongs to the span")
    above: Edge | None = Field(default=None, description="the lower edge; does not belong to the span")
    at_most: Edge | None = Field(default=None, description="the upper edge; belongs to the span")
    below: Edge | None = Field(default=None, description="the upper edge; does not belong to the span")

    @model_validator(mode="after")
    def _check_edges(self) -> Self:
        if self.at_least is not None and self.above is not None:
            raise PydanticCustomError("span", "has two lower edges: keep one of at_least and above")
        if self.at_most is not None and self.below is not None:
            raise PydanticCustomError("span", "has two upper edges: keep one of at_most and below")
        if self.low is None and self.high is None:
            raise PydanticCustomError("span", "has no edge: give at_least, above, at_most or below")
        if self.low is not None and self.high is not None:
            self._check_order(self.low, self.high)
        return self

    def _check_order(self, low: Edge, high: Edge) -> None:
        try:
            is_upside_down, is_open = high < low, low < high
        except DimensionMismatchError:
            raise PydanticCustomError("span", "has edges that do not measure the same thing") from None
        if is_upside_down:
            raise PydanticCustomError("span", "has its lower edge above its upper edge")
        if not is_open and (self.at_least is None or self.at_most is None):
            raise PydanticCustomError("span", "holds nothing: its edges are equal and not both its own")

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


def _show(edge: Amount | Gestation) -> str:
    return show_amount(edge) if isinstance(edge, Amount) else str(edge)


WeightSpan = Span[BodyWeight]
GestationSpan = Span[GestationText]
AmountSpan = Span[AnyAmount]

SPAN_TAG, WORD_TAG = "a span", "a word"


def _find_tag(written: object) -> str:
    return WORD_TAG if isinstance(written, str) else SPAN_TAG


FactTest = Annotated[
    Annotated[AmountSpan, Tag(SPAN_TAG)] | Annotated[Text, Tag(WORD_TAG)],
    Discriminator(_find_tag),
    Field(description="for a fact with a unit, a span of it; for a choice, the value it must have"),
]


class Where(Spec):
    """For which babies something holds: every condition given must be met."""

    weight: WeightSpan | None = Field(default=None, description="the weights for which it holds")
    gestation: GestationSpan | None = Field(default=None, description="the gestations for which it holds")
    facts: dict[FactId, FactTest] = Field(default_factory=dict, description="what facts must be, by their ids")

    def words(self) -> str:
        """The condition in words; "any baby" where there is none."""
        parts = [span.words() for span in (self.weight, self.gestation) if span is not None]
        parts += [f"{fact.replace('_', ' ')} {_show_test(test)}" for fact, test in self.facts.items()]
        return ", ".join(parts) or "any baby"


def _show_test(test: "AmountSpan | str") -> str:
    return test if isinstance(test, str) else test.words()
