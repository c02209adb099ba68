"""`prepkit prove`: a kit walked through its whole domain with a ward file. May import: everything but the screens."""

import argparse

from prepkit.cli.exits import Exit
from prepkit.cli.files import load_named_kit, load_ward_beside, refuse
from prepkit.cli.output import write_out
from prepkit.desk.clock import read_clock
from prepkit.documents.proof_text import write_proof_text
from prepkit.proof.prove import prove


def run_prove(arguments: argparse.Namespace) -> int:
    """Print the proof; 1 where a baby of the domain is left without a line."""
    kit, problems = load_named_kit(arguments.kit, arguments.kits)
    if kit is None:
        return refuse(problems)
    ward, problems = load_ward_beside(arguments.ward, kit, arguments.kits)
    if problems:
        return refuse(problems)
    proof = prove(kit.model, ward.model if ward else None, read_clock())
    write_out(write_proof_text(proof))
    return Exit.NOT_READY if proof.gaps else Exit.DONE
