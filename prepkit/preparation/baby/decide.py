"""Commands about the baby: give a fact, confirm an unlikely weight, answer a question, record a senior's agreement."""

from collections.abc import Mapping, Sequence

from prepkit.kit.names import name_fact
from prepkit.preparation.baby.events import (
    ANSWERS,
    Answered,
    AnswerTakenBack,
    FactGiven,
    SaidDone,
    SameBabyAnswered,
    SeniorAgreed,
    WeightConfirmation,
    WeightConfirmed,
)
from prepkit.preparation.decision import Decision, add_listed, refuse_if_closed
from prepkit.preparation.lines.decide import decide_relist, does_list_differ
from prepkit.preparation.lines.events import Listed
from prepkit.preparation.state import Preparation
from prepkit.preparation.text import Refusal, check_initials, check_text

_MOST_IN_A_FACT = 1000
"""Room for as many doses given before as are taken."""


def decide_fact(state: Preparation, fact: str, value: str, listed: Listed | None) -> Decision:
    """Give a fact, with the list that follows from it.

    A value that is recorded already gives no event; a default does, since a person gives it now. Where
    `listed` is None the list is withheld until the next `decide_relist`: the old one was made from other facts.
    """
    if (closed := refuse_if_closed(state)) is not None:
        return closed
    text = check_text(value, fact, most=_MOST_IN_A_FACT)
    if isinstance(text, Refusal):
        return text
    if state.facts.get(fact) == text and not state.is_disputed(fact):
        return ()
    return (FactGiven(fact, text), *add_listed(listed))


def decide_same_baby(
    state: Preparation, doses: Mapping[str, str], *, is_same: bool, fact: str, value: str, listed: Listed | None
) -> Decision:
    """Say whether doses that others gave under this cot label were this baby's; those asked about meanwhile are not.

    `doses` are as of the event, `value` is the `fact` of the doses given before with it, and `listed` the list.
    """
    if (closed := refuse_if_closed(state)) is not None:
        return closed
    if doses.keys() <= state.doses_asked:
        return ()
    given = decide_fact(state, fact, value, listed)
    return given if isinstance(given, Refusal) else (SameBabyAnswered(dict(doses), is_same), *given)


def decide_weight(
    state: Preparation,
    fact: str,
    facts: Mapping[str, str],
    *,
    again: str,
    second: str,
    who: str,
    needs_second: bool,
    second_verified: bool = False,
    listed: Listed | None,
) -> Decision:
    """Confirm an unlikely weight by entering its grams `again`.

    `fact` is the weight, `facts` its canonical text and that of each fact that it was held against. `who` is the person
    at the desk, `second` the initials of another person or empty, `second_verified` whether that person signed in with
    a PIN. For a fact that nobody gave, `facts` has what stands for it.
    """
    if (closed := refuse_if_closed(state) or _refuse_if_nobody(who)) is not None:
        return closed
    if (differing := refuse_if_differing(facts[fact], again)) is not None:
        return differing
    other = _check_second(second, who, needed=needs_second)
    if isinstance(other, Refusal):
        return other
    confirmed = WeightConfirmed(fact, {**facts}, other, second_verified=second_verified and bool(other))
    changed = state.find_other_fact(confirmed)
    if changed is not None:
        now, label = state.facts.get(changed, "not given"), name_fact(changed)
        return Refusal(f"The {label} changed while you looked: it is {now} now. Look at the weight again.")
    if _is_same(state.confirmations.get(fact), confirmed, who):
        return decide_relist(state, listed) if listed is not None else ()
    return (confirmed, *(add_listed(listed) if does_list_differ(state, listed) else ()))


def refuse_if_differing(weight: str, again: str) -> Refusal | None:
    """Refuse grams entered again that differ from those of the weight to confirm, given by its canonical text."""
    grams = weight.partition(" ")[0]
    if again.strip() == grams:
        return None
    return Refusal(f"The two entries differ: {grams} first, then {again.strip() or 'nothing'}. Read it again.")


def decide_answer(state: Preparation, criterion: str, answer: str) -> Decision:
    """Say whether a reason against applies: yes, no or unsure; the same answer again gives no event."""
    if (closed := refuse_if_closed(state)) is not None:
        return closed
    known = next((each for each in ANSWERS if each == answer), None)
    if known is None:
        return Refusal(f"The answer has to be {', '.join(ANSWERS[:-1])} or {ANSWERS[-1]} (got {answer[:20]!a}).")
    given = state.answers.get(criterion)
    return () if given is not None and given.answer == known else (Answered(criterion, known),)


def decide_answer_back(state: Preparation, criterion: str) -> Decision:
    """Take back what was said of a reason against; nothing where nothing was."""
    if (closed := refuse_if_closed(state)) is not None:
        return closed
    return (AnswerTakenBack(criterion),) if criterion in state.answers else ()


def decide_none_of_others(state: Preparation, criteria: Sequence[str], seen: Preparation) -> Decision:
    """Say of each of these reasons that it does not apply, each by its name; what was answered meanwhile stands.

    `criteria` are those that `seen`, the state that was looked at, leaves open. With other texts meanwhile they may be
    other reasons by now.
    """
    if (closed := refuse_if_closed(state)) is not None:
        return closed
    if (state.kit_text, state.ward_text) != (seen.kit_text, seen.ward_text):
        return Refusal("The kit or the ward file changed while you looked: read the reasons again.")
    return tuple(Answered(each, "no") for each in criteria if each not in state.answers)


def decide_said(state: Preparation, criterion: str, *, is_done: bool) -> Decision:
    """Say that something was said or done, or take that back; nothing where it stands so already."""
    if (closed := refuse_if_closed(state)) is not None:
        return closed
    return (SaidDone(criterion, is_done),) if is_done != (criterion in state.said) else ()


def decide_senior(state: Preparation, senior: str, note: str, fingerprint: str, who: str) -> Decision:
    """Record a senior's agreement to go on, for the verdict and reasons with this `fingerprint`.

    The senior may be the person at the desk (`who`).
    """
    if (closed := refuse_if_closed(state) or _refuse_if_nobody(who)) is not None:
        return closed
    initials = check_initials(senior)
    if isinstance(initials, Refusal):
        return Refusal(f"Who agreed? {initials.reason}")
    text = check_text(note, "note")
    if isinstance(text, Refusal):
        return text
    agreed = SeniorAgreed(initials, text, fingerprint)
    last = state.senior
    is_same = last is not None and (last.senior, last.note, last.fingerprint) == (initials, text, fingerprint)
    return () if is_same else (agreed,)


def _refuse_if_nobody(who: str) -> Refusal | None:
    initials = check_initials(who)
    return (
        Refusal("Nobody has signed on at this desk: give your initials first.")
        if isinstance(initials, Refusal)
        else None
    )


def _check_second(second: str, who: str, *, needed: bool) -> str | Refusal:
    if not second.strip():
        return Refusal("Another person has to read and enter the weight: give their initials.") if needed else ""
    initials = check_initials(second)
    if isinstance(initials, Refusal):
        return Refusal(f"The second person: {initials.reason}")
    if initials.casefold() == who.strip().casefold():
        return Refusal(f"The second person has to be someone else: {initials} is at this desk.")
    return initials


def _is_same(confirmation: WeightConfirmation | None, confirmed: WeightConfirmed, who: str) -> bool:
    if confirmation is None or confirmation.stamp.who != who:
        return False
    return (confirmation.facts, confirmation.second) == (confirmed.facts, confirmed.second)
