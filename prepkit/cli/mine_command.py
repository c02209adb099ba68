"""`prepkit mine`: one person's own preparations. May import: everything but the screens."""

import argparse
import sys

from prepkit.cli.exits import Exit
from prepkit.cli.output import tell_progress, write_out
from prepkit.cli.stores import open_kept
from prepkit.desk.papers import list_parts
from prepkit.documents.mine import write_mine_text
from prepkit.documents.safe import make_plain
from prepkit.preparation.text import Refusal, check_initials


def run_mine(arguments: argparse.Namespace) -> int:
    """Print one person's list."""
    who = check_initials(arguments.initials)
    if isinstance(who, Refusal):
        sys.stderr.write(make_plain(f"prepkit: {who.reason}\n"))
        return Exit.USAGE
    with open_kept(arguments.store) as store:
        parts, unreadable = list_parts(store, who, tell_progress)
    for words in unreadable:
        sys.stderr.write(make_plain(f"prepkit: {words}\n"))
    if not write_out(write_mine_text(who, parts)):
        return Exit.USAGE
    return Exit.STORE if unreadable else Exit.DONE
