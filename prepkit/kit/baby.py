"""The baby at one moment: its two weights, its gestation at birth and today, its age, and the kit's own facts.

Today's gestation and the age are worked out, never asked. A birth without a time gives an age from a least to a most; a
condition holds only where every age between them fits.
"""

from collections.abc import Collection, Mapping
from datetime import UTC, date, datetime, time, timedelta, timezone
from types import MappingProxyType
from typing import ClassVar

from msgspec import Struct

from prepkit.kit.axes import Axis
from prepkit.kit.earlier import EarlierDoses
from prepkit.kit.facts import Birth, FactValue, Weighed, find_default, read_fact
from prepkit.kit.kit import Kit, MomentFact
from prepkit.kit.names import (
    BIRTH_GESTATION,
    BIRTH_WEIGHT,
    BORN,
    CORE_LABELS,
    NOT_KNOWN,
    NOT_WEIGHED,
    SEX,
    WEIGHT_NOW,
)
from prepkit.kit.problems import NotGiven, Problem
from prepkit.quantities.amount import Amount, make_amount
from prepkit.quantities.gestation import Gestation

ASKED_AFTER_H = 24
"""From this age, in hours, the weight now is asked for (ours, unsourced: by then a preterm baby is losing weight)."""

_MINUTES_IN_H = 60


class BabySize(Struct, frozen=True):
    """How heavy and how mature a baby was at birth and is now; weights in whole grams."""

    COUNTS: ClassVar[tuple[str, ...]] = ("birth_weight_g", "weight_now_g", "birth_gestation")
    """The gestation today follows from that at birth and the day: a midnight alone makes nothing another thing."""
    birth_weight_g: int | None
    """None where it is not known."""
    weight_now_g: int | None
    """That of birth where the baby was not weighed since; None where it has to be asked for first."""
    birth_gestation: Gestation | None
    """None where it is not known."""
    gestation_today: Gestation | None


class Age(Struct, frozen=True):
    """How old a baby is, in whole minutes: from the least that it may be to the most."""

    least_min: int
    most_min: int

    @property
    def most_h(self) -> int:
        """The most that it may be, in completed hours."""
        return self.most_min // _MINUTES_IN_H


class Baby(Struct, frozen=True):
    """One baby's facts at one moment, complete enough for a list."""

    size: BabySize
    born: Birth
    weighed: date | None
    """The day of the weight now; None where that is the weight at birth."""
    age: Age
    sex: str
    """One of `SEXES`."""
    facts: Mapping[str, FactValue | None]
    """The kit's own facts by id; None for a moment that nobody gave."""
    assumed: tuple[str, ...]
    """Ids of the facts that stand at a default because nobody gave them."""
    measures: Mapping[Axis, int | None]
    """What conditions go by: grams, days of gestation. Where the weight at birth is not known it is the weight now."""

    @property
    def is_birth_assumed(self) -> bool:
        """Whether nobody said yet when the baby was born: it stands as today."""
        return BORN in self.assumed

    @property
    def is_weight_wanted(self) -> bool:
        """Whether the weight now has to be given first."""
        return self.size.weight_now_g is None

    def get_weight(self, axis: Axis) -> int:
        """One of the weights, in g.

        Raises:
            ValueError: where it has to be asked for first.
        """
        grams = self.measures[axis]
        if grams is None:
            raise ValueError(f"the {axis} is not known yet")
        return grams

    def get_weight_amount(self, axis: Axis) -> Amount:
        """One of the weights as an amount in g. Raises as `get_weight` does."""
        return make_amount(self.get_weight(axis), "g")

    def find_used(self, axis: Axis) -> Axis:
        """The weight or gestation that stands for this one: the weight now for a weight at birth that is not known."""
        return Axis.WEIGHT_NOW if axis is Axis.BIRTH_WEIGHT and self.size.birth_weight_g is None else axis

    def find_missing(self, axes: Collection[Axis]) -> Axis | None:
        """The first of these that is not known, in the order of the measures; None where all are."""
        return next((axis for axis, value in self.measures.items() if value is None and axis in axes), None)


def make_baby(
    kit: Kit, given: Mapping[str, str], now: datetime, *, kept: bool = False, begun: date | None = None
) -> tuple[Baby | None, tuple[Problem, ...]]:
    """Make the baby from what was given (fact id to text), or every problem; the kit's defaults stand for the rest.

    Args:
        kit: declares the facts.
        given: what was typed, or what a record kept of it.
        now: as for `read_fact`; today's gestation and the age are those of this moment.
        kept: whether the texts were read before and come from a record: a moment or a day among them is not held
            against a clock that may have been set back, or against an age that it reached in the record.
        begun: the day on which the preparation began; a birth that nobody gave stands as that day, else as today.
    """
    moments = {BORN, WEIGHT_NOW, *(fact.id for fact in kit.fact if isinstance(fact, MomentFact))} if kept else set()
    read = {
        name: (name in moments and _read_kept(name, text)) or read_fact(kit, name, text, now)
        for name, text in given.items()
    }
    problems = [value for value in read.values() if isinstance(value, Problem)]
    texts = {name: "" if isinstance(value, Problem) else value[0] for name, value in read.items()}
    problems += [NotGiven("", 0, CORE_LABELS[name], "is needed for the list") for name in list_needed(texts)]
    if problems:
        return None, tuple(problems)
    values = {name: value[1] for name, value in read.items() if not isinstance(value, Problem)}
    birth = values.get(BORN) or Birth(begun or now.date())
    weighed = values.get(WEIGHT_NOW)
    if not isinstance(birth, Birth):
        raise TypeError("a birth is read as one")
    if isinstance(weighed, Weighed) and weighed.on < birth.day:
        wrong = f"{weighed.words()} is before the day of birth, {birth.words()}"
        return None, (Problem("", 0, CORE_LABELS[WEIGHT_NOW], wrong, "look at both days"),)
    doses = [each for value in values.values() if isinstance(value, EarlierDoses) for each in value.doses]
    if early := next((each for each in doses if each.at is not None and each.at.date() < birth.day), None):
        is_given = BORN in values
        wrong = f"{early.words()} is before {f'the day of birth, {birth.words()}' if is_given else birth.words()}"
        hint = "look at both days" if is_given else "say first when the baby was born"
        return None, (Problem("", 0, "Doses given before", wrong, hint),)
    age = compute_age(birth, now)
    facts = {fact.id: values.get(fact.id, find_default(fact)) for fact in kit.fact}
    core = (BORN, SEX)
    assumed = [name for name in (*core, *facts) if name not in values and (name in core or facts[name] is not None)]
    size = _make_size(values, birth, age, now)
    sex, on = str(values.get(SEX, "unknown")), weighed.on if isinstance(weighed, Weighed) else None
    measures = _measure(size)
    return Baby(size, birth, on, age, sex, MappingProxyType(facts), tuple(assumed), measures), ()


def list_needed(given: Mapping[str, str]) -> tuple[str, ...]:
    """The facts without which there is no list: a weight and the gestation at birth, or that they are not known."""
    needed = [name for name in (BIRTH_WEIGHT, BIRTH_GESTATION) if name not in given]
    if given.get(BIRTH_WEIGHT) == NOT_KNOWN and given.get(WEIGHT_NOW, NOT_WEIGHED) == NOT_WEIGHED:
        needed.insert(0, WEIGHT_NOW)
    return tuple(needed)


def make_newborn(
    grams: int,
    days: int,
    facts: Mapping[str, FactValue | None],
    age: Age | None = None,
    *,
    now_g: int | None = None,
    days_today: int | None = None,
) -> Baby:
    """A baby of one weight in g and one gestation in days, nothing assumed: at birth and now are the same.

    Args:
        grams: the weight at birth.
        days: the gestation at birth.
        facts: the kit's own facts by id.
        age: just born where it is not given.
        now_g: the weight now, where it is another one.
        days_today: the gestation today, where it is another one.
    """
    today = Gestation(days if days_today is None else days_today)
    size = BabySize(grams, grams if now_g is None else now_g, Gestation(days), today)
    weighed = None if now_g is None else date.min
    return Baby(size, Birth(date.min), weighed, age or Age(0, 0), "unknown", facts, (), _measure(size))


def compute_age(birth: Birth, now: datetime) -> Age:
    """How old a baby is at a moment, in whole minutes; a day alone is all of it on the clock of `now`."""
    if birth.at is not None:
        minutes = max(_count_minutes(birth.at, now), 0)
        return Age(minutes, minutes)
    # By the offset that the moment has itself: a record holds no more of its zone, and has to come out the same.
    here = timezone(now.utcoffset() or timedelta(0))
    begins = datetime.combine(birth.day, time(), here)
    ends = datetime.combine(birth.day + timedelta(days=1), time(), here)
    return Age(max(_count_minutes(ends, now), 0), max(_count_minutes(begins, now), 0))


def _count_minutes(since: datetime, now: datetime) -> int:
    return (now.astimezone(UTC) - since.astimezone(UTC)) // timedelta(minutes=1)


def _make_size(values: Mapping[str, FactValue], birth: Birth, age: Age, now: datetime) -> BabySize:
    at_birth, gestation, weighed = values[BIRTH_WEIGHT], values[BIRTH_GESTATION], values.get(WEIGHT_NOW)
    birth_g = int(at_birth.value) if isinstance(at_birth, Amount) else None
    now_g = birth_g
    if isinstance(weighed, Weighed):
        now_g = weighed.grams
    elif weighed is None and age.most_min > ASKED_AFTER_H * _MINUTES_IN_H:
        now_g = None
    if not isinstance(gestation, Gestation):
        return BabySize(birth_g, now_g, None, None)
    return BabySize(birth_g, now_g, gestation, Gestation(gestation.days + max((now.date() - birth.day).days, 0)))


def _measure(size: BabySize) -> Mapping[Axis, int | None]:
    birth = size.weight_now_g if size.birth_weight_g is None else size.birth_weight_g
    now = size.weight_now_g
    return {
        Axis.BIRTH_WEIGHT: birth,
        Axis.WEIGHT_NOW: now,
        Axis.GREATER_WEIGHT: max(birth, now) if birth is not None and now is not None else None,
        Axis.BIRTH_GESTATION: size.birth_gestation.days if size.birth_gestation else None,
        Axis.GESTATION_TODAY: size.gestation_today.days if size.gestation_today else None,
    }


def _read_kept(name: str, text: str) -> tuple[str, FactValue] | None:
    """A moment or a day as a record holds it; None for anything else."""
    try:
        if name == BORN:
            at = datetime.fromisoformat(text) if "T" in text else None
            return text, Birth(at.date() if at else date.fromisoformat(text), at)
        if name == WEIGHT_NOW:
            grams, on, day = text.partition(" on ")
            return (text, Weighed(int(grams), date.fromisoformat(day))) if on else None
        moment = datetime.fromisoformat(text)
    except ValueError:
        return None
    return (text, moment) if moment.tzinfo else None
