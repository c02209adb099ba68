"""Commands on a preparation as a whole and on the baby's facts: each returns the events to append, or a refusal.

An empty tuple means that there is nothing to record. Nothing changes here: append the events, all or none, then
`evolve`. The commands on lines are offered here too.
"""

from prepkit.preparation.decision import Decision, refuse_if_closed
from prepkit.preparation.events import (
    ANSWERS,
    Answered,
    FactGiven,
    Listed,
    ReadAloud,
    SeniorAgreed,
    Started,
    StoodDown,
    Unanswered,
    WardReplaced,
    WeightConfirmed,
)
from prepkit.preparation.lines.decide import decide_order, decide_restore, decide_set_aside, decide_tick, decide_untick
from prepkit.preparation.lines.marks import WeightConfirmation
from prepkit.preparation.state import WEIGHT, Preparation
from prepkit.preparation.text import LEAST_IN_A_REASON, Refusal, check_cot, check_initials, check_text

__all__ = [
    "Decision",
    "Refusal",
    "decide_answer",
    "decide_fact",
    "decide_order",
    "decide_read_aloud",
    "decide_relist",
    "decide_restore",
    "decide_senior",
    "decide_set_aside",
    "decide_stand_down",
    "decide_start",
    "decide_tick",
    "decide_untick",
    "decide_ward",
    "decide_weight",
    "refuse_if_closed",
]


def decide_start(
    cot: str,
    kit: str,
    *,
    kit_edition: str,
    kit_name: str,
    kit_text: str,
    ward_text: str | None,
    ward_name: str | None,
    practice: bool,
    listed: Listed | None = None,
) -> Decision:
    """Start a preparation for a cot; `kit_text` and `ward_text` are the whole files."""
    label = check_cot(cot)
    if isinstance(label, Refusal):
        return label
    started = Started(
        cot=label,
        kit=kit,
        kit_edition=kit_edition,
        kit_name=kit_name,
        kit_text=kit_text,
        ward_text=ward_text,
        ward_name=ward_name,
        practice=practice,
    )
    return (started, *_add(listed))


def decide_fact(state: Preparation, fact: str, value: str, listed: Listed | None) -> Decision:
    """Give a fact, with the list as it is with that fact.

    A value that is already recorded gives nothing. One that was only assumed until now is recorded: a person has said
    it. With `listed` None the list is withheld until the next `decide_relist`: the old one was made from other facts.
    """
    if (closed := refuse_if_closed(state)) is not None:
        return closed
    text = check_text(value, fact)
    if isinstance(text, Refusal):
        return text
    if state.facts.get(fact) == text and not (fact == WEIGHT and state.disputed):
        return ()
    return (FactGiven(fact, text), *_add(listed))


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
    """Confirm an unlikely weight by entering it again; `again` is its canonical text as the facts have it.

    `second` is the other person's initials, or empty; `who` is the person at the desk, and
    `second_verified` says that the second one signed in with a PIN. A fact nobody gave is passed as
    the kit assumes it, or empty.
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
    return (confirmed, *(_add(listed) if _does_list_differ(state, listed) else ()))


def refuse_if_differing(weight: str, again: str) -> Refusal | None:
    """Find whether a weight entered again differs from the one to confirm, both in g; None where it does not."""
    if again.strip() == weight:
        return None
    return Refusal(f"The two entries differ: {weight} first, then {again.strip() or 'nothing'}. Read it again.")


def decide_answer(state: Preparation, criterion: str, answer: str) -> Decision:
    """Answer a question about suitability with yes, no or unsure; the same answer again gives nothing."""
    if (closed := refuse_if_closed(state)) is not None:
        return closed
    known = next((each for each in ANSWERS if each == answer), None)
    if known is None:
        return Refusal(f"The answer has to be {', '.join(ANSWERS[:-1])} or {ANSWERS[-1]} (got {answer[:20]!a}).")
    given = state.answers.get(criterion)
    return () if given is not None and given.answer == known else (Answered(criterion, known),)


def decide_senior(state: Preparation, senior: str, note: str, standing: str, who: str) -> Decision:
    """Record a senior's agreement to go on, for the verdict and reasons `standing` is the fingerprint of.

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
    agreed = SeniorAgreed(initials, text, standing)
    last = state.senior
    is_same = last is not None and (last.senior, last.note, last.standing) == (initials, text, standing)
    return () if is_same else (agreed,)


def decide_relist(state: Preparation, listed: Listed) -> Decision:
    """Take a newly worked out list in; gives nothing where neither a line nor the reason to withhold it differs.

    Nor while two weights stand against each other, of which no list can be made.
    """
    if (closed := refuse_if_closed(state)) is not None:
        return closed
    if state.disputed is not None and listed.lines:
        return ()
    return (listed,) if _does_list_differ(state, listed) else ()


def decide_ward(
    state: Preparation,
    *,
    kit_text: str,
    kit_edition: str,
    ward_text: str | None,
    ward_name: str | None,
    listed: Listed | None,
    unanswered: tuple[str, ...] = (),
) -> Decision:
    """Go on with other texts of the kit and the ward's file, with the list as it is with them.

    `unanswered` are the questions that are asked otherwise in them, by id: they are asked again.
    With `listed` None the list is withheld until the next `decide_relist`.
    """
    if (closed := refuse_if_closed(state)) is not None:
        return closed
    now = (state.kit_text, state.kit_edition, state.ward_text, state.ward_name)
    if now == (kit_text, kit_edition, ward_text, ward_name):
        return ()
    asked_again = (Unanswered(unanswered),) if unanswered else ()
    return (WardReplaced(kit_text, kit_edition, ward_text, ward_name), *asked_again, *_add(listed))


def decide_read_aloud(state: Preparation, missing: tuple[str, ...], standing: str, seen: str | None = None) -> Decision:
    """Record that the summary was read aloud and the team goes.

    `missing` is what `compute_missing` says now and `standing` the fingerprint of the ready list now; `seen` is the
    fingerprint of the one that was on the screen, None where that is the same by construction.
    """
    if (closed := refuse_if_closed(state)) is not None:
        return closed
    if missing:
        return Refusal(f"Not ready yet. {' · '.join(missing)}")
    if not state.is_complete:
        # Whoever computed `missing` left something out: the list itself has the last word.
        return Refusal(f"Not ready yet. {state.withheld or f'{state.left} lines are left.'}")
    if seen is not None and seen != standing:
        return Refusal("The list changed while you were reading: read the new summary aloud.")
    return () if state.is_read_aloud(standing) else (ReadAloud(standing),)


def decide_stand_down(state: Preparation, reason: str) -> Decision:
    """End the preparation without going to the cot; nothing is deleted and nothing can follow."""
    if (closed := refuse_if_closed(state)) is not None:
        return closed
    text = check_text(reason, "reason", least=LEAST_IN_A_REASON)
    return text if isinstance(text, Refusal) else (StoodDown(text),)


def _add(listed: Listed | None) -> tuple[Listed, ...]:
    return () if listed is None else (listed,)


def _does_list_differ(state: Preparation, listed: Listed | None) -> bool:
    return listed is not None and (listed.lines, listed.withheld) != (state.lines, state.withheld)


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
