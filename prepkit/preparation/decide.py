"""Commands on a preparation as a whole: start it, replace its texts, read it aloud, stand it down.

Each returns the events to append, or a refusal; an empty tuple means that there is nothing to record. Nothing changes
here: append the events, all or none, then `evolve`. Each subject has the commands of its own.
"""

from prepkit.preparation.baby.events import Unanswered
from prepkit.preparation.decision import Decision, add_listed, refuse_if_closed
from prepkit.preparation.events import ReadAloud, Started, StoodDown, WardReplaced
from prepkit.preparation.lines.events import Listed
from prepkit.preparation.state import Preparation
from prepkit.preparation.text import LEAST_IN_A_REASON, Refusal, check_cot, check_text


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
    return (started, *add_listed(listed))


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
    return (WardReplaced(kit_text, kit_edition, ward_text, ward_name), *asked_again, *add_listed(listed))


def decide_read_aloud(
    state: Preparation, missing: tuple[str, ...], fingerprint: str, seen: str | None = None
) -> Decision:
    """Record that the summary was read aloud and the team goes.

    `missing` is what `compute_missing` says now and `fingerprint` is that of the ready list now; `seen` is the
    fingerprint of the list on the screen, None where that is the same by construction.
    """
    if (closed := refuse_if_closed(state)) is not None:
        return closed
    if missing:
        return Refusal(f"Not ready yet. {' · '.join(missing)}")
    if not state.is_complete:
        # Whoever computed `missing` left something out: the list itself has the last word.
        return Refusal(f"Not ready yet. {state.withheld or f'{state.left} lines are left.'}")
    if seen is not None and seen != fingerprint:
        return Refusal("The list changed while you were reading: read the new summary aloud.")
    return () if state.is_read_aloud(fingerprint) else (ReadAloud(fingerprint),)


def decide_stand_down(state: Preparation, reason: str) -> Decision:
    """End the preparation without going to the cot; nothing is deleted and nothing can follow."""
    if (closed := refuse_if_closed(state)) is not None:
        return closed
    text = check_text(reason, "reason", least=LEAST_IN_A_REASON)
    return text if isinstance(text, Refusal) else (StoodDown(text),)
