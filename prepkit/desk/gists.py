"""What is made from each preparation and kept beside it, so that nobody has to read them all to find or count them.

A gist is only ever a shortcut: it counts for the preparation's last record and for the code that made it, and is made
again where either is another one. What is found by one is read from its records before it is shown; what is added up
from them is compared with the records by `verify`. May import: every layer but the front ends.
"""

from collections.abc import Callable
from contextlib import suppress

from msgspec import Struct

from prepkit.desk.maker import compute_maker
from prepkit.errors import StoreError
from prepkit.preparation.streams import STAFF
from prepkit.store import Gist, Store

_BATCH = 100

Tell = Callable[[int, int], None]
"""Told how many of how many preparations have been looked through."""


class Left(Struct, frozen=True):
    """A preparation that nothing could be made from."""

    words: str
    key: str | None
    """What it would have been found by; None where even that is not known."""


class Sort(Struct, frozen=True):
    """One sort of gist."""

    name: str
    sources: tuple[str, ...]
    """The files and folders of the package that decide what is made."""
    make: Callable[[Store, str], Gist | Left]
    """Make one from a preparation's records."""

    @property
    def maker(self) -> str:
        """Who makes them: see `compute_maker`."""
        return compute_maker(*self.sources)


class Found(Struct, frozen=True):
    """The gists asked for, in no order, and a sentence for each preparation left out."""

    gists: tuple[Gist, ...]
    left: tuple[str, ...]


def keep_silent(_done: int, _of: int) -> None:
    """Tell nobody."""


def find_gists(store: Store, sort: Sort, first: str = "", last: str | None = None, tell: Tell = keep_silent) -> Found:
    """The gists of one sort with a key from `first` to `last` (None: any), of every preparation as it is now.

    Those that are missing or of yesterday are made. Of a preparation that has ended it is kept; one in progress changes
    with the next tick.
    """
    made, left = _make_wanting(store, sort, tell)
    # What was made just now stands for itself, whether it could be kept or not.
    kept = [gist for gist in store.read_gists(sort.name, sort.maker, first, last) if gist.prep not in made]

    def is_within(key: str) -> bool:
        return first <= key and (last is None or key <= last)

    return Found(
        (*kept, *(gist for gist in made.values() if is_within(gist.key))),
        tuple(each.words for each in left if each.key is None or is_within(each.key)),
    )


def keep_gists(store: Store, prep: str, sorts: tuple[Sort, ...]) -> None:
    """Make the gists of one preparation that has ended and keep them; whoever misses them later makes them then."""
    for sort in sorts:
        with suppress(StoreError):
            made = sort.make(store, prep)
            if isinstance(made, Gist):
                store.write_gists(sort.name, sort.maker, [made])


def check_gist(store: Store, sort: Sort, kept: Gist) -> str:
    """Make a kept gist that counts again from the records; how it differs, in words, or an empty string."""
    made = sort.make(store, kept.prep)
    if made == kept or (isinstance(made, Gist) and made.hash != kept.hash):  # somebody wrote meanwhile
        return ""
    return f'what is kept of preparation "{kept.prep}" ({sort.name}) is not what its records give'


def _make_wanting(store: Store, sort: Sort, tell: Tell) -> tuple[dict[str, Gist], list[Left]]:
    wanting = [prep for prep in store.read_wanting(sort.name, sort.maker) if prep != STAFF]
    in_progress = set(store.read_open())
    made: dict[str, Gist] = {}
    left: list[Left] = []
    for start in range(0, len(wanting), _BATCH):
        found = [sort.make(store, prep) for prep in wanting[start : start + _BATCH]]
        left += [each for each in found if isinstance(each, Left)]
        batch = {each.prep: each for each in found if isinstance(each, Gist)}
        made |= batch
        if ended := [gist for prep, gist in batch.items() if prep not in in_progress]:
            # Where they cannot be kept they count all the same, this once.
            with suppress(StoreError):
                store.write_gists(sort.name, sort.maker, ended)
        tell(start + len(found), len(wanting))
    return made, left
