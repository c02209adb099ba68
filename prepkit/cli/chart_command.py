"""`prepkit chart`: a kit's amounts by weight, to print. May import: everything but the screens."""

import argparse
import sys

from prepkit.cli.exits import Exit
from prepkit.cli.files import Loaded, load_kit_and_ward, refuse
from prepkit.cli.output import write_out
from prepkit.desk.clock import read_clock
from prepkit.documents.chart import make_chart
from prepkit.documents.chart_paper import write_chart_csv, write_chart_html, write_chart_text
from prepkit.kit.baby import read_fact
from prepkit.kit.kit import Kit
from prepkit.kit.problems import Problem
from prepkit.proof.classes import Run, find_run
from prepkit.quantities.gestation import Gestation, read_gestation

_WRITERS = {"text": write_chart_text, "csv": write_chart_csv, "html": write_chart_html}
MOST_ROWS = 200
_USUAL_SPAN = 1800


def run_chart(arguments: argparse.Namespace) -> int:
    """Print the chart."""
    loaded = load_kit_and_ward(arguments)
    if not isinstance(loaded, Loaded):
        return refuse(loaded)
    kit, ward = loaded.kit, loaded.ward
    grams = _find_rows(arguments, kit.model)
    if isinstance(grams, str):
        sys.stderr.write(f"prepkit: {grams}\n")
        return Exit.USAGE
    gestation = arguments.gestation or str(Gestation(find_run(kit.model.domain.gestation).first))
    now = read_clock()
    age = read_fact(kit.model, "gestation", gestation, now)
    if isinstance(age, Problem):
        return refuse((age,))
    if not kit.model.domain.gestation.contains(read_gestation(age[0])):
        span = kit.model.domain.gestation.words()
        return refuse((Problem("", 0, "Gestation", f"{age[0]} is outside the kit's domain", span),))
    text = _WRITERS[arguments.format](make_chart(kit, ward, grams, gestation, now))
    # A page says of itself that it is UTF-8, and a spreadsheet reads a file by what it is told, not by this terminal.
    return Exit.DONE if write_out(text, utf8=arguments.format != "text") else Exit.USAGE


def _find_rows(arguments: argparse.Namespace, kit: Kit) -> range | str:
    domain = find_run(kit.domain.weight)
    first = domain.first if arguments.first is None else arguments.first
    last = min(domain.last, first + _USUAL_SPAN) if arguments.last is None else arguments.last
    rows = Run(first, last)
    if not domain.first <= rows.first <= rows.last <= domain.last:
        return f"--from and --to must lie in the kit's domain, {domain.first} to {domain.last} g, the lower first"
    if arguments.every < 1 or (rows.last - rows.first) // arguments.every >= MOST_ROWS:
        return f"--every must be 1 g or more and give at most {MOST_ROWS} rows"
    return range(rows.first, rows.last + 1, arguments.every)
