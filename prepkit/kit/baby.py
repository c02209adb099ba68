"""The baby: the facts a kit asks for, read from what was typed.

Each fact has one canonical text ("1450", "30+2", "6 cmH2O", "yes"), from which its value is read; the text is what the
record holds.
"""

import re
from collections.abc import Mapping
from datetime import UTC, datetime, timedelta, timezone
from difflib import get_close_matches
from types import MappingProxyType
from typing import ClassVar

from msgspec import Struct

from prepkit.kit.kit import AmountFact, ChoiceFact, Fact, Kit, MomentFact
from prepkit.kit.problems import NotGiven, Problem
from prepkit.quantities.amount import Amount, make_amount
from prepkit.quantities.gestation import Gestation, UnreadableGestationError, read_gestation
from prepkit.quantities.text import (
    UnreadableAmountError,
    read_amount,
    read_number,
    show_amount,
    show_range,
    show_safely,
    write_decimal,
)

LEAST_WEIGHT_G = 300
MOST_WEIGHT_G = 6000
LEAST_GESTATION = read_gestation("22+0")
MOST_GESTATION = read_gestation("44+6")
SEXES = ("boy", "girl", "unknown")
ANSWERS = ("yes", "no", "unsure")
CORE_LABELS = MappingProxyType({"weight": "Weight", "gestation": "Gestation", "sex": "Sex"})

_MOST_QUOTED = 40

_LONGEST_AGO = timedelta(days=60)
"""Nothing that a kit asks of a newborn is older than this; an older moment is a slip of the day or the year."""

FactValue = Amount | Gestation | str | datetime

_CLOCK_TIME = re.compile(r"[0-9]{2}:[0-9]{2}")
_DAY_AND_TIME = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}[ T][0-9]{2}:[0-9]{2}(?:[+-][0-9]{2}:[0-9]{2})?")


class Baby(Struct, frozen=True):
    """One baby's facts, complete enough for a list."""

    COUNTS: ClassVar[tuple[str, ...]] = ("weight_g", "gestation")
    """Of a finding that names the baby; one that judges other facts holds those."""
    weight_g: int
    gestation: Gestation
    sex: str
    """One of `SEXES`."""
    facts: Mapping[str, FactValue | None]
    """The kit's own facts by id; None for a moment that nobody gave."""
    assumed: tuple[str, ...]
    """Ids of the facts that stand at the kit's default because nobody gave them."""

    @property
    def weight(self) -> Amount:
        """The weight as an amount in g."""
        return make_amount(self.weight_g, "g")

    def words(self) -> str:
        """Weight and gestation in words: "1450 g · 30+2"."""
        return f"{self.weight_g} g · {self.gestation}"


def read_fact(kit: Kit, name: str, typed: str, now: datetime) -> tuple[str, FactValue] | Problem:
    """The canonical text and the value of one fact, or a problem.

    A problem quotes what was typed and says what was expected.

    Args:
        kit: declares the facts beside weight, gestation and sex.
        name: the fact's id.
        typed: what the person typed; a bare number takes the fact's unit.
        now: in the zone of who typed; a clock time without a date is today's, one without an offset is that zone's.
    """
    match name:
        case "weight":
            return _read_weight(typed.strip())
        case "gestation":
            return _read_age(typed.strip())
        case "sex":
            return _read_choice("Sex", SEXES, typed)
    fact = next((fact for fact in kit.fact if fact.id == name), None)
    return _refuse_name(kit, name) if fact is None else _read_own(fact, typed, now)


def make_baby(
    kit: Kit, given: Mapping[str, str], now: datetime, *, kept: bool = False
) -> tuple[Baby | None, tuple[Problem, ...]]:
    """Make the baby from what was given (fact id to text), or every problem; the kit's defaults stand for the rest.

    Args:
        kit: declares the facts.
        given: what was typed, or what a record kept of it.
        now: as for `read_fact`.
        kept: whether the texts were read before and come from a record: a moment among them is not held against a
            clock that may have been set back, or against an age that it reached in the record.
    """
    moments = {fact.id for fact in kit.fact if isinstance(fact, MomentFact)} if kept else set()
    read = {
        name: (name in moments and _read_kept(text)) or read_fact(kit, name, text, now) for name, text in given.items()
    }
    problems = [value for value in read.values() if isinstance(value, Problem)]
    missing = [name for name in ("weight", "gestation") if name not in given]
    problems += [NotGiven("", 0, CORE_LABELS[name], "is needed for the list") for name in missing]
    if problems:
        return None, tuple(problems)
    values = {name: value[1] for name, value in read.items() if not isinstance(value, Problem)}
    weight, gestation = values["weight"], values["gestation"]
    if not isinstance(weight, Amount) or not isinstance(gestation, Gestation):
        raise TypeError("a weight is an amount and a gestation a gestation")
    facts = {fact.id: values.get(fact.id, find_default(fact)) for fact in kit.fact}
    assumed = [name for name in ("sex", *facts) if name not in values and (name == "sex" or facts[name] is not None)]
    sex = str(values.get("sex", "unknown"))
    return Baby(int(weight.value), gestation, sex, MappingProxyType(facts), tuple(assumed)), ()


def _read_kept(text: str) -> tuple[str, datetime] | None:
    """A moment as a record holds it, with its offset; None for anything else."""
    try:
        moment = datetime.fromisoformat(text)
    except ValueError:
        return None
    return (text, moment) if moment.tzinfo else None


def find_default(fact: Fact) -> FactValue | None:
    """What stands for a fact that nobody gave; None where the kit states nothing."""
    return fact.default if isinstance(fact, AmountFact | ChoiceFact) else None


def write_fact(value: FactValue) -> str:
    """The canonical text of a fact's value."""
    if isinstance(value, Amount):
        return f"{write_decimal(value.value)} {value.unit.text}"
    return value.isoformat(timespec="minutes") if isinstance(value, datetime) else str(value)


def show_fact(value: FactValue) -> str:
    """A fact's value for a reader."""
    if isinstance(value, Amount):
        return show_amount(value)
    return value.strftime("%d %b %Y %H:%M") if isinstance(value, datetime) else str(value)


def _read_own(fact: Fact, typed: str, now: datetime) -> tuple[str, FactValue] | Problem:
    """One of the kit's own facts."""
    if isinstance(fact, AmountFact):
        return _read_amount_fact(fact, typed.strip())
    if isinstance(fact, ChoiceFact):
        return _read_choice(fact.label, fact.options, typed)
    return _read_moment(fact, typed.strip(), now)


def _read_weight(typed: str) -> tuple[str, Amount] | Problem:
    if not re.fullmatch(r"[0-9]+", typed):
        return Problem("", 0, "Weight", f"{_say(typed)} is not whole grams", 'digits only: a baby of 1.2 kg is "1200"')
    grams = int(typed) if len(typed) < 9 else MOST_WEIGHT_G + 1  # noqa: PLR2004  (longer is out of range whatever it says)
    if not LEAST_WEIGHT_G <= grams <= MOST_WEIGHT_G:
        wrong = f"{typed[:12]} g is outside {LEAST_WEIGHT_G}\N{EN DASH}{MOST_WEIGHT_G} g"
        return Problem("", 0, "Weight", wrong, "read the weight again, in grams")
    return str(grams), make_amount(grams, "g")


def _read_age(typed: str) -> tuple[str, Gestation] | Problem:
    try:
        age = read_gestation(typed)
    except UnreadableGestationError as error:
        return Problem("", 0, "Gestation", f"{_say(typed)} {error}")
    if not LEAST_GESTATION <= age <= MOST_GESTATION:
        return Problem("", 0, "Gestation", f"{age} is outside {LEAST_GESTATION} to {MOST_GESTATION}", "weeks+days")
    return str(age), age


def _read_amount_fact(fact: AmountFact, typed: str) -> tuple[str, Amount] | Problem:
    unit = fact.least.unit
    try:
        amount = read_amount(typed, unit.dimension) if " " in typed else Amount(read_number(typed), unit)
    except UnreadableAmountError as error:
        return Problem(
            "",
            0,
            fact.label,
            f"{_say(typed)} {error.reason}",
            f'a number in {unit.text}, such as "{show_amount(fact.least)}"',
        )
    if not fact.least <= amount <= fact.most:
        wrong = f"{show_amount(amount)} is outside {show_range(fact.least, fact.most)}"
        return Problem("", 0, fact.label, wrong)
    return write_fact(amount), amount


def _read_choice(label: str, options: tuple[str, ...], typed: str) -> tuple[str, str] | Problem:
    word = typed.strip().lower()
    found = next((option for option in options if option.lower() == word), None)
    if found is None:
        return Problem("", 0, label, f"{_say(typed)} is not one of {', '.join(options)}")
    return found, found


def _read_moment(fact: Fact, typed: str, now: datetime) -> tuple[str, datetime] | Problem:
    shape = 'a clock time ("02:10"), or a day and a time ("2026-11-25 02:10")'
    try:
        written = _make_moment(typed, now)
        moment = written if written.tzinfo else _place(fact, written, now)
    except (ValueError, OverflowError):
        return Problem("", 0, fact.label, f"{_say(typed)} is not a time", f"write {shape}")
    if isinstance(moment, Problem):
        return moment
    if moment > now.astimezone(UTC):
        # Never taken for yesterday's: a clock that is two minutes slow would turn "just now" into a day ago.
        wrong = f"{moment:%d %b %H:%M} has not been yet by this clock ({now:%H:%M})"
        return Problem("", 0, fact.label, wrong, "for another day, write the day and the time")
    if now.astimezone(UTC) - moment > _LONGEST_AGO:
        wrong = f"{moment:%d %b %Y %H:%M} is more than {_LONGEST_AGO.days} days ago"
        return Problem("", 0, fact.label, wrong, "look at the day and the year")
    return write_fact(moment), moment


def _make_moment(typed: str, now: datetime) -> datetime:
    """The moment as written: without a zone where no offset was written."""
    if _DAY_AND_TIME.fullmatch(typed):
        moment = datetime.fromisoformat(typed)
        if abs(moment.year - now.year) > 1:
            raise ValueError(typed)
        return moment
    if not _CLOCK_TIME.fullmatch(typed):
        raise ValueError(typed)
    clock = datetime.strptime(typed, "%H:%M")  # noqa: DTZ007  (a clock time of the day that `now` gives)
    return now.replace(hour=clock.hour, minute=clock.minute, second=0, microsecond=0, tzinfo=None, fold=0)


def _place(fact: Fact, wall: datetime, now: datetime) -> datetime | Problem:
    """The moment at which a clock on the wall showed this time; a problem where it did so twice, or never."""
    first, second = (_fix(wall.replace(tzinfo=now.tzinfo, fold=fold)) for fold in (0, 1))
    if first.utcoffset() == second.utcoffset():
        return first
    # Where the clocks go forward, the offset before the change gives the later moment.
    early, late = sorted((first, second))
    here = [_fix(moment.astimezone(now.tzinfo)) for moment in (early, late)]
    happened = "was twice, as the clocks went back" if first < second else "was never, as the clocks went forward"
    choices = " or ".join(f'"{moment:%Y-%m-%d %H:%M}{moment.isoformat()[-6:]}"' for moment in here)
    return Problem("", 0, fact.label, f"{wall:%d %b %H:%M} {happened}", f"write which was meant: {choices}")


def _fix(moment: datetime) -> datetime:
    """The same moment with its offset alone."""
    return moment.replace(tzinfo=timezone(moment.utcoffset() or timedelta(0)), fold=0)


def _say(typed: str) -> str:
    """What was typed, as it is quoted: never more than fits a screen, never what a terminal could obey."""
    cut = "..." if len(typed) > _MOST_QUOTED else ""
    return f'"{show_safely(typed[:_MOST_QUOTED])}{cut}"'


def _refuse_name(kit: Kit, name: str) -> Problem:
    names = [*CORE_LABELS, *(fact.id for fact in kit.fact), *(row.id for row in kit.criterion if row.wanted)]
    close = get_close_matches(name, names, n=1)
    hint = f'did you mean "{close[0]}"?' if close else f"known: {', '.join(names)}"
    return Problem("", 0, _say(name), "is not a fact or a question of this kit", hint)
