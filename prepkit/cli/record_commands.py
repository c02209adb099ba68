"""`prepkit record`, `prepkit audit` and `prepkit mine`: reports on the preparations in a store."""

import argparse
import sys
from datetime import date, datetime

from prepkit.app.clock import read_clock
from prepkit.app.eventlog.repository import StoredPreparation
from prepkit.app.reports import (
    MOST_FOUND,
    RecordExport,
    find_stored_preparations,
    list_parts,
    make_record_export,
    make_ward_audit,
)
from prepkit.cli.output import Exit, tell_progress, write_out
from prepkit.cli.stores import open_existing_store
from prepkit.documents.audit_report import write_audit_csv, write_audit_html, write_audit_text
from prepkit.documents.logbook import write_logbook_text
from prepkit.documents.record import write_record_json
from prepkit.documents.record_fhir import write_record_fhir
from prepkit.documents.record_html import write_record_html
from prepkit.documents.record_text import write_record_text
from prepkit.documents.safe_text import make_plain
from prepkit.preparation.text import Refusal, check_initials


def run_record(arguments: argparse.Namespace) -> int:
    """Print the record of one preparation."""
    now = read_clock()
    with open_existing_store(arguments.store) as store:
        found = find_stored_preparations(store, arguments.prep)
        if len(found) != 1:
            return _refuse_many(arguments.prep, found)
        papers = make_record_export(found[0], now)
    if isinstance(papers, str):
        sys.stderr.write(make_plain(f"prepkit: {papers}\n"))
        return Exit.NOT_READY
    text = _write_record(papers, arguments.format, now)
    return Exit.DONE if write_out(text, utf8=arguments.format != "text") else Exit.USAGE


def _write_record(papers: RecordExport, form: str, now: datetime) -> str:
    match form:
        case "json":
            return write_record_json(papers.record, papers.tray)
        case "fhir":
            return write_record_fhir(papers.record, papers.stored.state, papers.worked, now)
        case "html":
            return write_record_html(papers.record)
    return write_record_text(papers.record)


def _refuse_many(named: str, found: tuple[StoredPreparation, ...]) -> int:
    if not found:
        sys.stderr.write(make_plain(f'prepkit: there is no preparation "{named}": give a cot label or an id.\n'))
        return Exit.USAGE
    rows = "\n".join(f"  {kept.words()}" for kept in found)
    many = f"{len(found)} preparations have" if len(found) < MOST_FOUND else "these and perhaps older ones have"
    sys.stderr.write(make_plain(f'prepkit: {many} the label "{named}": name one by its id.\n'))
    sys.stderr.write(make_plain(f"{rows}\n"))
    return Exit.USAGE


_AUDIT_WRITERS = {"text": write_audit_text, "csv": write_audit_csv, "html": write_audit_html}


def run_audit(arguments: argparse.Namespace) -> int:
    """Print the audit; a record that cannot be read is named in it, and the exit code says so."""
    try:
        first, last = (_read_day(text) for text in (arguments.first, arguments.last))
    except ValueError:
        sys.stderr.write("prepkit: --from and --to are days, written YYYY-MM-DD\n")
        return Exit.USAGE
    with open_existing_store(arguments.store) as store:
        audit = make_ward_audit(store, first, last, tell_progress)
    if not write_out(_AUDIT_WRITERS[arguments.format](audit), utf8=arguments.format != "text"):
        return Exit.USAGE
    return Exit.STORE if audit.left_out else Exit.DONE


def _read_day(text: str | None) -> date | None:
    return None if text is None else date.fromisoformat(text)


def run_mine(arguments: argparse.Namespace) -> int:
    """Print one person's list."""
    who = check_initials(arguments.initials)
    if isinstance(who, Refusal):
        sys.stderr.write(make_plain(f"prepkit: {who.reason}\n"))
        return Exit.USAGE
    with open_existing_store(arguments.store) as store:
        parts, unreadable = list_parts(store, who, tell_progress)
    for words in unreadable:
        sys.stderr.write(make_plain(f"prepkit: {words}\n"))
    if not write_out(write_logbook_text(who, parts)):
        return Exit.USAGE
    return Exit.STORE if unreadable else Exit.DONE
