"""`prepkit sheet`, `prepkit chart` and `prepkit prove`: printed from a kit and a ward file alone, without a store.

A list to tick by hand, a kit's amounts by weight for the wall, and the proof over every baby that the kit is for.
"""

import argparse
import sys
from collections.abc import Sequence

from prepkit.app.clock import read_clock
from prepkit.cli.files import NamedKit, load_kit_and_ward, refuse
from prepkit.cli.list_command import find_exit, make_tray
from prepkit.cli.output import Exit, write_out
from prepkit.documents.chart import make_chart, write_chart_csv, write_chart_html, write_chart_text
from prepkit.documents.proof_text import write_proof_text
from prepkit.documents.sheet import write_sheet_html, write_sheet_text
from prepkit.kit.axes import GESTATIONS, WEIGHTS, Axis
from prepkit.kit.facts import read_fact
from prepkit.kit.kit import Kit
from prepkit.kit.names import BIRTH_GESTATION, CORE_LABELS
from prepkit.kit.problems import Problem
from prepkit.list.lines import TrayList
from prepkit.proof.domain import find_domain
from prepkit.proof.prove import prove
from prepkit.quantities.gestation import Gestation, read_gestation


def run_sheet(arguments: argparse.Namespace) -> int:
    """Print the sheet; the exit code says whether anything stands in its way."""
    now = read_clock()
    tray = make_tray(arguments, now)
    if not isinstance(tray, TrayList):
        return refuse(tray)
    is_html = arguments.format == "html"
    write = write_sheet_html if is_html else write_sheet_text
    return find_exit(tray) if write_out(write(tray, now), utf8=is_html) else Exit.USAGE


_CHART_WRITERS = {"text": write_chart_text, "csv": write_chart_csv, "html": write_chart_html}
MOST_ROWS = 200
_USUAL_SPAN = 1800


def run_chart(arguments: argparse.Namespace) -> int:
    """Print the chart."""
    loaded = load_kit_and_ward(arguments)
    if not isinstance(loaded, NamedKit):
        return refuse(loaded)
    kit, ward = loaded.kit, loaded.ward
    grams = _find_rows(arguments, kit.model)
    if isinstance(grams, str):
        sys.stderr.write(f"prepkit: {grams}\n")
        return Exit.USAGE
    first, last = _share_domain(kit.model, GESTATIONS)
    now = read_clock()
    read = read_fact(kit.model, BIRTH_GESTATION, arguments.birth_gestation or str(Gestation(first)), now)
    if isinstance(read, Problem):
        return refuse((read,))
    if not first <= read_gestation(read[0]).days <= last:
        wrong, span = f"{read[0]} is outside the kit's domain", f"{Gestation(first)} to {Gestation(last)}"
        return refuse((Problem("", 0, CORE_LABELS[BIRTH_GESTATION], wrong, span),))
    text = _CHART_WRITERS[arguments.format](make_chart(kit, ward, grams, read[0], now))
    # A page says of itself that it is UTF-8, and a spreadsheet reads a file by what it is told, not by this terminal.
    return Exit.DONE if write_out(text, utf8=arguments.format != "text") else Exit.USAGE


def _find_rows(arguments: argparse.Namespace, kit: Kit) -> range | str:
    least, most = _share_domain(kit, WEIGHTS)
    first = least if arguments.first is None else arguments.first
    last = min(most, first + _USUAL_SPAN) if arguments.last is None else arguments.last
    if not least <= first <= last <= most:
        return f"--from and --to must lie in the kit's domain, {least} to {most} g, the lower first"
    if arguments.every < 1 or (last - first) // arguments.every >= MOST_ROWS:
        return f"--every must be 1 g or more and give at most {MOST_ROWS} rows"
    return range(first, last + 1, arguments.every)


def _share_domain(kit: Kit, which: Sequence[Axis]) -> tuple[int, int]:
    """From which to which number a baby weighed once, and just born, lies in the whole domain."""
    runs = [find_domain(kit, axis) for axis in which if kit.domain.find_span(axis)]
    return max(run.first for run in runs), min(run.last for run in runs)


def run_prove(arguments: argparse.Namespace) -> int:
    """Print the proof; 1 where a baby of the domain is left without a line."""
    loaded = load_kit_and_ward(arguments)
    if not isinstance(loaded, NamedKit):
        return refuse(loaded)
    kit, ward = loaded.kit, loaded.ward
    proof = prove(kit.model, ward.model if ward else None, read_clock())
    write_out(write_proof_text(proof))
    return Exit.NOT_READY if proof.gaps else Exit.DONE
