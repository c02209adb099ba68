"""`prepkit new-kit`: a commented start for a kit of one's own, and the schema of kits beside it."""

import argparse
import sys
from datetime import timedelta
from pathlib import Path

from prepkit.app.clock import read_clock
from prepkit.cli.output import Exit
from prepkit.documents.schemas import write_kit_schema
from prepkit.kit.read import read_kit

_REVIEW = timedelta(days=365)
_SCHEMA = "kit.schema.json"
_START = """\
#:schema {schema}
# {name}: what to lay out. Replace what stands here; `prepkit check {file}` says what is wrong, by line.
# An editor that knows TOML completes and explains the keys from the schema named in the first line.
#
# Amounts are text with a unit ("20 microgram/kg"); bands say by their keys which edge belongs to them (at_least, above,
# at_most, below); every line states its basis: "published" (with a
# source that was read whole), "published, read in an excerpt or account", common practice, local, or from memory.

form = 1
id = "{name}"
edition = "{edition}"
name = "{name}"
short = "{name}"
review_by = {review_by}

# What it shares with other kits: files in fragments/ beside it; a row with an id and the fragment places one of theirs.
# fragments = ["example"]

# The babies that the kit is for: what `prepkit prove` walks through, every gram and every day.
# Each span says which weight and which gestation it means.
[domain]
birth_weight = {{ at_least = "500 g", at_most = "5000 g" }}
weight_now = {{ at_least = "500 g", at_most = "5000 g" }}
birth_gestation = {{ at_least = "23+0", at_most = "42+0" }}
gestation_today = {{ at_least = "23+0", at_most = "44+6" }}

# A document that a figure was read in. Name it in `source = ["example"]` of what it is for.
# [sources.example]
# title = "Who published it, and what it is"
# year = 2026
# reference = "doi or report number, and the page or table"
# read = "whole"                     # or "passage", "abstract", "account": what of it was read
# written_for = "whom, or what, it was written for"

# Always asked: the weights, the gestation at birth, when born, sex. Others, each with what stands where nobody says:
[[fact]]
kind = "choice"                     # or "amount" (least, most, default), or "moment"
id = "line_patent"
label = "Line checked as patent"
ask = "Has an intravenous line been checked as patent?"
options = ["yes", "no"]
default = "no"

# A reason against the route, touched where it applies. With otherwise = "advice" it is something said or done, and
# keeps nothing from being ready. With `where = {{ weight_now = {{ at_least = "1200 g" }} }}`, what the facts must show.
[[criterion]]
id = "not-agreed"
text = "Procedure not agreed for this baby"
otherwise = "ask a senior"          # or "not suitable", or "advice"
basis = "common practice"

# Who has a role: initials, and one thing said with them.
[[fact]]
kind = "person"
id = "leads"
label = "Leads"
ask = "Who leads?"
then = "Skilled at it, or supervised?"
options = ["skilled", "supervised by"]
and_who = "supervised by"

[[group]]
id = "things"
name = "Things"

# Kinds of line: supply, size, dose, depth, amount, setting, trial. docs/rule-reference.md has every key of each.
[[line]]
kind = "supply"
id = "drape"
group = "things"
name = "Clean drape"
how = ["Spread it beside the cot."]
basis = "common practice"

[[line]]
kind = "trial"
id = "team-briefed"
group = "things"
name = "Team briefed"
how = ["Who does what; when to stop, and what happens then."]
basis = "common practice"
"""


def run_new_kit(arguments: argparse.Namespace) -> int:
    """Write the start of a kit into a new file, and the schema for editors beside it; never overwrite a file."""
    path = Path(arguments.folder) / f"{arguments.name}.toml"
    today = read_clock().date()
    text = _START.format(
        name=arguments.name, file=path, schema=_SCHEMA, edition=f"{today:%Y-%m}", review_by=today + _REVIEW
    )
    _, problems = read_kit(text, str(path))
    if problems:
        sys.stderr.write(f'prepkit: "{arguments.name}" cannot be a kit\'s id: small letters, digits and hyphens\n')
        return Exit.USAGE
    try:
        with path.open("x", encoding="utf-8") as file:
            file.write(text)
        schema = path.with_name(_SCHEMA)
        if not schema.exists():
            schema.write_text(write_kit_schema(), "utf-8")
    except FileExistsError:
        sys.stderr.write(f'prepkit: "{path}" is there already: nothing was written\n')
        return Exit.USAGE
    except OSError as error:
        sys.stderr.write(f'prepkit: "{path}" cannot be written: {(error.strerror or str(error)).lower()}\n')
        return Exit.USAGE
    sys.stdout.write(f"{path}\n")
    return Exit.DONE
