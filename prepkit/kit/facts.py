"""The facts that a kit asks for, each read from what was typed.

Each fact has one canonical text ("1450", "30+2", "2026-11-25", "6 cmH2O", "yes"), from which its value is read; the
text is what the record holds.
"""

import re
from datetime import date, datetime
from difflib import get_close_matches

from msgspec import Struct

from prepkit.kit.earlier import EarlierDoses, read_earlier
from prepkit.kit.kit import AmountFact, ChoiceFact, DosesFact, Fact, Kit
from prepkit.kit.moments import TODAY, read_day, read_moment
from prepkit.kit.names import BIRTH_GESTATION, BORN, CORE_LABELS, NOT_KNOWN, NOT_WEIGHED, WEIGHT_NOW
from prepkit.kit.person import PersonFact
from prepkit.kit.problems import Problem, quote
from prepkit.quantities.amount import Amount, make_amount
from prepkit.quantities.gestation import Gestation, UnreadableGestationError, read_gestation
from prepkit.quantities.text import (
    UnreadableAmountError,
    read_amount,
    read_number,
    show_amount,
    show_range,
    write_amount,
)

LEAST_WEIGHT_G = 300
MOST_WEIGHT_G = 6000
LEAST_GESTATION = read_gestation("22+0")
MOST_GESTATION = read_gestation("44+6")
SEXES = ("boy", "girl", "unknown")
ANSWERS = ("yes", "no", "unsure")
"""To a reason against the route: whether it applies."""
DONE = "done"
"""Of what was said or done."""
_MOST_SAID = 40
"""Letters that somebody may type with initials: a place has to fit on one row."""


class Birth(Struct, frozen=True):
    """When a baby was born: the day, and the moment where the time is known."""

    day: date
    at: datetime | None = None

    def __str__(self) -> str:
        return self.at.isoformat(timespec="minutes") if self.at else self.day.isoformat()

    def words(self) -> str:
        """In words: "25 Nov 2026", or with the time."""
        return f"{self.at:%d %b %Y %H:%M}" if self.at else f"{self.day:%d %b %Y}"


class Weighed(Struct, frozen=True):
    """A weight of a day after birth."""

    grams: int
    on: date

    def __str__(self) -> str:
        return f"{self.grams} on {self.on}"

    def words(self) -> str:
        """In words: "1310 g on 27 Nov"."""
        return f"{self.grams} g on {self.on:%d %b}"


FactValue = Amount | Gestation | Birth | Weighed | EarlierDoses | str | datetime


def read_fact(kit: Kit, name: str, typed: str, now: datetime) -> tuple[str, FactValue] | Problem:
    """The canonical text and the value of one fact, or a problem.

    A problem quotes what was typed and says what was expected.

    Args:
        kit: declares the facts beside those of `CORE_LABELS`.
        name: the fact's id.
        typed: what the person typed; a bare number takes the fact's unit.
        now: in the zone of who typed; a clock time without a date is today's, one without an offset is that zone's.
    """
    match name:
        case "birth_weight":
            return _read_unless(NOT_KNOWN, typed) or _read_weight(CORE_LABELS[name], typed.strip())
        case "birth_gestation":
            return _read_unless(NOT_KNOWN, typed) or _read_gestation(typed.strip())
        case "born":
            return _read_birth(typed.strip().lower(), now)
        case "weight_now":
            return _read_unless(NOT_WEIGHED, typed) or _read_weighed(typed.strip(), now)
        case "sex":
            return _read_choice("Sex", SEXES, typed)
    fact = next((fact for fact in kit.fact if fact.id == name), None)
    return _refuse_name(kit, name) if fact is None else _read_own(fact, kit, typed, now)


def find_default(fact: Fact) -> FactValue | None:
    """What stands for a fact that nobody gave; None where the kit states nothing."""
    if isinstance(fact, DosesFact):
        return EarlierDoses()
    return fact.default if isinstance(fact, AmountFact | ChoiceFact) else None


def write_fact(value: FactValue) -> str:
    """The canonical text of a fact's value."""
    if isinstance(value, Amount):
        return write_amount(value)
    return value.isoformat(timespec="minutes") if isinstance(value, datetime) else str(value)


def show_fact(value: FactValue) -> str:
    """A fact's value for a reader."""
    if isinstance(value, Amount):
        return show_amount(value)
    if isinstance(value, Birth | Weighed | EarlierDoses):
        return value.words()
    return value.strftime("%d %b %Y %H:%M") if isinstance(value, datetime) else str(value)


def _read_own(fact: Fact, kit: Kit, typed: str, now: datetime) -> tuple[str, FactValue] | Problem:
    """One of the kit's own facts."""
    if isinstance(fact, AmountFact):
        return _read_amount_fact(fact, typed.strip())
    if isinstance(fact, ChoiceFact):
        return _read_choice(fact.label, fact.options, typed)
    if isinstance(fact, DosesFact):
        doses = read_earlier(fact.label, typed, {product.id: product.name for product in kit.product}, now)
        return doses if isinstance(doses, Problem) else (str(doses), doses)
    if isinstance(fact, PersonFact):
        return _read_person(fact, typed)
    moment = read_moment(fact.label, typed.strip(), now)
    return moment if isinstance(moment, Problem) else (write_fact(moment), moment)


def _read_unless(word: str, typed: str) -> tuple[str, str] | None:
    """The word that stands for no value, where it is what was typed."""
    return (word, word) if typed.strip().lower() == word else None


def _read_weight(label: str, typed: str) -> tuple[str, Amount] | Problem:
    if not re.fullmatch(r"[0-9]+", typed):
        return Problem("", 0, label, f"{quote(typed)} is not whole grams", 'digits only: a baby of 1.2 kg is "1200"')
    grams = int(typed) if len(typed) < 9 else MOST_WEIGHT_G + 1  # noqa: PLR2004  (longer is out of range whatever it says)
    if not LEAST_WEIGHT_G <= grams <= MOST_WEIGHT_G:
        wrong = f"{typed[:12]} g is outside {LEAST_WEIGHT_G}\N{EN DASH}{MOST_WEIGHT_G} g"
        return Problem("", 0, label, wrong, "read the weight again, in grams")
    return str(grams), make_amount(grams, "g")


def _read_gestation(typed: str) -> tuple[str, Gestation] | Problem:
    label = CORE_LABELS[BIRTH_GESTATION]
    try:
        age = read_gestation(typed)
    except UnreadableGestationError as error:
        return Problem("", 0, label, f"{quote(typed)} {error}")
    if not LEAST_GESTATION <= age <= MOST_GESTATION:
        return Problem("", 0, label, f"{age} is outside {LEAST_GESTATION} to {MOST_GESTATION}", "weeks+days")
    return str(age), age


def _read_weighed(typed: str, now: datetime) -> tuple[str, Weighed] | Problem:
    """A weight in whole grams, of today or of the day that stands after it: "1310", "1310 on 2026-11-27"."""
    label = CORE_LABELS[WEIGHT_NOW]
    written, _, day = typed.partition(" on ")
    found = _read_weight(label, written)
    if isinstance(found, Problem):
        return found
    on = read_day(label, day.lower() or TODAY, now)
    if isinstance(on, Problem):
        return on
    weighed = Weighed(int(found[0]), on)
    return str(weighed), weighed


def _read_birth(typed: str, now: datetime) -> tuple[str, Birth] | Problem:
    """A day, or a day and a time: "today", "2026-11-25", "2026-11-25 02:10"; a time alone is today's."""
    label = CORE_LABELS[BORN]
    if typed.isascii() and ":" in typed:
        found = read_moment(label, typed.upper(), now)
        if isinstance(found, Problem):
            return found
        birth = Birth(found.date(), found)
        return str(birth), birth
    day = read_day(label, typed, now)
    return day if isinstance(day, Problem) else (str(Birth(day)), Birth(day))


def _read_amount_fact(fact: AmountFact, typed: str) -> tuple[str, Amount] | Problem:
    unit = fact.least.unit
    try:
        amount = read_amount(typed, unit.dimension) if " " in typed else Amount(read_number(typed), unit)
    except UnreadableAmountError as error:
        return Problem(
            "",
            0,
            fact.label,
            f"{quote(typed)} {error.reason}",
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
        return Problem("", 0, label, f"{quote(typed)} is not one of {', '.join(options)}")
    return found, found


def _read_person(fact: PersonFact, typed: str) -> tuple[str, str] | Problem:
    """Who has a role, and what is said with it: "KM, skilled", "KM, supervised by AB", "KM, in theatre 2"."""
    who, _, rest = (" ".join(part.split()) for part in typed.partition(","))
    if not _are_initials(who):
        return Problem("", 0, fact.label, f"{quote(who)} is not 2 to 4 letters", f'such as "KM, {fact.options[0]}"')
    word, other = rest.casefold(), ""
    if fact.and_who is not None and word.startswith(fact.and_who.casefold()):
        other = rest[len(fact.and_who) :].strip()
        if not _are_initials(other):
            wrong = f"{quote(other)} is not 2 to 4 letters"
            return Problem("", 0, fact.label, wrong, f'whose initials come after "{fact.and_who}"?')
        if other.upper() == who.upper():
            return Problem("", 0, fact.label, f"{who.upper()} stands twice", f'"{fact.and_who}" is of two people')
        word, other = fact.and_who.casefold(), f" {other.upper()}"
    said = next((option for option in fact.options if option.casefold() == word), None)
    if said is None and fact.or_typed is not None and 0 < len(rest) <= _MOST_SAID and rest.isprintable():
        said = rest
    if said is None:
        return Problem("", 0, fact.label, f"{quote(rest)} is not one of {', '.join(fact.options)}")
    text = f"{who.upper()}, {said}{other}"
    return text, text


def _are_initials(typed: str) -> bool:
    """Whether these are a person's initials, as they are signed in with everywhere."""
    return typed.isalpha() and 2 <= len(typed.upper()) <= 4  # noqa: PLR2004 - the problem says them


def _refuse_name(kit: Kit, name: str) -> Problem:
    names = [*CORE_LABELS, *(fact.id for fact in kit.fact), *(row.id for row in kit.criterion if row.where is None)]
    close = get_close_matches(name, names, n=1)
    hint = f'did you mean "{close[0]}"?' if close else f"known: {', '.join(names)}"
    return Problem("", 0, quote(name), "is not a fact or a question of this kit", hint)
