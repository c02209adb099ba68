"""Whether this route suits the baby: what is still missing for it, and which answers lapse when the texts are replaced.

Needs the worked list, so the home screen does not load it.
"""

from collections.abc import Mapping

from prepkit.canonical import compute_fingerprint
from prepkit.list.lines import TrayList
from prepkit.preparation.listing import TextsUnreadableError, WorkedList, prepare_texts
from prepkit.preparation.readiness import About, Missing
from prepkit.preparation.state import Preparation
from prepkit.rules.criteria import find_verdict
from prepkit.rules.plain import write_plain
from prepkit.wording.say import say


def compute_suitability_fingerprint(tray: TrayList) -> str:
    """Compute the fingerprint of the verdict and its reasons: what a senior agrees to; not what was said or done."""
    reasons = [
        [reason.criterion, reason.verdict, write_plain(reason.text)] for reason in tray.reasons if not reason.is_said
    ]
    return compute_fingerprint([tray.verdict, reasons])


def find_suitability_missing(state: Preparation, worked: WorkedList) -> tuple[Missing, ...]:
    """List what the criteria and the facts still ask for, one sentence each."""
    tray = worked.tray
    if tray is None:
        return ()
    refused = _say_reasons(tray, "not suitable", "Not suitable", About.NOT_SUITABLE)
    questions = _say_reasons(tray, "questions open", "To answer", About.QUESTION)
    senior = _say_reasons(tray, "ask a senior", "A senior has to agree", About.SENIOR)
    if state.is_senior_agreed(compute_suitability_fingerprint(tray)):
        senior = []
    labels = {fact.id: fact.label for fact in worked.kit.model.fact}
    assumed = [
        Missing(f"{labels[name]}: default, not confirmed", About.ASSUMED)
        for name in tray.baby.assumed
        if name in labels
    ]
    birth = Missing("Was the baby born today? Say so on the list.", About.BIRTH)
    asks_birth = any(tray.asks_birth(line) for line in tray.lines)
    given = [
        Missing(f"{labels[name]}: not recorded", About.FACT, fact=name)
        for name, value in tray.baby.facts.items()
        if value is None and name in labels
    ]
    return (*refused, *questions, *senior, *((birth,) if asks_birth else ()), *given, *assumed)


def _say_reasons(tray: TrayList, verdict: str, lead: str, about: About) -> list[Missing]:
    return [Missing(f"{lead}: {say(reason.text)}", about) for reason in tray.reasons if reason.verdict == verdict]


def is_senior_wanted(state: Preparation, tray: TrayList) -> bool:
    """Say whether the verdict waits for a senior's agreement."""
    return find_verdict(tray.reasons) == "ask a senior" and not state.is_senior_agreed(
        compute_suitability_fingerprint(tray)
    )


def find_unanswered(before: Preparation, after: Preparation) -> tuple[str, ...]:
    """List the ids of what the team said of criteria that the new texts word differently, or no longer have.

    An answer is stored under its criterion's id: if the reason was turned round, "no" would mean the opposite.
    """
    said = (*before.answers, *before.said)
    if not said:
        return ()
    was, now = _read_said(before), _read_said(after)
    return tuple(name for name in said if name not in was or was[name] != now.get(name))


def _read_said(state: Preparation) -> Mapping[str, tuple[str, bool]]:
    """Read the words of what the team says, and whether it is a reason, by id; none if the texts cannot be read."""
    try:
        laid = prepare_texts(state.kit_text, state.kit, state.ward_text, state.ward_name or "").layer.kit
    except TextsUnreadableError:
        return {}
    return {each.id: (each.text, each.is_against) for each in laid.criterion if each.where is None}
