"""Commands at the cot and afterwards: each returns the events to append, or a refusal."""

from collections.abc import Collection
from datetime import datetime, timedelta

from prepkit.preparation.baby.events import FactGiven
from prepkit.preparation.bedside.events import (
    AddendumWritten,
    CameBack,
    Closed,
    ComplicationsSaid,
    EntryNoted,
    FollowUpMissed,
    FollowUpSet,
    Happened,
    OutcomeGiven,
    ReadingGiven,
    Signed,
    StepDone,
    StepLeftOut,
    Struck,
    TimeCorrected,
)
from prepkit.preparation.bedside.record import AFTERWARDS, TimelineEntry
from prepkit.preparation.decision import Decision, refuse_if_over
from prepkit.preparation.lines.events import Listed
from prepkit.preparation.readiness import compute_ready_fingerprint
from prepkit.preparation.state import Preparation
from prepkit.preparation.text import LEAST_IN_A_REASON, Refusal, check_text, say_stamp

_EARLIEST = timedelta(hours=24)
_NOT_AWAY = "The team has not gone to the cot: read the summary aloud on the ready screen first."


def decide_step(state: Preparation, step: str, at: datetime, follow_ups: Collection[FollowUpSet] = ()) -> Decision:
    """Record a step as done at a moment; `follow_ups` are those due after it."""
    if (refusal := _refuse_unless_away(state)) is not None:
        return refusal
    entry = state.cot_record.find_step(step)
    if entry is not None:
        did = "left out" if entry.left_out else "done"
        return Refusal(f"This step is {did} already, by {say_stamp(entry.stamp)}: strike that out first.")
    return (StepDone(step, _write(at)), *follow_ups)


def decide_leave_out(state: Preparation, step: str, reason: str) -> Decision:
    """Leave a step out, with the reason."""
    if (refusal := _refuse_unless_away(state)) is not None:
        return refusal
    entry = state.cot_record.find_step(step)
    if entry is not None:
        return Refusal(f"This step was recorded by {say_stamp(entry.stamp)}: strike that out first.")
    text = check_text(reason, "reason", least=LEAST_IN_A_REASON)
    return text if isinstance(text, Refusal) else (StepLeftOut(step, text),)


def decide_happening(state: Preparation, happening: str, at: datetime, note: str = "") -> Decision:
    """Record something that is not in the plan; the note may be empty."""
    if (refusal := _refuse_unless_away(state)) is not None:
        return refusal
    text = check_text(note, "note") if note.strip() else ""
    return text if isinstance(text, Refusal) else (Happened(happening, _write(at), text),)


def decide_reading(state: Preparation, of: str, reading: str, value: str) -> Decision:
    """Record a reading; the same value again gives no event."""
    if (refusal := refuse_if_over(state) or _refuse_if_unknown(state, of)) is not None:
        return refusal
    given = state.cot_record.readings.get((of, reading))
    return () if given is not None and given.value == value else (ReadingGiven(of, reading, value),)


def decide_time(
    state: Preparation, number: str, at: datetime, now: datetime, follow_ups: Collection[FollowUpSet] = ()
) -> Decision:
    """Correct the time of an entry; the old one stays on the record."""
    entry = _find_entry(state, number)
    if isinstance(entry, Refusal):
        return entry
    if entry.left_out:
        return Refusal("This step was left out: it has no time.")
    if at > now:
        return Refusal(f"{at:%H:%M} has not come yet: enter when it was done.")
    if at < now - _EARLIEST:
        return Refusal("That is more than a day ago: enter when it was done.")
    return () if at == entry.at else (TimeCorrected(number, _write(at)), *follow_ups)


def decide_strike(state: Preparation, number: str, reason: str) -> Decision:
    """Strike out an entry made by mistake."""
    entry = _find_entry(state, number)
    if isinstance(entry, Refusal):
        return entry
    text = check_text(reason, "reason", least=LEAST_IN_A_REASON)
    return text if isinstance(text, Refusal) else (Struck(number, text),)


def decide_note(state: Preparation, number: str, note: str) -> Decision:
    """Add a note to an entry; what was noted before stays."""
    entry = _find_entry(state, number)
    if isinstance(entry, Refusal):
        return entry
    text = check_text(note, "note")
    return text if isinstance(text, Refusal) else (EntryNoted(number, text),)


def decide_miss(state: Preparation, follow_up: str, reason: str) -> Decision:
    """Say why a follow-up was not done."""
    if (over := refuse_if_over(state)) is not None:
        return over
    due = state.cot_record.dues.get(follow_up)
    if due is None:
        return Refusal("No such follow-up is due.")
    text = check_text(reason, "reason", least=LEAST_IN_A_REASON)
    return text if isinstance(text, Refusal) else (FollowUpMissed(follow_up, text),)


def decide_come_back(
    state: Preparation, reason: str, used: Collection[str] = (), then: Collection[FactGiven | Listed] = ()
) -> Decision:
    """Come back from the cot to prepare anew: ready has to be reached again.

    `used` are the lines of the medicines that were given there, `then` what a dose makes of the facts, and of the list.
    """
    if (refusal := refuse_if_over(state)) is not None:
        return refusal
    if not state.cot_record.is_away:
        return Refusal("The team is not at the cot.")
    text = check_text(reason, "reason", least=LEAST_IN_A_REASON)
    return text if isinstance(text, Refusal) else (CameBack(text, tuple(used)), *then)


def decide_outcome(state: Preparation, outcome: str, options: Collection[str], note: str = "") -> Decision:
    """Record how it went, in one of the kit's words; the note may be empty."""
    if (refusal := _refuse_unless_begun(state)) is not None:
        return refusal
    if outcome not in options:
        return Refusal(f"The outcome is one of: {'; '.join(options)}.")
    text = check_text(note, "note") if note.strip() else ""
    return text if isinstance(text, Refusal) else (OutcomeGiven(outcome, text),)


def decide_complications(state: Preparation, chosen: Collection[str], options: Collection[str]) -> Decision:
    """Record which complications there were; none at all is an answer too."""
    if (refusal := _refuse_unless_begun(state)) is not None:
        return refusal
    if other := next((each for each in chosen if each not in options), ""):
        return Refusal(f'"{other}" is not one of the complications of this kit.')
    # In the kit's order, each once.
    found = tuple(each for each in options if each in chosen)
    return () if state.cot_record.complications == found else (ComplicationsSaid(found),)


def decide_sign(
    state: Preparation, who: str, missing: tuple[str, ...], fingerprint: str, seen: str, *, needed: int
) -> Decision:
    """Sign the record as it was shown; the last of the `needed` signatures closes it.

    `missing` is what the record still needs; `fingerprint` and `seen` are its fingerprint now and as it was shown.
    """
    if (refusal := _refuse_unless_begun(state)) is not None:
        return refusal
    if missing:
        return Refusal(f"The record is not complete. {' · '.join(missing)}")
    if fingerprint != seen:
        return Refusal("The record changed while you read: look again, then sign.")
    if who in state.cot_record.signed:
        return Refusal(f"{who} has signed: another person signs next.")
    is_last = len(state.cot_record.signed) + 1 >= needed
    return (Signed(fingerprint), Closed()) if is_last else (Signed(fingerprint),)


def decide_addendum(state: Preparation, text: str) -> Decision:
    """Add something to a closed record."""
    if state.cot_record.closed is None:
        return Refusal("The record is open: enter it where it belongs.")
    found = check_text(text, "addendum", least=LEAST_IN_A_REASON, most=500)
    return found if isinstance(found, Refusal) else (AddendumWritten(found),)


def _write(at: datetime) -> str:
    return at.isoformat(timespec="seconds")


def _refuse_unless_away(state: Preparation) -> Refusal | None:
    """Refuse what is done at the cot until the list has been read aloud."""
    if (over := refuse_if_over(state)) is not None:
        return over
    if state.cot_record.is_away or state.is_read_aloud(compute_ready_fingerprint(state)):
        return None
    return Refusal(_NOT_AWAY)


def _refuse_unless_begun(state: Preparation) -> Refusal | None:
    if (over := refuse_if_over(state)) is not None:
        return over
    return None if state.cot_record.entries else Refusal(_NOT_AWAY)


def _refuse_if_unknown(state: Preparation, of: str) -> Refusal | None:
    if of in state.cot_record.dues or of == AFTERWARDS:
        return None
    entry = _find_entry(state, of)
    return entry if isinstance(entry, Refusal) else None


def _find_entry(state: Preparation, number: str) -> TimelineEntry | Refusal:
    if (over := refuse_if_over(state)) is not None:
        return over
    entry = state.cot_record.find_entry(number)
    if entry is None:
        return Refusal("There is no such entry: look at the timeline again.")
    return (
        Refusal(f"It was struck out ({entry.struck}): nothing more can be entered for it.") if entry.struck else entry
    )
