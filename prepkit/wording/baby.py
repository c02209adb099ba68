"""A baby in one line: both weights where they differ, and the gestation at birth.

Needs no kit, so that the first screen can say it of every preparation.
"""

from collections.abc import Mapping

from prepkit.kit.names import BIRTH_GESTATION, BIRTH_WEIGHT, NOT_KNOWN, NOT_WEIGHED, WEIGHT_NOW


def say_weights(birth_g: int | None, now_g: int | None) -> str:
    """Both weights, in g: "1450 g" where they are the same, else "birth 1450, now 1310 g"."""
    if birth_g is None:
        return f"birth not known, now {now_g} g"
    if now_g is None:
        return f"birth {birth_g}, now ? g"
    return f"{birth_g} g" if birth_g == now_g else f"birth {birth_g}, now {now_g} g"


def say_given(facts: Mapping[str, str]) -> str:
    """The weights and the gestation as they were given: "1450 g · 30+2", with a "?" for what is still to be given.

    Args:
        facts: canonical texts by fact id.

    """
    return f"{say_given_weights(facts)} · {say_given_gestation(facts)}"


def say_given_weights(facts: Mapping[str, str]) -> str:
    """The weights as they were given; "weight?" where none was."""
    birth = facts.get(BIRTH_WEIGHT)
    weighed = facts.get(WEIGHT_NOW, "").partition(" on ")
    now_g = int(weighed[0]) if weighed[1] else None
    if birth is None or (birth == NOT_KNOWN and now_g is None):
        return "weight?"
    birth_g = None if birth == NOT_KNOWN else int(birth)
    return say_weights(birth_g, birth_g if now_g is None else now_g)


def say_given_gestation(facts: Mapping[str, str]) -> str:
    """The gestation at birth as it was given; "gestation?" where it was not."""
    given = facts.get(BIRTH_GESTATION, "gestation?")
    return "gestation not known" if given == NOT_KNOWN else given


def say_fact_text(fact: str, text: str) -> str:
    """A core fact's canonical text as it is said: "1450 g", "1310 g on 2026-11-28", "not known"."""
    if fact not in {BIRTH_WEIGHT, WEIGHT_NOW} or text in {NOT_KNOWN, NOT_WEIGHED, ""}:
        return text or "nothing"
    grams, on, day = text.partition(" on ")
    return f"{grams} g{on}{day}"
