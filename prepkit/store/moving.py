"""One store's records moved into another, whatever stands behind either; nothing is changed in the first.

May import: `records`, `chain` and `interface` of this package, `prepkit.errors`.
"""

from collections.abc import Iterator
from itertools import islice

from prepkit.errors import StoreUnfit
from prepkit.store.chain import check_store
from prepkit.store.interface import Store
from prepkit.store.records import Record

_AT_ONCE = 500


def move_records(source: Store, target: Store) -> int:
    """Add to `target` every record of `source` that it does not have yet, to the letter; how many.

    What was broken off goes on where it stopped when this is done again. Raises StoreUnfit, before anything is written,
    where `source` is not as it was written, and where `target` holds anything that is not the beginning of it.
    """
    for problem in check_store(source):
        if not problem.is_derived:
            raise StoreUnfit(f'nothing was moved: "{source.name}" is not as it was written. {problem.words}')
    count = 0
    missing = _skip_kept(source, target)
    while batch := tuple(islice(missing, _AT_ONCE)):
        target.take_over(batch)
        count += len(batch)
    return count


def _skip_kept(source: Store, target: Store) -> Iterator[Record]:
    kept = target.read_all()
    words = f'nothing was moved: "{target.name}" holds other records; name an empty store'
    for record in source.read_all():
        found = next(kept, None)
        if found is None:
            yield record
        elif found != record:
            raise StoreUnfit(f"{words} (record {found.position} differs)")
    found = next(kept, None)
    if found is not None and found.position > source.read_last():
        raise StoreUnfit(f"{words} (record {found.position} is not in the first)")
