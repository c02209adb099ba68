"""`prepkit audit`: the ward's numbers over its closed records. May import: everything but the screens."""

import argparse
import sys
from datetime import date

from prepkit.cli.exits import Exit
from prepkit.cli.output import tell_progress, write_out
from prepkit.cli.stores import open_kept
from prepkit.desk.papers import make_ward_audit
from prepkit.documents.audit_papers import write_audit_csv, write_audit_html, write_audit_text

_WRITERS = {"text": write_audit_text, "csv": write_audit_csv, "html": write_audit_html}


def run_audit(arguments: argparse.Namespace) -> int:
    """Print the audit; a record that cannot be read is named in it, and the exit code says so."""
    try:
        first, last = (_read_day(text) for text in (arguments.first, arguments.last))
    except ValueError:
        sys.stderr.write("prepkit: --from and --to are days, written YYYY-MM-DD\n")
        return Exit.USAGE
    with open_kept(arguments.store) as store:
        audit = make_ward_audit(store, first, last, tell_progress)
    if not write_out(_WRITERS[arguments.format](audit), utf8=arguments.format != "text"):
        return Exit.USAGE
    return Exit.STORE if audit.left_out else Exit.DONE


def _read_day(text: str | None) -> date | None:
    return None if text is None else date.fromisoformat(text)
