"""What a record says about the baby: who it is, each fact with who gave it, which weights were entered again.

Also what checkers read of it.
"""

from collections.abc import Sequence

from prepkit.documents.record import RecordFact
from prepkit.documents.timeline import say_core_fact, say_when
from prepkit.kit.baby import Baby
from prepkit.kit.facts import FactValue, find_default, read_fact, show_fact
from prepkit.kit.kit import Kit
from prepkit.kit.names import BORN, CORE_LABELS, SEX
from prepkit.kit.problems import Problem
from prepkit.preparation.baby.events import FactGiven, WeightConfirmation
from prepkit.preparation.events import Event
from prepkit.preparation.listing import WorkedList
from prepkit.preparation.state import Preparation
from prepkit.wording.baby import say_given
from prepkit.wording.things import say_since_birth, say_size


def say_baby(baby: Baby | None, state: Preparation) -> str:
    """Both weights where they differ, the gestation at birth and today, the birth and the age."""
    if baby is None:
        return say_given(state.facts)
    return " · ".join(filter(None, (say_size(baby.size), say_since_birth(baby))))


def list_facts(events: Sequence[Event], state: Preparation, worked: WorkedList) -> tuple[RecordFact, ...]:
    """Every fact: given, standing at a default, or neither."""
    kit, baby = worked.laid, worked.baby
    given = {each.payload.fact: each.stamp for each in events if isinstance(each.payload, FactGiven)}
    labels = {**CORE_LABELS, **{fact.id: fact.label for fact in kit.fact}}
    rows = []
    for name, label in labels.items():
        stamp = given.get(name)
        said = say_when(stamp.who, stamp.at, state.started.at) if stamp else None
        assumed = "default, not confirmed" if baby and name in baby.assumed else "" if said else "not recorded"
        rows.append(RecordFact(name, label, _say_fact(name, state, kit, baby), said, assumed))
    return tuple(rows)


def _say_fact(name: str, state: Preparation, kit: Kit, baby: Baby | None) -> str:
    text = state.facts.get(name)
    if text is not None:
        found = read_fact(kit, name, text, state.last.at)
        return text if isinstance(found, Problem) else show_fact(found[1])
    default = _find_assumed(name, kit, baby)
    return "" if default is None else show_fact(default)


def _find_assumed(name: str, kit: Kit, baby: Baby | None) -> FactValue | None:
    if baby is not None and name in {BORN, SEX}:
        return baby.born if name == BORN else baby.sex
    return next((find_default(fact) for fact in kit.fact if fact.id == name), None)


def say_confirmed(state: Preparation) -> str:
    """The unlikely weights that were entered again, each with who entered it."""
    return "; ".join(_say_again(fact, found, state) for fact, found in state.confirmations.items())


def _say_again(fact: str, found: WeightConfirmation, state: Preparation) -> str:
    second = f" and {found.second}" if found.second else ""
    clock = say_when(found.stamp.who, found.stamp.at, state.started.at).clock
    said = say_core_fact(fact, found.facts[fact])
    return f"Unlikely {said} entered again by {found.stamp.who}{second} {clock}"


def say_facts_read(state: Preparation) -> str:
    """What checkers read of the baby, by who read it."""
    read = [state.facts_read[fact] for fact in state.facts_to_read]
    people = dict.fromkeys(each.stamp.who for each in read)
    said = {
        who: ", ".join(say_core_fact(each.fact, each.value) for each in read if each.stamp.who == who) for who in people
    }
    return "".join(f" {who} read {words} off the cot and the notes." for who, words in said.items())
