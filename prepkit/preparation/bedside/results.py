"""What came of it, in words for the screen and the papers: given per kg, share recovered, a repeat at the earliest."""

from prepkit.kit.lines import DoseLine
from prepkit.preparation.bedside.afterwards import find_doses_had, find_given_dose, find_volume
from prepkit.preparation.listing import WorkedList
from prepkit.preparation.state import Preparation
from prepkit.quantities.amount import Amount
from prepkit.rules.dose.recovered import ShareRecovered, compute_given_per_kg, compute_recovered, find_repeat
from prepkit.rules.findings import Finding
from prepkit.wording.say import say, say_all


def say_results(state: Preparation, worked: WorkedList) -> tuple[str, ...]:
    """What was given per kg, the share recovered and when a repeat could be given, a sentence each, with the sums."""
    reached, recovered = find_reached(state, worked), find_recovered(state, worked)
    return (
        *((f"{say(reached[1])}.",) if reached else ()),
        *(say_all(recovered.working) if recovered else ()),
        *say_all(list_repeat(state, worked)),
    )


def find_recovered(state: Preparation, worked: WorkedList) -> ShareRecovered | None:
    """Find how much of the dose was recovered; None while a volume is missing."""
    after = worked.laid.procedure.afterwards if worked.laid.procedure else None
    if after is None or after.recovered is None:
        return None
    given, recovered = find_volume(state, after.given), find_volume(state, after.recovered)
    if given is None or recovered is None or not given.value:
        return None
    return compute_recovered(given, recovered, worked.ward.model.afterwards if worked.ward else None)


def find_reached(state: Preparation, worked: WorkedList) -> tuple[Amount, Finding] | None:
    """Find what was given per kg, with its working; None while it is unknown."""
    after = worked.laid.procedure.afterwards if worked.laid.procedure else None
    if after is None or worked.tray is None:
        return None
    given = find_volume(state, after.given)
    line = next((line for line in worked.tray.lines if line.id == after.line), None)
    found = line.outcome if line else None
    if given is None or not given.value or found is None or found.recipe is None or found.weight is None:
        return None
    return compute_given_per_kg(given, found.recipe.strength, found.weight, due=found.due, in_syringe=found.in_syringe)


def list_repeat(state: Preparation, worked: WorkedList) -> tuple[Finding | str, ...]:
    """Find from when a repeat of what was given now could be given, or that none follows; nothing where none was."""
    after = worked.laid.procedure.afterwards if worked.laid.procedure else None
    line = next((each for each in worked.laid.line if after and each.id == after.line), None)
    had = find_doses_had(state, worked)
    is_given = find_given_dose(state, worked) is not None or (after is not None and _is_some(state, after.given))
    if not is_given or had is None or worked.ward is None or worked.baby is None or not isinstance(line, DoseLine):
        return ()
    return find_repeat(line, worked.laid, worked.ward.model, worked.baby, had[1])


def _is_some(state: Preparation, reading: str) -> bool:
    volume = find_volume(state, reading)
    return volume is not None and bool(volume.value)
