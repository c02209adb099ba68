"""Which lines a second person has to check, and which of those checks are still missing.

Needs the worked list, so the home screen does not load it.
"""

from prepkit.list.lines import ListLine
from prepkit.preparation.lines.marks import LostMark
from prepkit.preparation.listing import WorkedList
from prepkit.preparation.readiness import About, Missing
from prepkit.preparation.state import Preparation
from prepkit.preparation.text import say_stamp


def list_checked_lines(state: Preparation, worked: WorkedList) -> tuple[ListLine, ...]:
    """The lines that a second person has to work out again: those that can be prepared and are needed.

    Of a range one mark is chosen with the tick: before that there is nothing to hold a second one against.
    """
    if worked.tray is None:
        return ()
    return tuple(
        line
        for line in worked.tray.lines
        if line.declared.check
        and not line.outcome.blocked
        and not state.is_set_aside(line.id)
        and not (line.outcome.enters and line.outcome.amount is None)
    )


def list_unchecked(state: Preparation, worked: WorkedList) -> tuple[ListLine, ...]:
    """The lines among them whose check does not count now: to be worked out (again) by a second person.

    A difference that is not settled is no unchecked line: it was checked, and waits for a decision.
    """
    return tuple(line for line in list_checked_lines(state, worked) if state.find_check(line.id) is None)


def find_check_wanted(state: Preparation, worked: WorkedList) -> tuple[str, ...]:
    """What a check would be begun for: the unchecked lines, or the weights alone where they are to be read again."""
    lines = tuple(line.id for line in list_unchecked(state, worked))
    return lines or (state.facts_unread if list_checked_lines(state, worked) else ())


def find_check_missing(state: Preparation, worked: WorkedList) -> tuple[Missing, ...]:
    """What the second check keeps shut, a sentence each; empty where it is complete."""
    lines = list_checked_lines(state, worked)
    if not lines:
        return ()
    if state.check is not None:
        words = f"{say_stamp(state.check.stamp)} began the second check: it has to end first."
        return (Missing(words, About.CHECK),)
    differing = [line for line in lines if state.find_check(line.id) and not state.is_checked(line.id)]
    unchecked = list_unchecked(state, worked)
    voided = [line for line in unchecked if line.id in state.voided]
    never = [line.name for line in unchecked if line.id not in state.voided]
    is_read = state.is_baby_checked or unchecked
    words = "A second person has to read the weights off the cot and the notes."
    weight = () if is_read else (Missing(words, About.CHECK),)
    return (
        *(_say_difference(state, line) for line in differing),
        *(_say_void(line, state.voided[line.id]) for line in voided),
        *((Missing(f"Second check: {'; '.join(never)}", About.CHECK),) if never else ()),
        *weight,
    )


def _say_difference(state: Preparation, line: ListLine) -> Missing:
    words = f"{line.name}: {state.checks[line.id].stamp.who}'s check differs: settle it, or correct the fact"
    return Missing(words, About.DIFFERENCE, line.id)


def _say_void(line: ListLine, change: LostMark) -> Missing:
    return Missing(f"{line.name}: changed since {change.was_by} checked it: check it again", About.CHECK, line.id)
