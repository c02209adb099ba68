"""A proof as text, for a screen of 80 columns."""

from collections.abc import Iterable, Iterator

from prepkit.documents.proof_words import say_note, say_run, say_situation
from prepkit.documents.safe_text import wrap_words
from prepkit.kit.axes import WEIGHTS
from prepkit.kit.ward import Ward
from prepkit.proof.findings import NoteKind
from prepkit.proof.notes import Note, NotWalked, Proof, WalkedLine

_WIDTH = 78
_TITLES = {
    NoteKind.BLOCKED: "blocked at",
    NoteKind.UNMEASURED: "cannot be measured at",
    NoteKind.WRONG: "wrong:",
    NoteKind.CHANGE: "changes:",
    NoteKind.ROUNDING: "largest rounding",
    NoteKind.STEP: "a step over the mark:",
    NoteKind.CEILING: "ceiling:",
    NoteKind.CAUTION: "caution:",
    NoteKind.SPANS: "syringes:",
    NoteKind.STANDS_IN: "another product:",
    NoteKind.SHARE: "share of what is due:",
    NoteKind.CONTAINERS: "containers:",
    NoteKind.CRITERION: "",
    NoteKind.UNUSED: "never:",
}
_NONE_OF_A_DOSE = {
    NoteKind.UNMEASURED: "can be measured wherever it is due",
    NoteKind.STEP: "no step over the mark from one gram to the next",
    NoteKind.CEILING: "no ceiling bites",
}
_NOT_WALKED = {
    NotWalked.UNGIVEN_FACTS: "Facts not recorded that have no default: a line that needs one is blocked until"
    " somebody gives it.",
    NotWalked.UNKNOWN_SIZES: "A weight or a gestation that is not known, a weight now that is still to enter, a birth"
    " without a time whose age may lie on either side of an edge: a line that needs it is blocked until somebody gives"
    " it. Where the birth weight is not known, the weight now stands for it.",
    NotWalked.BETWEEN_ENDS: "A second weight or gestation that decides on a line, such as that of what it follows,"
    " between the ends of its runs.",
    NotWalked.BARRED_DOSES: "A further dose before its interval, past its total, or without its amount or time:"
    " blocked, with the reason.",
    NotWalked.ORDERS: "What can be ordered between the weights named above, the rest of a dose given in part, a dose"
    " ordered before its interval is over.",
    NotWalked.QUESTIONS: "How likely a weight is, questions to the team, defaults not confirmed: they bar or caution,"
    " and change no amount.",
    NotWalked.OUTSIDE: "Weights and gestations outside the domain, other days than today, products and syringes not in"
    " the ward file.",
}
_ROUNDING = {
    "nearest": "No other mark of the syringe is nearer, unless it would be more than may be given, or take one"
    " container more where the fewest are opened",
    "not over": "Never past the label's range for a first dose, nor past a dose without one; no nearer mark is left out"
    " for any other reason than these, the most in one dose, a course's total or the fewest containers",
}
_CHECKED = """\
What is due is the dose per kg \N{MULTIPLICATION SIGN} the weight; what is in the syringe, the volume\
 \N{MULTIPLICATION SIGN} the strength.
{rounding}; at a mark, within the ward's deviation.
The most in one dose, kept.
The ward's first substance and no other; another product of it is said.
The same of all that can be ordered, at the first and the last weight and on both sides of each change of product,\
 strength or syringe: what was ordered is drawn up and nothing else."""


def write_proof_text(proof: Proof) -> str:
    """The proof in plain text: what was walked, then line after line what was found."""
    return "\n".join(_write(proof)) + "\n"


def _write(proof: Proof) -> Iterator[str]:
    ward = f"{proof.ward.name}, edition {proof.ward.edition}" if proof.ward else "no ward file"
    yield from _wrap(f"{proof.kit}, edition {proof.edition}, with {ward}", "")
    yield from _wrap(_say_domain(proof), "")
    yield from _wrap(_say_gaps(proof), "")
    ids = [line.id for line in proof.lines]
    silent = []
    for line in proof.lines:
        notes = [note for note in proof.notes if note.about == line.id]
        said = [*_write_line(line, notes)]
        if said:
            yield from ("", *_wrap(f"{line.name} ({line.id})", ""), *said)
        else:
            silent.append(line.name)
    if silent:
        yield from ("", "Never blocked, and nothing else to say of")
        yield from _wrap(f"{'; '.join(silent)}.", "  ")
    rest = [note for note in proof.notes if note.about not in ids]
    yield from _write_rest("Criteria that go by facts", (note for note in rest if _is_criterion(note, proof)))
    yield from _write_rest("Products", (note for note in rest if not _is_criterion(note, proof)))
    if proof.ward and NotWalked.ORDERS in proof.not_walked:
        yield from _write_checked(proof.ward)
    yield from ("", "Not walked")
    for each in proof.not_walked:
        yield from _wrap(_NOT_WALKED[each], "  ")


def _write_checked(ward: Ward) -> Iterator[str]:
    yield from ("", "Checked of each dose at every weight, by plain sums of the proof's own")
    rounding = _ROUNDING[ward.round]
    for words in _CHECKED.format(rounding=rounding).splitlines():
        yield from _wrap(words, "  ")


def _say_domain(proof: Proof) -> str:
    grams = " and of ".join(say_run(run) for run in proof.domain if run.axis in WEIGHTS)
    days = " and of ".join(say_run(run) for run in proof.domain if run.axis not in WEIGHTS)
    walked = ", ".join(f"every {word} of {runs}" for word, runs in (("gram", grams), ("day", days)) if runs)
    each = "each line along the weight and the gestation that it goes by"
    return f"Walked: {walked or 'no weight and no gestation'}, {each}; approvals as of {proof.today:%d %b %Y}."


def _say_gaps(proof: Proof) -> str:
    names = {line.id: line.name for line in proof.lines}
    lines = dict.fromkeys(names[note.about] for note in proof.gaps)
    others = dict.fromkeys(names[note.about] for note in proof.notes if note.is_marked and not note.is_gap)
    marked = f" Another product stands in, marked with ! too: {', '.join(others)}." if others else ""
    if not lines:
        return f"No gap: every line can be prepared for every baby that the criteria let in.{marked}"
    return f"{len(proof.gaps)} gap{'s' if len(proof.gaps) > 1 else ''}, marked with !: {', '.join(lines)}.{marked}"


def _write_line(line: WalkedLine, notes: list[Note]) -> Iterator[str]:
    if len(line.situations) > 1:
        yield from _wrap(f"walked with: {'; '.join(map(say_situation, line.situations))}", "  ")
    kinds = {note.kind for note in notes}
    for kind, title in _TITLES.items():
        for note in notes:
            if note.kind is kind:
                yield from _wrap(f"{title} {say_note(note)}", "! " if note.is_marked else "  ")
        if NoteKind.ROUNDING in kinds and line.kind == "dose" and kind in _NONE_OF_A_DOSE and kind not in kinds:
            yield from _wrap(_NONE_OF_A_DOSE[kind], "  ")


def _write_rest(title: str, notes: Iterable[Note]) -> Iterator[str]:
    said = [row for note in notes for row in _wrap(f"{note.about}: {say_note(note)}", "  ")]
    if said:
        yield from ("", title, *said)


def _is_criterion(note: Note, proof: Proof) -> bool:
    return note.about in proof.criteria


def _wrap(words: str, lead: str) -> list[str]:
    return wrap_words(words, lead, then=" " * (len(lead) + 2) if lead else "", width=_WIDTH)
