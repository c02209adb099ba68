"""Commands of a second check: enter blind, settle a difference.

`who` is the person acting, signed in on the spot for a check: not always the one signed in at the workstation.
"""

from collections.abc import Collection

from prepkit.preparation.check.events import (
    CheckBegun,
    CheckEnded,
    CheckEntered,
    CheckLeft,
    CheckRead,
    DifferenceSettled,
    FactRead,
)
from prepkit.preparation.decision import Decision, refuse_if_closed
from prepkit.preparation.lines.events import Listed
from prepkit.preparation.state import Preparation, agrees_with
from prepkit.preparation.text import LEAST_IN_A_REASON, Refusal, check_text, say_stamp

_NO_CHECK = "No check is under way: begin one first."


def decide_check_begin(state: Preparation, who: str, wanted: Collection[str]) -> Decision:
    """Begin a check, or go on with one's own; `wanted` are the ids of the lines that are to be checked."""
    if (closed := refuse_if_closed(state)) is not None:
        return closed
    if state.check is not None:
        same = state.check.stamp.who == who
        return () if same else Refusal(f"{say_stamp(state.check.stamp)} began to check: one person checks at a time.")
    if state.withheld or not wanted:
        return Refusal(f"There is nothing to check. {state.withheld}".strip())
    if asked := [line for line in state.lines if line.id in wanted and line.asks]:
        return Refusal(f"Was the baby born today? {asked[0].name} hangs on it: say so on the list first.")
    reason = _find_not_blind(state, who)
    return Refusal(f"{who} {reason}: somebody else has to check it.") if reason else (CheckBegun(),)


def _find_not_blind(state: Preparation, who: str) -> str:
    """Say why somebody cannot check this list independently; empty where they can."""
    if who in state.preparers:
        return "prepared this list"
    if who in state.left_by:
        return "stopped a check half way and has seen the list since"
    return ""


def decide_check_read(state: Preparation, who: str, fact: str, value: str, listed: Listed | None) -> Decision:
    """Take what the checker read of a fact, as canonical text; `listed` is the list withheld where it differs."""
    if (refusal := _refuse_unless_checking(state, who)) is not None:
        return refusal
    if state.check is None or fact not in list_left_to_read(state):
        return Refusal("This was read already, or is not to be read any more: go on with the next.")
    agrees = agrees_with(FactRead(fact, value, state.check.stamp), state.facts[fact])
    return (CheckRead(fact, value, agrees), *(() if agrees or listed is None else (listed,)))


def list_left_to_read(state: Preparation) -> tuple[str, ...]:
    """The facts that the check under way still has to read, in order; nothing of a list is entered before them.

    Each check reads all of them anew, whoever read them before: it is another look at the cot.
    """
    if state.check is None:
        return ()
    return tuple(fact for fact in state.facts_to_read if fact not in state.check.read)


def decide_check_entry(state: Preparation, who: str, entry: CheckEntered, wanted: Collection[str]) -> Decision:
    """Take what the checker entered for one line; with the last of `wanted` the check ends."""
    if (refusal := _refuse_unless_checking(state, who)) is not None:
        return refusal
    if state.check is None or list_left_to_read(state):
        return Refusal("The baby comes first: read the weights off the cot and the notes.")
    line = state.find_line(entry.line)
    if line is None or entry.line not in wanted:
        return Refusal("This line is not to be checked any more: go on with the next.")
    if line.fingerprint != entry.fingerprint:
        return Refusal(f"{line.name} changed while you worked it out: look at the order again.")
    left = [each for each in wanted if each != entry.line and each not in state.check.entries]
    return (entry,) if left else (entry, CheckEnded())


def decide_check_end(state: Preparation, who: str, wanted: Collection[str]) -> Decision:
    """End a check whose last open line is gone from the list: nothing is left to enter."""
    if (refusal := _refuse_unless_checking(state, who)) is not None:
        return refusal
    entries = state.check.entries if state.check else {}
    return () if any(each not in entries for each in wanted) else (CheckEnded(),)


def decide_check_leave(state: Preparation) -> Decision:
    """Stop a check before its end; anybody may, and what was entered does not count."""
    if (closed := refuse_if_closed(state)) is not None:
        return closed
    return Refusal(_NO_CHECK) if state.check is None else (CheckLeft(),)


def decide_settle(state: Preparation, line: str, reason: str) -> Decision:
    """Let a line stand although the check differed, with the reason."""
    if (closed := refuse_if_closed(state)) is not None:
        return closed
    check = state.find_check(line)
    if check is None:
        return Refusal("This line has no check that counts: check it again.")
    if check.holds:
        return Refusal(f"{check.name} is checked: there is nothing to settle.")
    text = check_text(reason, "reason", least=LEAST_IN_A_REASON)
    return text if isinstance(text, Refusal) else (DifferenceSettled(line, check.fingerprint, text),)


def _refuse_unless_checking(state: Preparation, who: str) -> Refusal | None:
    if (closed := refuse_if_closed(state)) is not None:
        return closed
    if state.check is None:
        return Refusal(_NO_CHECK)
    if state.check.stamp.who != who:
        return Refusal(f"{say_stamp(state.check.stamp)} began this check: only they can go on with it.")
    return None
