"""`prepkit labels`: the syringe labels of one preparation; nothing is recorded."""

import argparse
import sys
from pathlib import Path

from prepkit.app.clock import read_clock
from prepkit.app.files import WorkstationFiles
from prepkit.app.syringe_labels import find_preparation
from prepkit.cli.output import Exit, write_out
from prepkit.cli.stores import open_existing_store
from prepkit.documents.labels import LabelSheet, make_labels, write_labels_text
from prepkit.documents.labels_html import write_labels_html
from prepkit.paths import find_ward
from prepkit.preparation.listing import TextsUnreadableError, work_out
from prepkit.preparation.state import Preparation

_WRITERS = {"text": write_labels_text, "html": write_labels_html}


def run_labels(arguments: argparse.Namespace) -> int:
    """Write the labels; the exit code says whether there are any."""
    with open_existing_store(arguments.store) as store:
        state = find_preparation(store, arguments.prep)
    if isinstance(state, str):
        return _stop(state, Exit.USAGE)
    try:
        sheet = _make_sheet(state)
    except TextsUnreadableError as error:
        return _stop(str(error), Exit.INVALID)
    if isinstance(sheet, str):
        return _stop(sheet, Exit.NOT_READY)
    news = WorkstationFiles(find_ward(arguments.ward), arguments.kits).find_news(
        state.kit, state.kit_text, state.ward_text
    )
    if news:
        sys.stderr.write(f"prepkit: {news} The labels are from before that.\n")
    if not sheet.labels:
        return _stop("\n".join(("there is no label to print.", *sheet.left_out)), Exit.NOT_READY)
    return _write(sheet, arguments.format, arguments.out)


def _make_sheet(state: Preparation) -> LabelSheet | str:
    now = read_clock()
    # Times are shown by the ward's clock, whose offset may change between a tick and the time to use it by.
    return make_labels(state, work_out(state, now), now, lambda at: at.astimezone())


def _write(sheet: LabelSheet, form: str, out: Path | None) -> int:
    text = _WRITERS[form](sheet)
    if out is None:
        return Exit.DONE if write_out(text, utf8=form == "html") else Exit.USAGE
    try:
        with out.open("x", encoding="utf-8") as file:
            file.write(text)
    except FileExistsError:
        return _stop(f'"{out}" is there already: nothing was written', Exit.USAGE)
    except OSError as error:
        return _stop(f'"{out}" cannot be written: {(error.strerror or str(error)).lower()}', Exit.USAGE)
    sys.stdout.write(f"{out}\n")
    return Exit.DONE


def _stop(words: str, code: Exit) -> int:
    sys.stderr.write(f"prepkit: {words}\n")
    return code
