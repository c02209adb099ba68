"""Commands on a line (tick, un-tick, set aside, restore, order) and on the list.

`fingerprint_seen` is the fingerprint of the line as the person saw it: a tick for one value never counts for another.
"""

from msgspec.structs import replace

from prepkit.preparation.decision import Decision, refuse_if_closed
from prepkit.preparation.lines.events import (
    LineSnapshot,
    Listed,
    Ordered,
    Restored,
    SetAside,
    Ticked,
    Unticked,
    ValueEntered,
    are_lines_other,
)
from prepkit.preparation.state import Preparation
from prepkit.preparation.text import LEAST_IN_A_REASON, Refusal, check_initials, check_text, say_stamp

GIVE_FIRST = "give batch and expiry of what is in your hand first."
"""What the tick waits for where the ward wants batch and expiry."""
WANTED = {"setting": "not set on this ward", "air": "its air is not set on this ward", "mark": "one mark is chosen"}
"""Why something is entered with a tick, by what it is."""


def decide_tick(
    state: Preparation,
    line: str,
    fingerprint_seen: str,
    who: str = "",
    *,
    needs_in_hand: bool = False,
    entered: tuple[ValueEntered, Listed] | None = None,
) -> Decision:
    """Tick a line for what it is now.

    `who` ticks it and cannot be the person who checked it; `needs_in_hand` says that the ward wants batch and expiry
    first. `entered` is what was entered with the tick, where the line asks for it, and the list as it is with that; a
    line that was ticked for it before may be ticked again as it stands.
    """
    found = find_line(state, line)
    if isinstance(found, Refusal):
        return found
    if found.blocked:
        return Refusal(f"{found.name} is blocked: {found.blocked}")
    if found.asks:
        return Refusal(f"{found.name} hangs on it: was the baby born today? Say so first.")
    refusal = refuse_if_aside(state, found) or refuse_if_changed(state, found, fingerprint_seen, "tick it")
    wants = _find_wanted(state, found, needs_in_hand=needs_in_hand, is_entered=entered is not None)
    refusal = refusal or _refuse_if_ticked(state, found, who) or (Refusal(f"{found.name}: {wants}") if wants else None)
    if refusal is not None:
        return refusal
    if entered is None or (not found.enters and state.entered[line].value == entered[0].value):
        return (Ticked(line, found.fingerprint),)
    made = next(each for each in entered[1].lines if each.id == line)
    return (*entered, Ticked(line, made.fingerprint))


def _find_wanted(state: Preparation, line: LineSnapshot, *, needs_in_hand: bool, is_entered: bool) -> str:
    """What a tick of a line waits for: batch and expiry, a value that nobody set; empty where nothing."""
    if needs_in_hand and not state.find_in_hand(line.id):
        return GIVE_FIRST
    return f"{WANTED[line.enters]}, so that it is entered with the tick." if line.enters and not is_entered else ""


def _refuse_if_ticked(state: Preparation, line: LineSnapshot, who: str) -> Refusal | None:
    """Refuse a line that is ticked already, or that this person checked."""
    if state.is_ticked(line.id):
        return Refusal(f"{line.name} was ticked by {say_stamp(state.ticks[line.id].stamp)} already.")
    if state.is_checked(line.id) and state.checks[line.id].stamp.who == who:
        return Refusal(f"{who} checked {line.name}: somebody else ticks it.")
    return None


def decide_untick(state: Preparation, line: str) -> Decision:
    """Take back a tick; anybody may."""
    found = find_line(state, line)
    if isinstance(found, Refusal):
        return found
    if not state.is_ticked(line):
        return Refusal(f"{found.name} is not ticked: there is nothing to take back.")
    return (Unticked(line),)


def decide_set_aside(state: Preparation, line: str, fingerprint_seen: str, reason: str) -> Decision:
    """Set a line aside as not needed, with the reason: a blocked line can be, an essential one never."""
    found = find_line(state, line)
    if isinstance(found, Refusal):
        return found
    if found.essential:
        return Refusal(f"{found.name} is essential: it cannot be set aside.")
    refusal = refuse_if_aside(state, found) or refuse_if_changed(state, found, fingerprint_seen, "decide")
    if refusal is not None:
        return refusal
    if state.is_ticked(line):
        return Refusal(f"{found.name} was ticked by {say_stamp(state.ticks[line].stamp)}: un-tick it first.")
    text = check_text(reason, "reason", least=LEAST_IN_A_REASON)
    return text if isinstance(text, Refusal) else (SetAside(line, found.fingerprint, text),)


def decide_restore(state: Preparation, line: str) -> Decision:
    """Take "set aside" back; anybody may."""
    found = find_line(state, line)
    if isinstance(found, Refusal):
        return found
    if not state.is_set_aside(line):
        return Refusal(f"{found.name} is not set aside: there is nothing to restore.")
    return (Restored(line),)


def decide_order(state: Preparation, ordered: Ordered, *, is_offered: bool, listed: Listed | None) -> Decision:
    """Record what a prescriber chose for a dose line, with the list that follows from it.

    `is_offered` says whether it can be drawn up for this baby now. The same order by the same person gives no event.
    """
    found = find_line(state, ordered.line)
    if isinstance(found, Refusal):
        return found
    initials = check_initials(ordered.prescriber)
    if isinstance(initials, Refusal):
        return Refusal(f"Who prescribed it? {initials.reason}")
    if not is_offered:
        return Refusal(f"This cannot be ordered for {found.name} as things are now: look at the choices again.")
    made, given = replace(ordered, prescriber=initials), state.orders.get(ordered.line)
    if given is not None and given.what == made:
        return ()
    return (made, *((listed,) if listed is not None else ()))


def find_line(state: Preparation, line: str) -> LineSnapshot | Refusal:
    """Find a line of the list as it is now, or refuse."""
    if (closed := refuse_if_closed(state)) is not None:
        return closed
    if state.withheld:
        return Refusal(f"There is no list now. {state.withheld}")
    found = state.find_line(line)
    if found is not None:
        return found
    change = state.changes.get(line)
    if change is not None:
        return Refusal(f"{change.name} is not on the list any more.")
    return Refusal(f"The list has no line {line[:40]!a}: look at the list again.")


def refuse_if_aside(state: Preparation, line: LineSnapshot) -> Refusal | None:
    """Refuse a line that is set aside: it has to be restored first."""
    if not state.is_set_aside(line.id):
        return None
    aside = state.set_asides[line.id]
    return Refusal(f'{line.name} was set aside by {say_stamp(aside.stamp)} ("{aside.reason}"): restore it first.')


def refuse_if_changed(state: Preparation, line: LineSnapshot, seen: str, do: str) -> Refusal | None:
    """Refuse a line that is no longer what the person saw; if it shows the same, its details changed."""
    if seen == line.fingerprint:
        return None
    was = state.shows.get((line.id, seen), "")
    if was == line.show:
        return Refusal(f"{line.name} changed in its details while you looked. Look again, then {do}.")
    before = f"was {was}, " if was else ""
    return Refusal(
        f"{line.name} changed while you looked: {before}now {line.show or 'no amount'}. Look again, then {do}."
    )


def decide_relist(state: Preparation, listed: Listed) -> Decision:
    """Record a new list; no event if neither its lines nor the kind of reason to withhold it differ.

    No event either while two weights contradict each other: no list can be made from them.
    """
    if (closed := refuse_if_closed(state)) is not None:
        return closed
    if state.disputed is not None and listed.lines:
        return ()
    return (listed,) if does_list_differ(state, listed) else ()


def does_list_differ(state: Preparation, listed: Listed | None) -> bool:
    """Say whether a newly worked out list has other lines, or is withheld for another reason, than the state."""
    return listed is not None and (listed.why != state.why or are_lines_other(listed.lines, state.lines))
