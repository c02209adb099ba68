"""`prepkit record`: one preparation for the notes. May import: everything but the screens."""

import argparse
import sys
from datetime import datetime

from prepkit.cli.exits import Exit
from prepkit.cli.output import write_out
from prepkit.cli.stores import open_kept
from prepkit.desk.clock import read_clock
from prepkit.desk.papers import MOST_FOUND, Papers, find_kept, make_papers
from prepkit.desk.whole import Kept
from prepkit.documents.record_fhir import write_record_fhir
from prepkit.documents.record_html import write_record_html
from prepkit.documents.record_json import write_record_json
from prepkit.documents.record_text import write_record_text
from prepkit.documents.safe import make_plain


def run_record(arguments: argparse.Namespace) -> int:
    """Print the record of one preparation."""
    now = read_clock()
    with open_kept(arguments.store) as store:
        found = find_kept(store, arguments.prep)
        if len(found) != 1:
            return _refuse_many(arguments.prep, found)
        papers = make_papers(found[0], now)
    if isinstance(papers, str):
        sys.stderr.write(make_plain(f"prepkit: {papers}\n"))
        return Exit.NOT_READY
    text = _write(papers, arguments.format, now)
    return Exit.DONE if write_out(text, utf8=arguments.format != "text") else Exit.USAGE


def _write(papers: Papers, form: str, now: datetime) -> str:
    match form:
        case "json":
            return write_record_json(papers.record, papers.tray)
        case "fhir":
            return write_record_fhir(papers.record, papers.kept.state, papers.worked, now)
        case "html":
            return write_record_html(papers.record)
    return write_record_text(papers.record)


def _refuse_many(named: str, found: tuple[Kept, ...]) -> int:
    if not found:
        sys.stderr.write(make_plain(f'prepkit: there is no preparation "{named}": give a cot label or an id.\n'))
        return Exit.USAGE
    rows = "\n".join(f"  {kept.words()}" for kept in found)
    many = f"{len(found)} preparations have" if len(found) < MOST_FOUND else "these and perhaps older ones have"
    sys.stderr.write(make_plain(f'prepkit: {many} the label "{named}": name one by its id.\n'))
    sys.stderr.write(make_plain(f"{rows}\n"))
    return Exit.USAGE
