"""Proving a kit: what its lines do over the whole domain, and where one is missing. May import: `prepkit.proof`."""

from collections.abc import Iterator
from datetime import datetime

from prepkit.kit.kit import Kit
from prepkit.kit.lines import DoseLine, Line
from prepkit.kit.ward import Ward
from prepkit.proof.along import find_rounding, look_along
from prepkit.proof.criteria import prove_criterion
from prepkit.proof.notes import Note, NoteKind, Proof, WalkedLine, merge
from prepkit.proof.situations import find_earlier, find_first_product, find_last_given
from prepkit.proof.unused import find_unstocked, find_unused
from prepkit.proof.walk import Track, Walk, make_baby
from prepkit.quantities.amount import Amount, make_amount
from prepkit.quantities.show import show_amount

# A change of ground along the weights, or a ground that has a review date.
_GROUNDS_THAT_END = ("; from", "approval", "widening")


def prove(kit: Kit, ward: Ward | None, now: datetime) -> Proof:
    """Walk a kit through its whole domain with one ward file, at one moment."""
    walk = Walk(kit, ward, now)
    notes: list[Note] = []
    lines: list[WalkedLine] = []
    used: set[str] = set()
    for line in walk.kit.line:
        tracks = list(walk.list_tracks(line))
        situations = tuple(dict.fromkeys(track.situation.words for track in tracks))
        notes += _prove_line(line, tracks, situations, walk)
        lines.append(WalkedLine(line.id, line.name, line.kind, situations))
        used |= {point.outcome.product for track in tracks for point in track.points}
    notes += [note for criterion in walk.criteria for note in prove_criterion(criterion, walk)]
    notes += find_unstocked(walk.kit, ward, used)
    babies = (walk.grams.last - walk.grams.first + 1) * (walk.days.last - walk.days.first + 1)
    return Proof(
        kit=kit.id,
        edition=kit.edition,
        ward=f"{ward.name}, edition {ward.edition}" if ward else "no ward file",
        today=now.date(),
        grams=walk.grams,
        days=walk.days,
        babies=babies,
        lists=walk.worked,
        lines=tuple(lines),
        criteria=tuple(criterion.id for criterion in walk.kit.criterion),
        notes=tuple(dict.fromkeys(notes)),
    )


def _prove_line(line: Line, tracks: list[Track], situations: tuple[str, ...], walk: Walk) -> Iterator[Note]:
    seen = [each for track in tracks for each in look_along(line, track)]
    notes = merge(line.id, [*seen, *find_rounding(tracks)], situations, walk.days)
    changes = [note for note in notes if note.kind is NoteKind.CHANGE]
    is_plain = len(changes) == 1 and not any(words in changes[0].words for words in _GROUNDS_THAT_END)
    # One size, for every baby on the same ground, is no change.
    yield from (note for note in notes if note not in changes or isinstance(line, DoseLine) or not is_plain)
    if isinstance(line, DoseLine):
        yield from _find_course_end(line, walk)
    yield from find_unused(line, tracks, walk)


def _find_course_end(line: DoseLine, walk: Walk) -> Iterator[Note]:
    """Where the course's total leaves no room for a further dose: worked out on both sides of it."""
    found = find_first_product(line, walk.kit, walk.ward)
    last = find_last_given(found) if found else None
    if line.earlier is None or found is None or found.repeat is None or last is None:
        return
    total = f"the course's total, {show_amount(found.repeat.most_in_all)},"
    if last.value <= 0:
        yield Note(line.id, NoteKind.CEILING, f"{total} leaves no room for any further dose")
        return
    more = Amount(last.value + make_amount("0.000001", last.unit.text).value, last.unit)
    room, none = (_is_barred(line, given, walk) for given in (last, more))
    if none and not room:
        words = f"{total} bites: no further dose once more than {show_amount(last)} was given"
        yield Note(line.id, NoteKind.CEILING, words)


def _is_barred(line: DoseLine, given: Amount, walk: Walk) -> bool:
    """Whether no dose is due after this much at the domain's first gram and day."""
    found = find_first_product(line, walk.kit, walk.ward)
    situation = walk.list_situations(line)[0]
    baby = make_baby(walk.grams.first, walk.days.first, situation)
    facts = {**baby.facts, **(find_earlier(line, found, given, walk.now) if found else {})}
    outcome = walk.work_out(line, type(baby)(baby.weight_g, baby.gestation, baby.sex, facts, ()))
    return bool(outcome.blocked) and outcome.dose is None
