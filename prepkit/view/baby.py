"""The baby's facts on screen."""

from datetime import date, datetime

from msgspec.structs import replace

from prepkit.kit.baby import Baby, list_needed
from prepkit.kit.facts import SEXES, find_default, read_fact, show_fact, write_fact
from prepkit.kit.kit import AmountFact, ChoiceFact, DosesFact, Fact, Kit
from prepkit.kit.names import (
    BIRTH_GESTATION,
    BIRTH_WEIGHT,
    BORN,
    CORE_LABELS,
    NOT_KNOWN,
    NOT_WEIGHED,
    SEX,
    WEIGHT_NOW,
)
from prepkit.kit.person import PersonFact
from prepkit.kit.problems import Problem
from prepkit.preparation.check.events import FactRead
from prepkit.preparation.listing import WorkedList
from prepkit.preparation.state import Preparation
from prepkit.rules.growth import Plausibility
from prepkit.view.banner import show_banner
from prepkit.view.days import list_days, say_day
from prepkit.view.models import BabyView, FactRow, InputKind, Sign, ThenQuestion, WeightQuestion
from prepkit.view.pictures import draw_weight_for_age
from prepkit.wording.baby import say_fact_text
from prepkit.wording.layers import say_change, say_weight
from prepkit.wording.things import say_age

NOT_CONFIRMED = "default, not confirmed"
_SEX_CHOICES = (("boy", "boy"), ("girl", "girl"), ("unknown", "not known"))
UNLESS = {
    BIRTH_WEIGHT: (NOT_KNOWN, "Not known"),
    BIRTH_GESTATION: (NOT_KNOWN, "Not known"),
    WEIGHT_NOW: (NOT_WEIGHED, "Not weighed"),
}
"""What may be given in the place of a value, and the words for it."""
TYPE_BIRTH = "Longer ago, or the time: type it"
"""For the day of birth."""
_NOTES, _COT = "notes", "cot"
_READ_OFF = {BIRTH_WEIGHT: _NOTES, WEIGHT_NOW: _COT, BORN: _NOTES}
"""Where a person reads them."""


def show_baby(state: Preparation, worked: WorkedList, now: datetime) -> BabyView:
    """The facts a kit asks for, given, at their default or still to be given; `now` is that of who looks."""
    core = (
        _show_birth_weight(state, worked, now),
        _show_birth_gestation(state, worked, now),
        _show_born(state, worked, now),
        _show_weight_now(state, worked, now),
        _show_sex(state),
    )
    facts = (*core, *(_show_kit_fact(fact, state, worked) for fact in worked.kit.model.fact))
    needed = _find_needed(state, worked)
    question = show_weight_question(worked)
    assumed = [row for row in facts if row.note == NOT_CONFIRMED and row.id != SEX]
    return BabyView(
        banner=show_banner(state, worked.baby),
        facts=facts,
        weight_question=question,
        next_fact=needed,
        next_label=f"{CORE_LABELS[question.fact]} again" if question else _label_next(facts, needed),
        computed=_show_computed(worked.baby),
        assumed_offer="Confirm all as shown" if assumed and not needed else "",
        pictures=draw_weight_for_age(worked),
    )


def _find_needed(state: Preparation, worked: WorkedList) -> str | None:
    """The fact to ask for next: one that the list or some of its lines need, or one that a checker read otherwise."""
    if needed := list_needed(state.facts):
        return needed[0]
    if state.disputed is not None:
        return state.disputed.fact
    return WEIGHT_NOW if worked.baby is not None and worked.baby.is_weight_wanted else None


def _show_computed(baby: Baby | None) -> tuple[str, ...]:
    """Today's gestation and the age; nothing of a baby that is not known yet."""
    if baby is None:
        return ()
    today, until = baby.size.gestation_today, f", if born {baby.born.day:%d %b}" if baby.is_birth_assumed else ""
    return (*((f"Gestation today {today}",) if today else ()), f"Age {say_age(baby.age)}{until}")


def say_wrong(problem: Problem) -> str:
    """What is wrong with a typed fact, as the beginning of a sentence."""
    return f"{problem.wrong[0].upper()}{problem.wrong[1:]}"


def _label_next(facts: tuple[FactRow, ...], needed: str | None) -> str:
    wanted = next((fact for fact in facts if fact.id == needed), None)
    if wanted is None:
        return ""
    return f"{wanted.label} again" if wanted.value else f"Enter {wanted.label.lower()}"


def show_weight_question(worked: WorkedList) -> WeightQuestion | None:
    """The question about an unlikely weight; None where there is none."""
    if worked.change is not None:
        after = (BIRTH_WEIGHT, WEIGHT_NOW, BORN)
        return WeightQuestion(WEIGHT_NOW, say_change(worked.change), second_person=False, withholds=False, after=after)
    if worked.weight is None:
        return None
    second = worked.weight.plausibility is Plausibility.VERY_UNLIKELY
    words = say_weight(worked.weight)
    if second:
        where = "notes" if worked.weight.fact == BIRTH_WEIGHT else "cot card"
        words = (*words, f"A second person reads the weight off the {where} and enters it.")
    return WeightQuestion(worked.weight.fact, words, second, withholds=True)


def _show_birth_weight(state: Preparation, worked: WorkedList, now: datetime) -> FactRow:
    ask = "What did the baby weigh at birth, in grams?"
    row = _show_core(BIRTH_WEIGHT, ask, InputKind.GRAMS, state, worked, now)
    return replace(row, unit="g", leads_on=True)


def _show_birth_gestation(state: Preparation, worked: WorkedList, now: datetime) -> FactRow:
    ask = "What was the gestation at birth, weeks+days?"
    row = _show_core(BIRTH_GESTATION, ask, InputKind.GESTATION, state, worked, now)
    return replace(row, unit="weeks+days")


def _show_born(state: Preparation, worked: WorkedList, now: datetime) -> FactRow:
    row = _show_core(BORN, "When was the baby born?", InputKind.CHOICE, state, worked, now)
    if BORN not in state.facts:
        row = replace(row, value=say_day(now.date(), now.date()), note=NOT_CONFIRMED)
    return replace(row, choices=list_days(now.date()), or_typed=TYPE_BIRTH, leads_on=True)


def _show_weight_now(state: Preparation, worked: WorkedList, now: datetime) -> FactRow:
    row = _show_core(WEIGHT_NOW, "What does the baby weigh now, in grams?", InputKind.GRAMS, state, worked, now)
    if not row.value and WEIGHT_NOW not in list_needed(state.facts):
        is_wanted = worked.baby is not None and worked.baby.is_weight_wanted
        note = "lines wait for it" if is_wanted else "as at birth"
        row = replace(row, note=note, sign=Sign.QUESTION if is_wanted else Sign.TO_DO)
    if state.facts.get(BIRTH_WEIGHT) == NOT_KNOWN:
        row = replace(row, unless=("", ""))  # there has to be one weight
    return replace(row, unit="g", days=list_days(now.date(), _find_birth(state, now)))


def _find_birth(state: Preparation, now: datetime) -> date:
    """The day of birth as it was given, else today."""
    given = state.facts.get(BORN)
    return date.fromisoformat(given[: len("2026-11-25")]) if given else now.date()


def _show_core(name: str, ask: str, entry: InputKind, state: Preparation, worked: WorkedList, now: datetime) -> FactRow:
    """A fact that every baby has, as it was given; or as it is asked anew where a checker read something else."""
    given, read = state.facts.get(name, ""), state.disputed
    found = read_fact(worked.laid, name, given, now)
    value = show_fact(found[1]) if not isinstance(found, Problem) else say_fact_text(name, given) if given else ""
    unless = UNLESS.get(name, ("", ""))
    if read is not None and read.fact == name:
        # An empty field: the fact is read anew off the cot or the notes, not accepted as it stood.
        again, note = f"Look at the {_READ_OFF[name]} together. {ask}", f"{read.stamp.who} read {_say_read(read)}"
        return FactRow(name, CORE_LABELS[name], again, value, "", "", entry, (), note, Sign.QUESTION, unless)
    typed = "" if given == unless[0] else given.partition(" on ")[0]
    note = "" if value else "needed for the list"
    sign = Sign.DONE if value else Sign.QUESTION
    return FactRow(name, CORE_LABELS[name], ask, value, typed, "", entry, (), note, sign, unless)


def _say_read(read: FactRead) -> str:
    """What a checker read; of a weight no day was asked."""
    return say_fact_text(read.fact, read.value.partition(" on ")[0])


def _show_sex(state: Preparation) -> FactRow:
    value = state.facts.get(SEX)
    shown = dict(_SEX_CHOICES)[value or SEXES[-1]]
    note = "" if value else NOT_CONFIRMED
    return FactRow(
        SEX, "Sex", "Is it a boy or a girl?", shown, value or "", "", InputKind.CHOICE, _SEX_CHOICES, note, _sign(note)
    )


def _show_kit_fact(fact: Fact, state: Preparation, worked: WorkedList) -> FactRow:
    text = state.facts.get(fact.id)
    default = find_default(fact)
    note = "" if text else NOT_CONFIRMED if default is not None else "not recorded"
    if text:
        found = read_fact(worked.laid, fact.id, text, state.last.at)
        value = text if isinstance(found, Problem) else show_fact(found[1])
    else:
        value = "" if default is None else show_fact(default)
    typed = _show_typed(fact, text or (write_fact(default) if default is not None else ""))
    unit = fact.least.unit.text if isinstance(fact, AmountFact) else ""
    choices = tuple((option, option) for option in fact.options) if isinstance(fact, ChoiceFact) else ()
    row = FactRow(fact.id, fact.label, fact.ask, value, typed, unit, _find_entry(fact), choices, note, _sign(note))
    return _add_person(row, fact, state, worked.laid) if isinstance(fact, PersonFact) else row


def _add_person(row: FactRow, fact: PersonFact, state: Preparation, kit: Kit) -> FactRow:
    """The row of who has a role, with everybody known here to choose from: one person may have several."""
    roles = [who for each in kit.fact if isinstance(each, PersonFact) for who in _list_named(each, state)]
    people = dict.fromkeys((*roles, *sorted(state.preparers), state.last.who))
    said = tuple((option, f"{option} …" if option == fact.and_who else option) for option in fact.options)
    return replace(
        row,
        choices=tuple((who, who) for who in people),
        or_typed="Other initials: type them",
        then=ThenQuestion(fact.then, said, fact.and_who or "", fact.or_typed or ""),
    )


def _list_named(fact: PersonFact, state: Preparation) -> tuple[str, ...]:
    """Whoever is named in a role: the one who has it, and the other one where there is one."""
    who, _, said = state.facts.get(fact.id, "").partition(", ")
    other = said.removeprefix(f"{fact.and_who} ") if fact.and_who else said
    return tuple(filter(None, (who, other if other != said else "")))


def _show_typed(fact: Fact, text: str) -> str:
    """An amount as a person types it: without the unit that the pad shows."""
    return text.partition(" ")[0] if isinstance(fact, AmountFact) else text


def _find_entry(fact: Fact) -> InputKind:
    if isinstance(fact, AmountFact):
        return InputKind.NUMBER
    if isinstance(fact, DosesFact):
        return InputKind.DOSES
    if isinstance(fact, PersonFact):
        return InputKind.PERSON
    return InputKind.CHOICE if isinstance(fact, ChoiceFact) else InputKind.MOMENT


def _sign(note: str) -> Sign:
    return {"": Sign.DONE, NOT_CONFIRMED: Sign.QUESTION}.get(note, Sign.TO_DO)
