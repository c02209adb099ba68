"""A proof as text, for a screen of 80 columns."""

from collections.abc import Callable, Iterable, Iterator, Mapping
from typing import Any

from prepkit.documents.safe_text import wrap_words
from prepkit.kit.facts import show_fact
from prepkit.kit.spans import Where
from prepkit.proof.domain import CourseStage, Run, Told
from prepkit.proof.findings import (
    BlockedRuns,
    CourseFull,
    CriterionCuts,
    DoseCapped,
    Ground,
    GroundChanges,
    LargestRounding,
    MarkHeldBelow,
    MarkPastCourse,
    Never,
    NoteKind,
    ProofFinding,
    StepOverMark,
    Unused,
)
from prepkit.proof.notes import Note, NotWalked, Proof, WalkedLine, Whereabouts
from prepkit.quantities.gestation import Gestation
from prepkit.quantities.text import show_amount, write_decimal
from prepkit.wording.say import say, say_joined
from prepkit.wording.things import join_sizes

_WIDTH = 78
_TITLES = {
    NoteKind.BLOCKED: "blocked at",
    NoteKind.UNMEASURED: "cannot be measured at",
    NoteKind.CHANGE: "changes:",
    NoteKind.ROUNDING: "largest rounding",
    NoteKind.STEP: "a step over the mark:",
    NoteKind.CEILING: "ceiling:",
    NoteKind.CAUTION: "caution:",
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
    NotWalked.BARRED_DOSES: "A further dose before its interval, past its total, or without its amount or time:"
    " blocked, with the reason.",
    NotWalked.QUESTIONS: "How likely a weight is, questions to the team, defaults not confirmed: they bar or caution,"
    " and change no amount.",
    NotWalked.OUTSIDE: "Weights and gestations outside the domain, other days than today, products and syringes not in"
    " the ward file.",
}
_NEVER = {
    Never.TABLE_MET: "no baby of the domain meets a band of the table by {of}",
    Never.BAND_MET: "no baby of the domain meets the band: {band}",
    Never.BAND_FIRST: "an earlier band always comes first: {band}",
    Never.METHOD_SERVES: "the method by {of} serves no baby",
    Never.METHOD_SERVES_UNMEASURED: "the method by {of} serves no baby: the ward has measured none",
    Never.METHOD_SERVES_OTHER_SIZES: "the method by {of} serves no baby: the ward measured other sizes",
    Never.METHOD_MARKS: "the method by {of} is never the mark: another always comes before it",
    Never.METHODS_DIFFER: "the caution that its methods differ can never fire",
    Never.METHOD_DIFFERS: "the caution that {of} differs can never fire",
    Never.APPROVAL_USED: "the approval {of} is never used, and its caution can never fire",
    Never.OFF_LABEL: "no approval is on file: the caution that it is used outside its label can never fire",
    Never.OVER_RANGE: "the caution that the mark passes the {limit} of the label's range can never fire ({of})",
    Never.OVER_COURSE: "the caution that the mark brings a course over its total can never fire",
    Never.WIDE_DEVIATION: "the caution that the mark is over {limit} from exact can never fire",
    Never.CRITERION_MET: "met by no baby of the domain: {of} for every one",
    Never.CRITERION_UNMET: "met by every baby of the domain: it can never fire",
    Never.PRODUCT_STOCKED: "not in the ward's stock: its cautions can never fire",
    Never.PRODUCT_SERVES: "in stock, but never what serves: its cautions can never fire",
}
_MOST_RUNS = 4


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
    yield from ("", "Not walked")
    for each in proof.not_walked:
        yield from _wrap(_NOT_WALKED[each], "  ")


def _say_domain(proof: Proof) -> str:
    everyone = f"every gram of {_say_grams(proof.grams)} with every day of {_say_days(proof.days)}"
    return f"Walked: {everyone}, {proof.babies} babies; approvals as of {proof.today:%d %b %Y}."


def _say_gaps(proof: Proof) -> str:
    if not proof.gaps:
        return "No gap: every line can be prepared for every baby that the criteria let in."
    names = {line.id: line.name for line in proof.lines}
    lines = dict.fromkeys(names[note.about] for note in proof.gaps)
    return f"{len(proof.gaps)} gap{'s' if len(proof.gaps) > 1 else ''}, marked with !: {', '.join(lines)}."


def _write_line(line: WalkedLine, notes: list[Note]) -> Iterator[str]:
    if len(line.situations) > 1:
        yield from _wrap(f"walked with: {'; '.join(map(say_situation, line.situations))}", "  ")
    kinds = {note.kind for note in notes}
    for kind, title in _TITLES.items():
        for note in notes:
            if note.kind is kind:
                yield from _wrap(f"{title} {say_note(note)}", "! " if note.is_gap else "  ")
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


def say_note(note: Note) -> str:
    """Say what was found and where, unless it is so everywhere."""
    words = _SAYINGS[type(note.finding)](note.finding)
    where = "; and ".join(_say_where(each) for each in note.where)
    return f"{words} ({where})" if where else words


def _say_where(where: Whereabouts) -> str:
    who = " or ".join(map(say_situation, where.situations))
    when = f"gestation {', '.join(map(_say_days, where.days))}" if where.days else ""
    return "; ".join(part for part in (who, when) if part)


def say_situation(told: Told) -> str:
    """Say which doses and facts a line was walked with: "first dose, cpap 6 cmH2O"."""
    facts = (f"{name.replace('_', ' ')} {show_fact(value)}" for name, value in told.facts)
    return ", ".join((*map(_say_stage, told.doses), *facts))


def _say_stage(stage: CourseStage) -> str:
    if stage.given is None:
        return "first dose"
    given = show_amount(stage.given)
    return f"last dose of a course, after {given}" if stage.stage == "last" else f"further dose after {given}"


def _say_unused(finding: Unused) -> str:
    limit = show_amount(finding.limit) if finding.limit else ""
    return _NEVER[finding.what].format(of=finding.of, band=_say_band(finding), limit=limit)


def _say_band(finding: Unused) -> str:
    words = finding.band.words() if finding.band else ""
    if not finding.when_size:
        return words
    return finding.when_size if finding.band == Where() else f"{finding.when_size}, {words}"


def _say_blocked(finding: BlockedRuns) -> str:
    runs = finding.runs
    count = f", {_count(runs)} weights in all; at {runs[0].first} g" if len(runs) > 1 else ""
    about = " [the criteria rule these babies out]" if finding.is_ruled_out else ""
    return f"{', '.join(map(_say_grams, runs))}{count}: {say(finding.reason)}{about}"


def _say_changes(finding: GroundChanges) -> str:
    return "; ".join(f"from {grams} g {_say_ground(ground)}" for grams, ground in finding.grounds)


def _say_ground(ground: Ground) -> str:
    syringe = f"{show_amount(ground.syringe)} syringe" if ground.syringe else ""
    recipe = f"{ground.recipe} {show_amount(ground.strength)}" if ground.strength else ""
    parts = (say_joined(ground.standing), say(ground.show), join_sizes(ground.sizes), syringe, recipe)
    return ", ".join(part for part in parts if part)


def _say_rounding(finding: LargestRounding) -> str:
    sign = ("", "+", "\N{MINUS SIGN}")[finding.sign]
    return f"{sign}{write_decimal(finding.size)} {finding.unit} at {finding.grams} g"


def _say_step(finding: StepOverMark) -> str:
    before, after = (f"{show_amount(amount)} at {grams} g" for amount, grams in (finding.before, finding.after))
    return f"at every gram from {before} to {after}" if finding.is_run else f"{before}, {after}"


def _say_capped(finding: DoseCapped) -> str:
    return f"the most in one dose, {show_amount(finding.most)}, bites at {_say_grams(finding.grams)}"


def _say_held(finding: MarkHeldBelow) -> str:
    return f"rounding up would pass what may be given: the mark below is taken at {_say_runs(finding.runs)}"


def _say_past_course(finding: MarkPastCourse) -> str:
    words = f"the mark brings the course a little over its total at {_say_runs(finding.runs)}"
    return f"{words}; the most, {show_amount(finding.most, 2)}, at {_say_grams(finding.at)}"


def _say_course_full(finding: CourseFull) -> str:
    total = f"the course's total, {show_amount(finding.total)},"
    if finding.last is None:
        return f"{total} leaves no room for any further dose"
    return f"{total} bites: no further dose once more than {show_amount(finding.last)} was given"


def _say_cuts(finding: CriterionCuts) -> str:
    return f"{finding.otherwise}: {', or '.join(_list_cuts(finding))}"


def _list_cuts(finding: CriterionCuts) -> Iterator[str]:
    if finding.grams:
        yield ", ".join(map(_say_grams, finding.grams))
    if finding.days:
        yield ", ".join(map(_say_days, finding.days))
    for each in finding.facts:
        label = each.fact.replace("_", " ")
        yield f"{label} not {each.span.words()}" if each.span else f"{label} {' or '.join(each.values)}"


def _say_runs(runs: tuple[Run, ...]) -> str:
    more = f" and {len(runs) - _MOST_RUNS} more runs" if len(runs) > _MOST_RUNS else ""
    return f"{_count(runs)} weights ({', '.join(map(_say_grams, runs[:_MOST_RUNS]))}{more})"


def _count(runs: tuple[Run, ...]) -> int:
    return sum(run.last - run.first + 1 for run in runs)


def _say_grams(run: Run) -> str:
    """Say a run of weights: 1200-1999 g."""
    return f"{run.first} g" if run.first == run.last else f"{run.first}\N{EN DASH}{run.last} g"


def _say_days(run: Run) -> str:
    """Say a run of gestations: 28+0 to 31+6."""
    first, last = Gestation(run.first), Gestation(run.last)
    return str(first) if first == last else f"{first} to {last}"


_SAYINGS: Mapping[type[ProofFinding], Callable[[Any], str]] = {
    BlockedRuns: _say_blocked,
    GroundChanges: _say_changes,
    LargestRounding: _say_rounding,
    StepOverMark: _say_step,
    DoseCapped: _say_capped,
    MarkHeldBelow: _say_held,
    CourseFull: _say_course_full,
    MarkPastCourse: _say_past_course,
    CriterionCuts: _say_cuts,
    Unused: _say_unused,
}
