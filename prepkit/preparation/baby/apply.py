"""How the events about the baby change the state."""

from msgspec.structs import replace

from prepkit.attribution import Attribution
from prepkit.preparation.baby.events import (
    Answered,
    AnswerTakenBack,
    FactGiven,
    GivenAnswer,
    SaidDone,
    SameBabyAnswered,
    SeniorAgreed,
    SeniorAgreement,
    Unanswered,
    WeightConfirmation,
    WeightConfirmed,
)
from prepkit.preparation.state import READ_BY_CHECKER, Preparation, apply, drop_list, without


@apply.register
def _give_fact(payload: FactGiven, state: Preparation, _stamp: Attribution) -> Preparation:
    if state.facts.get(payload.fact) == payload.value and not state.is_disputed(payload.fact):
        return state
    if state.is_disputed(payload.fact):
        state = replace(state, disputed=None)  # it was looked at again: a checker's other reading is answered
    if payload.fact in READ_BY_CHECKER:
        state = replace(state, check=None)  # a check under way is of another baby
    facts = {**state.facts, payload.fact: payload.value}
    confirmations = {
        fact: each
        for fact, each in state.confirmations.items()
        if each.facts.get(payload.fact, payload.value) == payload.value
    }
    return drop_list(replace(state, facts=facts, confirmations=confirmations))


@apply.register
def _confirm_weight(payload: WeightConfirmed, state: Preparation, stamp: Attribution) -> Preparation:
    if state.find_other_fact(payload) is not None:
        return state
    confirmation = WeightConfirmation(payload.facts, payload.second, stamp)
    # The list was withheld for want of it, or carries what asked for it.
    return replace(state, confirmations={**without(state.confirmations, payload.fact), payload.fact: confirmation})


@apply.register
def _answer(payload: Answered, state: Preparation, stamp: Attribution) -> Preparation:
    return replace(state, answers={**state.answers, payload.criterion: GivenAnswer(payload.answer, stamp)})


@apply.register
def _unanswer(payload: Unanswered, state: Preparation, _stamp: Attribution) -> Preparation:
    answers = {name: each for name, each in state.answers.items() if name not in payload.criteria}
    return replace(
        state, answers=answers, said={n: each for n, each in state.said.items() if n not in payload.criteria}
    )


@apply.register
def _take_answer_back(payload: AnswerTakenBack, state: Preparation, _stamp: Attribution) -> Preparation:
    return replace(state, answers=without(state.answers, payload.criterion))


@apply.register
def _say_done(payload: SaidDone, state: Preparation, stamp: Attribution) -> Preparation:
    others = without(state.said, payload.criterion)
    return replace(state, said={**others, payload.criterion: stamp} if payload.is_done else others)


@apply.register
def _agree_senior(payload: SeniorAgreed, state: Preparation, stamp: Attribution) -> Preparation:
    return replace(state, senior=SeniorAgreement(payload.senior, payload.note, payload.standing, stamp))


@apply.register
def _answer_same_baby(payload: SameBabyAnswered, state: Preparation, _stamp: Attribution) -> Preparation:
    return replace(state, doses_asked=state.doses_asked | payload.doses.keys())
