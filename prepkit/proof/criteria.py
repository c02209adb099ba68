"""Where criteria cut into a domain, and which of them every baby meets or none does. May import: `prepkit.proof`."""

from collections.abc import Iterator
from typing import Any

from msgspec import Struct

from prepkit.kit.kit import Criterion, Kit
from prepkit.kit.spans import Span, Where
from prepkit.proof.classes import Run, find_cuts, join, split
from prepkit.proof.notes import Note, NoteKind, say_days, say_grams
from prepkit.proof.situations import list_values
from prepkit.proof.walk import Walk
from prepkit.quantities.amount import Amount, make_amount
from prepkit.quantities.gestation import Gestation


class _Condition(Struct, frozen=True):
    """One condition of a criterion over the whole domain."""

    can_meet: bool
    fails: str
    """For which babies it is not met, in words; empty where for none."""


def prove_criterion(criterion: Criterion, walk: Walk) -> Iterator[Note]:
    """Where a criterion that goes by facts cuts in; or that every baby of the domain meets it, or none."""
    if criterion.where is None:
        return
    conditions = list(_list_conditions(criterion.where, walk))
    out = [condition.fails for condition in conditions if condition.fails]
    if not all(condition.can_meet for condition in conditions):
        words = f"met by no baby of the domain: {criterion.otherwise} for every one"
        yield Note(criterion.id, NoteKind.UNUSED, words)
    elif out:
        yield Note(criterion.id, NoteKind.CRITERION, f"{criterion.otherwise}: {', or '.join(out)}")
    else:
        yield Note(criterion.id, NoteKind.UNUSED, "met by every baby of the domain: it can never fire")


def _list_conditions(where: Where, walk: Walk) -> Iterator[_Condition]:
    if where.weight is not None:
        met, out = _part(walk.grams, where.weight)
        yield _Condition(bool(met), ", ".join(say_grams(run) for run in out))
    if where.gestation is not None:
        met, out = _part(walk.days, where.gestation)
        yield _Condition(bool(met), ", ".join(say_days(run) for run in out))
    for name, test in where.facts.items():
        yield _look_at_fact(name, test, where, walk.kit)


def _look_at_fact(name: str, test: object, where: Where, kit: Kit) -> _Condition:
    fact = next(fact for fact in kit.fact if fact.id == name)
    label = name.replace("_", " ")
    values = list_values(fact, where)
    if isinstance(test, Span):
        met = [isinstance(value, Amount) and test.contains(value) for value in values]
        return _Condition(any(met), "" if all(met) else f"{label} not {test.words()}")
    out = [str(value) for value in values if value != test]
    return _Condition(test in values, f"{label} {' or '.join(out)}" if out else "")


def _part(domain: Run, span: Span[Any]) -> tuple[tuple[Run, ...], tuple[Run, ...]]:
    """The runs of a domain that lie in a span, and those that do not."""
    cuts = find_cuts([span])
    is_weight = isinstance(span.low if span.low is not None else span.high, Amount)
    met: list[Run] = []
    out: list[Run] = []
    for run in split(domain, cuts.grams | cuts.days):
        is_met = span.contains(make_amount(run.first, "g") if is_weight else Gestation(run.first))
        (met if is_met else out).append(run)
    return join(met), join(out)
