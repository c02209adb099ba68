"""How a state takes an event in: one function for every kind, each registered where its subject lives.

May import: this layer's events and state, msgspec and the standard library.
"""

from collections.abc import Mapping
from functools import singledispatch
from typing import TypeVar

from msgspec.structs import replace

from prepkit.preparation.events import Payload, Stamp
from prepkit.preparation.state import LIST_IS_OLD, Preparation

_Value = TypeVar("_Value")


@singledispatch
def take_in(payload: Payload, _state: Preparation, _stamp: Stamp) -> Preparation:
    """Give the state with this payload taken in."""
    raise TypeError(f"no preparation takes in a {type(payload).__name__}")


def drop_list(state: Preparation) -> Preparation:
    """A list made from other facts is no list: its lines wait for the next one, and so do the marks on them."""
    return replace(state, lines=(), withheld=LIST_IS_OLD)


def without(mapping: Mapping[str, _Value], key: str) -> Mapping[str, _Value]:
    """The mapping without one key."""
    return {each: value for each, value in mapping.items() if each != key}
