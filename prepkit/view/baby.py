"""The baby's facts on screen."""

from prepkit.kit.baby import SEXES, read_fact, show_fact, write_fact
from prepkit.kit.kit import AmountFact, ChoiceFact, Fact
from prepkit.kit.problems import Problem
from prepkit.preparation.listing import WorkedList
from prepkit.preparation.state import GESTATION, SEX, WEIGHT, Preparation
from prepkit.rules.growth import Plausibility
from prepkit.view.banner import show_banner
from prepkit.view.models import BabyView, FactRow, InputKind, Sign, WeightQuestion
from prepkit.view.pictures import draw_weight_for_age
from prepkit.wording.layers import say_weight

NOT_CONFIRMED = "default, not confirmed"
_SEX_CHOICES = (("boy", "boy"), ("girl", "girl"), ("unknown", "not known"))


def show_baby(state: Preparation, worked: WorkedList) -> BabyView:
    """The facts a kit asks for, given, at their default or still to be given."""
    core = (_show_weight(state), _show_gestation(state), _show_sex(state))
    facts = (*core, *(_show_kit_fact(fact, state, worked) for fact in worked.kit.model.fact))
    needed = next((name for name in (WEIGHT, GESTATION) if name not in state.facts), None)
    if needed is None and state.disputed is not None:
        needed = WEIGHT
    question = show_weight_question(worked)
    assumed = [row for row in facts if row.note == NOT_CONFIRMED and row.id != SEX]
    return BabyView(
        banner=show_banner(state),
        facts=facts,
        weight_question=question,
        next_fact=needed,
        next_label="Weight again" if question else _label_next(facts, needed),
        assumed_offer="Confirm all as shown" if assumed and not needed else "",
        pictures=draw_weight_for_age(worked),
    )


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
    if worked.weight is None:
        return None
    second = worked.weight.plausibility is Plausibility.VERY_UNLIKELY
    words = say_weight(worked.weight)
    if second:
        words = (*words, "A second person reads the weight off the cot card and enters it.")
    return WeightQuestion(words, second)


def _show_weight(state: Preparation) -> FactRow:
    typed, read = state.facts.get(WEIGHT, ""), state.disputed
    if typed and read is not None:
        # An empty field: the weight is read anew off the cot, not accepted as it stood.
        ask = "Look at the cot together. What does the baby weigh, in grams?"
        note = f"{read.stamp.who} read {read.weight} g"
        return FactRow(WEIGHT, "Weight", ask, f"{typed} g", "", "g", InputKind.GRAMS, (), note, Sign.QUESTION)
    return _make_row(
        WEIGHT,
        "Weight",
        "What does the baby weigh, in grams?",
        f"{typed} g" if typed else "",
        typed,
        "g",
        InputKind.GRAMS,
    )


def _show_gestation(state: Preparation) -> FactRow:
    typed = state.facts.get(GESTATION, "")
    ask = "What is the gestation today, weeks+days?"
    return _make_row(GESTATION, "Gestation", ask, typed, typed, "weeks+days", InputKind.GESTATION)


def _show_sex(state: Preparation) -> FactRow:
    value = state.facts.get(SEX)
    shown = dict(_SEX_CHOICES)[value or SEXES[-1]]
    note = "" if value else NOT_CONFIRMED
    return FactRow(
        SEX, "Sex", "Is it a boy or a girl?", shown, value or "", "", InputKind.CHOICE, _SEX_CHOICES, note, _sign(note)
    )


def _make_row(name: str, label: str, ask: str, value: str, typed: str, unit: str, entry: InputKind) -> FactRow:
    note = "" if value else "needed for the list"
    return FactRow(name, label, ask, value, typed, unit, entry, (), note, Sign.DONE if value else Sign.QUESTION)


def _show_kit_fact(fact: Fact, state: Preparation, worked: WorkedList) -> FactRow:
    text = state.facts.get(fact.id)
    default = fact.default if isinstance(fact, AmountFact | ChoiceFact) else None
    note = "" if text else NOT_CONFIRMED if default is not None else "not recorded"
    if text:
        found = read_fact(worked.kit.model, fact.id, text, state.last.at)
        value = text if isinstance(found, Problem) else show_fact(found[1])
    else:
        value = "" if default is None else show_fact(default)
    typed = _show_typed(fact, text or (write_fact(default) if default is not None else ""))
    unit = fact.least.unit.text if isinstance(fact, AmountFact) else ""
    choices = tuple((option, option) for option in fact.options) if isinstance(fact, ChoiceFact) else ()
    return FactRow(fact.id, fact.label, fact.ask, value, typed, unit, _find_entry(fact), choices, note, _sign(note))


def _show_typed(fact: Fact, text: str) -> str:
    """An amount as a person types it: without the unit that the pad shows."""
    return text.partition(" ")[0] if isinstance(fact, AmountFact) else text


def _find_entry(fact: Fact) -> InputKind:
    if isinstance(fact, AmountFact):
        return InputKind.NUMBER
    return InputKind.CHOICE if isinstance(fact, ChoiceFact) else InputKind.MOMENT


def _sign(note: str) -> Sign:
    return {"": Sign.DONE, NOT_CONFIRMED: Sign.QUESTION}.get(note, Sign.TO_DO)
