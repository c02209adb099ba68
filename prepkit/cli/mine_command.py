"""`prepkit mine`: one person's own preparations. May import: everything but the screens."""

import argparse
import sys

from prepkit.cli.exits import Exit
from prepkit.cli.output import write_out
from prepkit.cli.stores import open_kept
from prepkit.desk.whole import read_all_kept
from prepkit.documents.mine import find_part, write_mine_text
from prepkit.documents.safe import make_plain
from prepkit.preparation.text import Refusal, check_initials


def run_mine(arguments: argparse.Namespace) -> int:
    """Print one person's list."""
    who = check_initials(arguments.initials)
    if isinstance(who, Refusal):
        sys.stderr.write(make_plain(f"prepkit: {who.reason}\n"))
        return Exit.USAGE
    parts, unreadable = [], 0
    with open_kept(arguments.store) as store:
        for kept in read_all_kept(store):
            if isinstance(kept, str):
                sys.stderr.write(make_plain(f"prepkit: {kept}\n"))
                unreadable += 1
            elif (part := find_part(who, kept.events, kept.state)) is not None:
                parts.append(part)
    if not write_out(write_mine_text(who, parts)):
        return Exit.USAGE
    return Exit.STORE if unreadable else Exit.DONE
