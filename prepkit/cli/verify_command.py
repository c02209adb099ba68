"""`prepkit verify`: the chain of events, and every stored list worked out again.

May import: everything but the screens.
"""

import argparse

from prepkit.cli.exits import Exit
from prepkit.cli.output import write_out
from prepkit.cli.stores import open_kept
from prepkit.desk.verifying import Verified, find_missing, verify_store
from prepkit.documents.safe import make_plain


def run_verify(arguments: argparse.Namespace) -> int:
    """Verify the store; anything that is not as it was written is named, the first one first."""
    with open_kept(arguments.store) as store:
        found = verify_store(store)
        missing = [_say_missing(each) for each in find_missing(store, arguments.holds)]
    if not write_out(make_plain("\n".join((*missing, *_write(found))) + "\n")):
        return Exit.USAGE
    return Exit.STORE if missing or found.chain or found.wrong or found.kept else Exit.DONE


def _say_missing(event: str) -> str:
    return f"MISSING: no event is {event}. This store was put back to before it, or written anew."


def _write(found: Verified) -> list[str]:
    chain = f"Chain: {found.events} events, each following the one before it."
    lists = f"Lists: {found.lists} worked out again, each the same to the letter."
    if found.chain:
        chain = f"CHAIN BROKEN, {len(found.chain)} found. The first: {found.chain[0]}."
    if found.wrong:
        lists = f"LISTS DIFFER, {len(found.wrong)} preparations of which. The first: {found.wrong[0]}."
    more = [f"  {words}" for words in (*found.chain[1:], *found.wrong[1:])]
    more += say_kept(found)
    last = f"Last event: {found.last_hash}" if found.last_hash else "The store is empty."
    return [chain, lists, *more, last]


def say_kept(found: Verified) -> list[str]:
    """What was put right beside the records, in words; nothing where nothing was."""
    if not found.kept:
        return []
    rows = [f"  {words}" for words in found.kept]
    return [f"KEPT BESIDE THE EVENTS, {len(rows)} found to differ; made anew from the events:", *rows]
