"""A finding: something wrong at a key path, before it is given its place in the file. May import: the standard library."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Finding:
    """Something wrong with what stands at a key path of a file."""

    path: tuple[str | int, ...]
    wrong: str
    hint: str = ""
