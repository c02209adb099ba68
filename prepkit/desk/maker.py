"""Who made what is kept: a fingerprint of the very code and tables that it was made by.

What is kept beside the records counts for the same code only. Nobody has to remember to raise a number: whatever is
changed in what makes it, changes this. May import: the standard library.
"""

from collections.abc import Iterator
from functools import cache
from hashlib import sha256
from importlib.resources import files
from importlib.resources.abc import Traversable


@cache
def compute_maker(*parts: str) -> str:
    """The fingerprint of files and folders of this package, named from its top: 32 hex digits.

    Kept for as long as the program runs, as the code itself is.
    """
    package = files("prepkit")
    return compute_print(each for part in parts for each in _list_files(package.joinpath(part), part))


def compute_print(named: Iterator[tuple[str, bytes]]) -> str:
    """The fingerprint of files by name: of each the name, its length and its content, so that nothing runs together."""
    digest = sha256()
    for name, content in named:
        digest.update(f"{len(name)} {name} {len(content)} ".encode() + content)
    return digest.hexdigest()[:32]


def _list_files(part: Traversable, name: str) -> Iterator[tuple[str, bytes]]:
    if part.is_file():
        yield name, part.read_bytes()
        return
    for each in sorted(part.iterdir(), key=lambda found: found.name):
        if each.name != "__pycache__":
            yield from _list_files(each, f"{name}/{each.name}")
