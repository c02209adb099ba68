"""How the events of a second check change the state, and what a new list does to checks.

An entry for something that is not on the list as it stood is ignored.
"""

from datetime import datetime

from msgspec.structs import replace

from prepkit.attribution import Attribution
from prepkit.preparation.check.events import (
    Check,
    CheckBegun,
    CheckEnded,
    CheckEntered,
    CheckLeft,
    CheckRead,
    DifferenceSettled,
    FactRead,
    OpenCheck,
    Settlement,
)
from prepkit.preparation.lines.marks import is_kept, lose_mark
from prepkit.preparation.state import Preparation, agrees_with, apply, drop_list, without


def void_checks(state: Preparation, at: datetime) -> Preparation:
    """Take away the checks and the entries that were made for something else than the lines of this list."""
    gone = {line: each for line, each in state.checks.items() if not is_kept(each.fingerprint, state.find_line(line))}
    checks = {line: check for line, check in state.checks.items() if line not in gone}
    voided = {**state.voided, **{line: lose_mark(check, state.find_line(line), at) for line, check in gone.items()}}
    opened = state.check
    if opened is not None:
        entries = opened.entries.items()
        kept = {line: each for line, each in entries if is_kept(each.fingerprint, state.find_line(line))}
        opened = replace(opened, entries=kept)
    return replace(state, checks=checks, voided=voided, check=opened)


@apply.register
def _begin(_payload: CheckBegun, state: Preparation, stamp: Attribution) -> Preparation:
    return replace(state, check=OpenCheck(stamp))


@apply.register
def _read(payload: CheckRead, state: Preparation, stamp: Attribution) -> Preparation:
    read = FactRead(payload.fact, payload.value, stamp)
    if not agrees_with(read, state.facts.get(payload.fact, "")):
        facts_read = without(state.facts_read, payload.fact)
        return drop_list(replace(state, check=None, disputed=read, facts_read=facts_read))
    opened = state.check and replace(state.check, read=state.check.read | {payload.fact})
    return replace(state, check=opened, facts_read={**state.facts_read, payload.fact: read})


@apply.register
def _enter(payload: CheckEntered, state: Preparation, stamp: Attribution) -> Preparation:
    line = state.find_line(payload.line)
    if state.check is None or line is None or line.fingerprint != payload.fingerprint:
        return state
    entry = Check(stamp, line.fingerprint, line.name, line.show, payload.value, payload.vials, payload.agrees)
    return replace(state, check=replace(state.check, entries={**state.check.entries, line.id: entry}))


@apply.register
def _end(_payload: CheckEnded, state: Preparation, _stamp: Attribution) -> Preparation:
    entries = state.check.entries if state.check else {}
    voided = {line: change for line, change in state.voided.items() if line not in entries}
    return replace(state, check=None, checks={**state.checks, **entries}, voided=voided)


@apply.register
def _leave(_payload: CheckLeft, state: Preparation, stamp: Attribution) -> Preparation:
    if state.check is None:
        return state
    # Who stops their own check sees the list again: they cannot check it blind any more.
    own = state.check.stamp.who == stamp.who
    left_by = state.left_by | {stamp.who} if own else state.left_by
    return replace(state, check=None, left_by=left_by)


@apply.register
def _settle(payload: DifferenceSettled, state: Preparation, stamp: Attribution) -> Preparation:
    check = state.checks.get(payload.line)
    if check is None or check.fingerprint != payload.fingerprint:
        return state
    settled = replace(check, settled=Settlement(payload.reason, stamp))
    return replace(state, checks={**without(state.checks, payload.line), payload.line: settled})
