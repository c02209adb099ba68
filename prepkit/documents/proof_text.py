"""A proof as text. May import: `prepkit.proof` and below."""

import textwrap
from collections.abc import Iterator

from prepkit.proof.notes import Note, NoteKind, Proof, say_days, say_grams

_WIDTH = 100
_TITLES = {
    NoteKind.BLOCKED: "Blocked",
    NoteKind.STEP: "More than a mark from one gram to the next",
    NoteKind.ROUNDING: "Largest rounding",
    NoteKind.CEILING: "Ceilings",
    NoteKind.CHANGE: "Where size, syringe, strength or approval change",
    NoteKind.CRITERION: "Criteria that cut into the domain",
    NoteKind.UNUSED: "Never met in this domain, or never in stock",
}


def write_proof_text(proof: Proof) -> str:
    """The proof in plain text: the domain, then every note under its heading."""
    return "\n".join(_write(proof)) + "\n"


def _write(proof: Proof) -> Iterator[str]:
    yield f"{proof.kit} (edition {proof.edition}) with {proof.ward}"
    yield f"Every gram of {say_grams(proof.grams)} and every day of {say_days(proof.days)}: {proof.babies} babies."
    gaps = len(proof.gaps)
    yield "No gap: every line can be prepared for every one of them." if not gaps else f"{gaps} gaps: see Blocked."
    for kind, title in _TITLES.items():
        notes = [note for note in proof.notes if note.kind is kind]
        if notes:
            yield ""
            yield title
            for note in notes:
                yield from _wrap(note)


def _wrap(note: Note) -> list[str]:
    return textwrap.wrap(
        f"{note.about}: {note.words}", _WIDTH, initial_indent="  ", subsequent_indent="      ", break_on_hyphens=False
    )
