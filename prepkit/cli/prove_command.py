"""`prepkit prove`: a kit walked through its whole domain with a ward file. May import: everything but the screens."""

import argparse

from prepkit.cli.exits import Exit
from prepkit.cli.files import Loaded, load_kit_and_ward, refuse
from prepkit.cli.output import write_out
from prepkit.desk.clock import read_clock
from prepkit.documents.proof_text import write_proof_text
from prepkit.proof.prove import prove


def run_prove(arguments: argparse.Namespace) -> int:
    """Print the proof; 1 where a baby of the domain is left without a line."""
    loaded = load_kit_and_ward(arguments)
    if not isinstance(loaded, Loaded):
        return refuse(loaded)
    kit, ward = loaded.kit, loaded.ward
    proof = prove(kit.model, ward.model if ward else None, read_clock())
    write_out(write_proof_text(proof))
    return Exit.NOT_READY if proof.gaps else Exit.DONE
