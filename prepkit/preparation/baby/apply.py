"""How the events about the baby change the state."""

from msgspec.structs import replace

from prepkit.attribution import Attribution
from prepkit.preparation.baby.events import (
    Answered,
    FactGiven,
    GivenAnswer,
    SeniorAgreed,
    SeniorAgreement,
    Unanswered,
    WeightConfirmation,
    WeightConfirmed,
)
from prepkit.preparation.state import GESTATION, SEX, WEIGHT, Preparation, apply, drop_list


@apply.register
def _give_fact(payload: FactGiven, state: Preparation, _stamp: Attribution) -> Preparation:
    if state.facts.get(payload.fact) == payload.value and not (payload.fact == WEIGHT and state.disputed):
        return state
    if payload.fact == WEIGHT:
        # The weight was looked at again: a checker's other reading is answered, and a check under way is of another.
        state = replace(state, disputed=None, check=None)
    facts = {**state.facts, payload.fact: payload.value}
    return drop_list(replace(state, facts=facts, confirmation=_keep_confirmation(state.confirmation, payload)))


def _keep_confirmation(confirmation: WeightConfirmation | None, given: FactGiven) -> WeightConfirmation | None:
    if confirmation is None:
        return None
    confirmed = {WEIGHT: confirmation.weight, GESTATION: confirmation.gestation, SEX: confirmation.sex}
    return confirmation if confirmed.get(given.fact, given.value) == given.value else None


@apply.register
def _confirm_weight(payload: WeightConfirmed, state: Preparation, stamp: Attribution) -> Preparation:
    confirmation = WeightConfirmation(payload.weight, payload.gestation, payload.sex, payload.second, stamp)
    if state.find_other_fact(payload) is not None:
        return state
    return replace(state, confirmation=confirmation)


@apply.register
def _answer(payload: Answered, state: Preparation, stamp: Attribution) -> Preparation:
    return replace(state, answers={**state.answers, payload.criterion: GivenAnswer(payload.answer, stamp)})


@apply.register
def _unanswer(payload: Unanswered, state: Preparation, _stamp: Attribution) -> Preparation:
    return replace(state, answers={name: each for name, each in state.answers.items() if name not in payload.criteria})


@apply.register
def _agree_senior(payload: SeniorAgreed, state: Preparation, stamp: Attribution) -> Preparation:
    return replace(state, senior=SeniorAgreement(payload.senior, payload.note, payload.standing, stamp))
