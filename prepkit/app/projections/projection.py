"""Projections of every kind: built, found, checked, and built again when they are out of date.

A projection is only a shortcut. It is valid for the preparation's last record and for the code that built it (the
builder's fingerprint, taken over those very files); when either changes, it is built again. Whatever a projection finds
is read from the records before it is shown; `verify` compares whatever is added up from projections with the records.
"""

from collections.abc import Callable, Iterator
from contextlib import suppress
from functools import cache
from hashlib import sha256
from importlib.resources import files
from importlib.resources.abc import Traversable

from msgspec import Struct

from prepkit.errors import StoreError
from prepkit.people import STAFF_STREAM
from prepkit.store import Projection, Store


@cache
def compute_builder_fingerprint(*parts: str) -> str:
    """The fingerprint of files and folders of this package, named from its top: 32 hex digits.

    Kept for as long as the program runs, as the code itself is.
    """
    package = files("prepkit")
    return compute_files_fingerprint(each for part in parts for each in _list_files(package.joinpath(part), part))


def compute_files_fingerprint(named: Iterator[tuple[str, bytes]]) -> str:
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


_BATCH = 100

TellProgress = Callable[[int, int], None]
"""Told how many of how many preparations have been looked through."""


class Unprojectable(Struct, frozen=True):
    """A preparation that no projection could be built from."""

    words: str
    key: str | None
    """What it would have been found by; None where even that is not known."""


class ProjectionKind(Struct, frozen=True):
    """One kind of projection."""

    name: str
    sources: tuple[str, ...]
    """The files and folders of the package whose code decides what is built."""
    build: Callable[[Store, str], Projection | Unprojectable]
    """Builds one from a preparation's records."""

    @property
    def builder(self) -> str:
        """The fingerprint of the code that builds them: see `compute_builder_fingerprint`."""
        return compute_builder_fingerprint(*self.sources)


class FoundProjections(Struct, frozen=True):
    """The projections asked for, in no order, and a sentence for each preparation that none could be built from."""

    projections: tuple[Projection, ...]
    unprojectable: tuple[str, ...]


def tell_nobody(_done: int, _of: int) -> None:
    """Tell nobody: a `TellProgress` for whoever waits in silence."""


def find_projections(
    store: Store, kind: ProjectionKind, first: str = "", last: str | None = None, tell: TellProgress = tell_nobody
) -> FoundProjections:
    """The projections of one kind with a key from `first` to `last` (None: any), of every preparation as it is now.

    Builds those that are missing or out of date. Only those of ended preparations are stored: one in progress changes
    with the next tick.
    """
    built, unprojectable = _build_missing(store, kind, tell)
    # One that was built just now counts, whether it could be stored or not.
    stored = [
        projection
        for projection in store.read_projections(kind.name, kind.builder, first, last)
        if projection.prep not in built
    ]

    def is_within(key: str) -> bool:
        return first <= key and (last is None or key <= last)

    return FoundProjections(
        (*stored, *(projection for projection in built.values() if is_within(projection.key))),
        tuple(each.words for each in unprojectable if each.key is None or is_within(each.key)),
    )


def build_projections(store: Store, prep: str, kinds: tuple[ProjectionKind, ...]) -> None:
    """Build and store the projections of one ended preparation; one that fails is built when it is next asked for."""
    for kind in kinds:
        with suppress(StoreError):
            built = kind.build(store, prep)
            if isinstance(built, Projection):
                store.write_projections(kind.name, kind.builder, [built])


def check_projection(store: Store, kind: ProjectionKind, stored: Projection) -> str:
    """Build a stored projection again from the records; how it differs, in words, or an empty string."""
    built = kind.build(store, stored.prep)
    if built == stored or (isinstance(built, Projection) and built.hash != stored.hash):  # somebody wrote meanwhile
        return ""
    return f'what is kept of preparation "{stored.prep}" ({kind.name}) is not what its records give'


def _build_missing(
    store: Store, kind: ProjectionKind, tell: TellProgress
) -> tuple[dict[str, Projection], list[Unprojectable]]:
    missing = [prep for prep in store.read_unprojected(kind.name, kind.builder) if prep != STAFF_STREAM]
    in_progress = set(store.read_open())
    built: dict[str, Projection] = {}
    unprojectable: list[Unprojectable] = []
    for start in range(0, len(missing), _BATCH):
        found = [kind.build(store, prep) for prep in missing[start : start + _BATCH]]
        unprojectable += [each for each in found if isinstance(each, Unprojectable)]
        batch = {each.prep: each for each in found if isinstance(each, Projection)}
        built |= batch
        if ended := [projection for prep, projection in batch.items() if prep not in in_progress]:
            # Where they cannot be stored they count all the same, this once.
            with suppress(StoreError):
                store.write_projections(kind.name, kind.builder, ended)
        tell(start + len(found), len(missing))
    return built, unprojectable
