"""Commands about the baby: give a fact, confirm an unlikely weight, answer a question, record a senior's agreement."""

from prepkit.preparation.baby.events import (
    ANSWERS,
    Answered,
    FactGiven,
    SeniorAgreed,
    WeightConfirmation,
    WeightConfirmed,
)
from prepkit.preparation.decision import Decision, add_listed, refuse_if_closed
from prepkit.preparation.lines.decide import decide_relist, does_list_differ
from prepkit.preparation.lines.events import Listed
from prepkit.preparation.state import WEIGHT, Preparation
from prepkit.preparation.text import Refusal, check_initials, check_text


def decide_fact(state: Preparation, fact: str, value: str, listed: Listed | None) -> Decision:
    """Give a fact, with the list that follows from it.

    A value that is recorded already gives no event; a default does, since a person gives it now. Where
    `listed` is None the list is withheld until the next `decide_relist`: the old one was made from other facts.
    """
    if (closed := refuse_if_closed(state)) is not None:
        return closed
    text = check_text(value, fact)
    if isinstance(text, Refusal):
        return text
    if state.facts.get(fact) == text and not (fact == WEIGHT and state.disputed):
        return ()
    return (FactGiven(fact, text), *add_listed(listed))


def decide_weight(
    state: Preparation,
    weight: str,
    gestation: str,
    sex: str,
    *,
    again: str,
    second: str,
    who: str,
    needs_second: bool,
    second_verified: bool = False,
    listed: Listed | None,
) -> Decision:
    """Confirm an unlikely weight by entering it again; `again` is canonical text, as in the facts.

    `who` is the person at the desk, `second` the initials of another person or empty, `second_verified` whether that
    person signed in with a PIN. For a fact that nobody gave, pass what the kit assumes, or an empty text.
    """
    if (closed := refuse_if_closed(state) or _refuse_if_nobody(who)) is not None:
        return closed
    if (differing := refuse_if_differing(weight, again)) is not None:
        return differing
    other = _check_second(second, who, needed=needs_second)
    if isinstance(other, Refusal):
        return other
    confirmed = WeightConfirmed(weight, gestation, sex, other, second_verified=second_verified and bool(other))
    fact = state.find_other_fact(confirmed)
    if fact is not None:
        now = state.facts.get(fact, "not given")
        return Refusal(f"The {fact} changed while you looked: it is {now} now. Look at the weight again.")
    if _is_same(state.confirmation, confirmed, who):
        return decide_relist(state, listed) if listed is not None else ()
    return (confirmed, *(add_listed(listed) if does_list_differ(state, listed) else ()))


def refuse_if_differing(weight: str, again: str) -> Refusal | None:
    """Refuse a weight entered again that differs from the one to confirm, both in g."""
    if again.strip() == weight:
        return None
    return Refusal(f"The two entries differ: {weight} first, then {again.strip() or 'nothing'}. Read it again.")


def decide_answer(state: Preparation, criterion: str, answer: str) -> Decision:
    """Answer a question about suitability with yes, no or unsure; the same answer again gives no event."""
    if (closed := refuse_if_closed(state)) is not None:
        return closed
    known = next((each for each in ANSWERS if each == answer), None)
    if known is None:
        return Refusal(f"The answer has to be {', '.join(ANSWERS[:-1])} or {ANSWERS[-1]} (got {answer[:20]!a}).")
    given = state.answers.get(criterion)
    return () if given is not None and given.answer == known else (Answered(criterion, known),)


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
    was = (confirmation.weight, confirmation.gestation, confirmation.sex, confirmation.second)
    return was == (confirmed.weight, confirmed.gestation, confirmed.sex, confirmed.second)
