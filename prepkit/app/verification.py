"""Verifies a whole store: its chain, every list computed again, and the projections kept beside the events."""

from collections.abc import Iterable, Iterator
from contextlib import suppress

from msgspec import Struct

from prepkit.app.eventlog.repository import list_preparation_ids, read_events
from prepkit.app.projections.kinds import PROJECTION_KINDS
from prepkit.app.projections.projection import ProjectionKind, build_projections, check_projection
from prepkit.errors import StoreDamaged, StoreError
from prepkit.preparation.codec import RecordUnreadable
from prepkit.preparation.recompute import recompute_lists
from prepkit.store import Store, check_store


class VerificationReport(Struct, frozen=True):
    """What was found."""

    events: int
    chain: tuple[str, ...]
    """Every break of the chain, the first one first."""
    lists: int
    """How many lists were worked out again."""
    wrong: tuple[str, ...]
    """The first list of each preparation that differs, or why its record cannot be read."""
    rebuilt: tuple[str, ...]
    """What was derived from the records and differed from them: named, and rebuilt from them."""
    last_hash: str
    """Hash of the last record. Kept elsewhere, it shows that a store was rewritten. Empty for an empty store."""


def verify_store(store: Store) -> VerificationReport:
    """Check the chain of events, work every list out again, and put right what is only derived from them.

    Raises:
        StoreError: where the store cannot be read.
    """
    problems = check_store(store)
    rebuilt = [problem.words for problem in problems if problem.is_derived]
    if rebuilt:
        # First, so that a preparation that was hidden is checked with the others.
        with suppress(StoreError):
            store.rebuild_stream_index()
    last = ""
    count = 0
    for record in store.read_all():
        last, count = str(record.hash), count + 1
    wrong: list[str] = []
    lists = 0
    for prep in list_preparation_ids(store):
        try:
            lists += _recompute(store, prep, wrong)
        except (StoreDamaged, RecordUnreadable) as error:
            wrong.append(f'preparation "{prep}": {error}')
    rebuilt += [words for kind in PROJECTION_KINDS for words in _check_projections(store, kind)]
    chain = tuple(problem.words for problem in problems if not problem.is_derived)
    return VerificationReport(count, chain, lists, tuple(wrong), tuple(rebuilt), last)


def _check_projections(store: Store, kind: ProjectionKind) -> Iterator[str]:
    """Build every stored projection again; one that differs is named, and the right one takes its place."""
    for projection in store.read_projections(kind.name, kind.builder):
        words = check_projection(store, kind, projection)
        if words:
            build_projections(store, projection.prep, (kind,))
            yield words


def find_missing_hashes(store: Store, hashes: Iterable[str]) -> tuple[str, ...]:
    """Find those hashes that were kept elsewhere and that no event of the store has.

    An older copy, or one that lost its last events, has a whole chain: only this shows it.
    """
    wanted = {each.strip().lower() for each in hashes}
    for record in store.read_all() if wanted else ():
        wanted.discard(record.hash)
    return tuple(sorted(wanted))


def _recompute(store: Store, prep: str, wrong: list[str]) -> int:
    """Work the lists of one preparation out again; how many, the first that differs put into `wrong`."""
    events = read_events(store, prep)
    count, found = 0, ""
    for each in recompute_lists(events):
        count += 1
        if each.wrong and not found:
            found = f'preparation "{prep}", event {each.seq} ({each.stamp.at:%Y-%m-%d %H:%M}): {each.wrong}'
    wrong += [found] if found else []
    return count
