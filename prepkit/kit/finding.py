"""A finding: something wrong at a key path, before it is given its place in the file."""

from collections.abc import Iterable
from difflib import get_close_matches

from msgspec import Struct


class Finding(Struct, frozen=True):
    """Something wrong with what stands at a key path of a file."""

    path: tuple[str | int, ...]
    wrong: str
    hint: str = ""


def suggest(got: str, known: Iterable[str]) -> str:
    """A hint for a name that is not known: the closest that is, or else all of them."""
    names = list(known)
    return suggest_close(got, names) or f"declared: {', '.join(names) or 'none'}"


def suggest_close(got: str, known: Iterable[str]) -> str:
    """A hint for a name that is not known: the closest that is; empty where none is close."""
    close = get_close_matches(got, list(known), n=1)
    return f'did you mean "{close[0]}"?' if close else ""
