"""What a proof finds, in words: each note, each situation, each run with what it is of."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from typing import Any

from prepkit.kit.axes import WEIGHTS, WORDS
from prepkit.kit.facts import show_fact
from prepkit.kit.spans import Where
from prepkit.proof.domain import Run
from prepkit.proof.findings import (
    BlockedRuns,
    ContainersTaken,
    CourseFull,
    CriterionCuts,
    DoseCapped,
    Ground,
    GroundChanges,
    LargestRounding,
    MarkHeldBelow,
    MarkPastCourse,
    Never,
    ProofFinding,
    ShareOfDue,
    StandsIn,
    StepOverMark,
    SyringeAgain,
    Unused,
    Wrong,
    WrongDose,
)
from prepkit.proof.notes import Note, Whereabouts
from prepkit.proof.situations import Beside, CourseStage, Told
from prepkit.quantities.text import show_amount, write_decimal, write_rounded
from prepkit.wording.say import say, say_joined
from prepkit.wording.things import join_sizes, say_measure

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
    Never.PRODUCT_UNORDERED: "in stock, another substance: never drawn up but by an order that names it",
}
_WRONG = {
    Wrong.MEDICINE: "not what the ward has first, nor what was ordered, or a stand-in that is not said",
    Wrong.MASS: "what is in the syringe is not the volume \N{MULTIPLICATION SIGN} the strength",
    Wrong.MOST: "the most in one dose is passed",
    Wrong.DUE: "what is due is not the dose per kg \N{MULTIPLICATION SIGN} the weight",
    Wrong.MARK: "the volume is on no mark of its syringe",
    Wrong.OVER: "more than the range that may not be passed",
    Wrong.DEVIATION: "further from what is due than the ward allows",
    Wrong.NEAREST: "another mark of the syringe is nearer",
    Wrong.CONTAINERS: "whole containers that nobody asked for, or not all of them,",
}
_MOST_RUNS = 4


def say_note(note: Note) -> str:
    """Say what was found and where, unless it is so everywhere."""
    words = _SAYINGS[type(note.finding)](note.finding)
    where = "; and ".join(_say_where(each) for each in note.where)
    return f"{words} ({where})" if where else words


def _say_where(where: Whereabouts) -> str:
    who = " or ".join(map(say_situation, where.situations))
    return "; ".join(part for part in (who, _say_runs(where.days)) if part)


def say_situation(told: Told) -> str:
    """Say what a line was walked with: "first dose, cpap 6 cmH2O"."""
    facts = (f"{name.replace('_', ' ')} {show_fact(value)}" for name, value in told.facts)
    age = () if told.age is None else (f"age {_say_minutes(told.age)}",)
    return ", ".join((*map(_say_stage, told.doses), *facts, *age, *map(_say_beside, told.beside)))


def _say_minutes(age: int) -> str:
    hours, minutes = divmod(age, 60)
    return f"{hours} h {minutes} min" if minutes else f"{hours} h"


def _say_beside(beside: Beside) -> str:
    if beside.value is None:
        return f"{WORDS[beside.axis]} the same"
    return f"{WORDS[beside.axis]} {say_measure(beside.axis, beside.value)}"


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
    count = f", {_count(runs)} weights in all; at {_say_number(runs[0].start)}" if len(runs) > 1 else ""
    about = " [the criteria rule these babies out]" if finding.is_ruled_out else ""
    return f"{_say_runs(runs) or 'any weight'}{count}: {say(finding.reason)}{about}"


def _say_changes(finding: GroundChanges) -> str:
    # The weight is named where it is first said.
    said = (
        f"from {_say_number(at) if row else say_run(at)} {_say_ground(ground)}" if at else _say_ground(ground)
        for row, (at, ground) in enumerate(finding.grounds)
    )
    return "; ".join(said)


def _say_ground(ground: Ground) -> str:
    count = f"{ground.syringes} \N{MULTIPLICATION SIGN} " if ground.syringes > 1 else ""
    syringe = f"{count}{show_amount(ground.syringe)} syringe" if ground.syringe else ""
    made = " ".join(part for part in (ground.stands_in, ground.recipe) if part)
    recipe = f"{made} {show_amount(ground.strength)}" if ground.strength else ""
    parts = (say_joined(ground.standing), say(ground.show), join_sizes(ground.sizes), syringe, recipe)
    return ", ".join(part for part in parts if part)


def _say_rounding(finding: LargestRounding) -> str:
    sign = ("", "+", "\N{MINUS SIGN}")[finding.sign]
    at = f" at {say_run(finding.at)}" if finding.at else ""
    return f"{sign}{write_decimal(finding.size)} {finding.unit}{at}"


def _say_step(finding: StepOverMark) -> str:
    before = f"{show_amount(finding.before[0])} at {say_run(finding.before[1])}"
    after = f"{show_amount(finding.after[0])} at {_say_number(finding.after[1])}"
    return f"at every gram from {before} to {after}" if finding.is_run else f"{before}, {after}"


def _say_capped(finding: DoseCapped) -> str:
    return f"the most in one dose, {show_amount(finding.most)}, bites at {say_run(finding.grams)}"


def _say_held(finding: MarkHeldBelow) -> str:
    return f"rounding up would pass what may be given: the mark below is taken at {_say_many(finding.runs)}"


def _say_past_course(finding: MarkPastCourse) -> str:
    words = f"the mark brings the course a little over its total at {_say_many(finding.runs)}"
    return f"{words}; the most, {show_amount(finding.most, 2)}, at {_say_number(finding.at)}"


def _say_again(finding: SyringeAgain) -> str:
    syringe = f"the {show_amount(finding.holds)} syringe with marks of {show_amount(finding.marks)}"
    return f"{syringe} serves again after another one took its place, at {_say_many(finding.runs)}"


def _say_wrong(finding: WrongDose) -> str:
    words = f"{_WRONG[finding.what]} at {_say_many(finding.runs)}"
    amounts = (("drawn up", finding.amount), ("in the syringe", finding.in_syringe), ("due", finding.due))
    said = ", ".join(f"{show_amount(amount)} {word}" for word, amount in amounts if amount is not None)
    ordered = f", ordered as {finding.ordered}" if finding.ordered else ""
    return f"{words}; at {_say_number(finding.runs[0].start)}: {finding.product}{ordered}, {said}"


def _say_stands_in(finding: StandsIn) -> str:
    words = f"{finding.product} stands in for {finding.instead_of} at {_say_many(finding.runs)}"
    return f"{words}; at {_say_number(finding.runs[0].start)}: {say(finding.reason)}"


def _say_share(finding: ShareOfDue) -> str:
    words = f"the row says what share it is at {_say_many(finding.runs)}"
    end = "least" if finding.is_less else "most"
    return f"{words}; the {end}, {write_rounded(finding.percent)} % of what is due, at {_say_number(finding.at)}"


def _say_containers(finding: ContainersTaken) -> str:
    words = "whole ones, nothing measured off," if finding.is_whole else "one less than the nearest mark would take,"
    return f"{words} at {_say_many(finding.runs)}"


def _say_course_full(finding: CourseFull) -> str:
    total = f"the course's total, {show_amount(finding.total)},"
    if finding.last is None:
        return f"{total} leaves no room for any further dose"
    number = f", or {finding.most_doses} doses," if finding.most_doses else ""
    was = "were" if finding.most_doses else "was"
    return f"{total} bites: no further dose once more than {show_amount(finding.last)}{number} {was} given"


def _say_cuts(finding: CriterionCuts) -> str:
    return f"{finding.otherwise}: {', or '.join(_list_cuts(finding))}"


def _list_cuts(finding: CriterionCuts) -> Iterator[str]:
    yield from map(_say_runs, finding.runs)
    for each in finding.facts:
        label = each.fact.replace("_", " ")
        yield f"{label} not {each.span.words()}" if each.span else f"{label} {' or '.join(each.values)}"


def _say_many(runs: tuple[Run, ...]) -> str:
    more = f" and {len(runs) - _MOST_RUNS} more runs" if len(runs) > _MOST_RUNS else ""
    return f"{_count(runs)} weights ({_say_runs(runs[:_MOST_RUNS])}{more})"


def _count(runs: tuple[Run, ...]) -> int:
    return sum(run.last - run.first + 1 for run in runs)


def _say_runs(runs: Sequence[Run]) -> str:
    """Say runs of one axis, which is named once: "birth weight 1200-1999 g, 2400 g"."""
    return ", ".join((*map(say_run, runs[:1]), *map(_say_number, runs[1:])))


def say_run(run: Run) -> str:
    """Say a run, and of what it is: "gestation today 28+0 to 31+6"."""
    return f"{WORDS[run.axis]} {_say_number(run)}"


def _say_number(run: Run) -> str:
    """Say the numbers of a run alone: "1200-1999 g", "28+0 to 31+6"."""
    first, last = (say_measure(run.axis, number) for number in (run.first, run.last))
    if first == last:
        return first
    return f"{run.first}\N{EN DASH}{last}" if run.axis in WEIGHTS else f"{first} to {last}"


_SAYINGS: Mapping[type[ProofFinding], Callable[[Any], str]] = {
    BlockedRuns: _say_blocked,
    GroundChanges: _say_changes,
    LargestRounding: _say_rounding,
    StepOverMark: _say_step,
    DoseCapped: _say_capped,
    MarkHeldBelow: _say_held,
    SyringeAgain: _say_again,
    WrongDose: _say_wrong,
    StandsIn: _say_stands_in,
    ShareOfDue: _say_share,
    ContainersTaken: _say_containers,
    CourseFull: _say_course_full,
    MarkPastCourse: _say_past_course,
    CriterionCuts: _say_cuts,
    Unused: _say_unused,
}
