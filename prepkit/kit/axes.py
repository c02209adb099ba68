"""What a condition can go by: which weight, which gestation, the age.

A kit never says "weight" or "gestation" alone. Labels dose on the weight at birth, tubes and devices fit the weight of
today, and an earlier stay may have made the two differ.
"""

from enum import StrEnum


class Axis(StrEnum):
    """One weight, one gestation, or the age; the values are the keys of a kit's conditions."""

    BIRTH_WEIGHT = "birth_weight"
    WEIGHT_NOW = "weight_now"
    GREATER_WEIGHT = "greater_weight"
    """The greater of the two weights."""
    BIRTH_GESTATION = "birth_gestation"
    GESTATION_TODAY = "gestation_today"
    AGE = "age"


WEIGHTS = (Axis.BIRTH_WEIGHT, Axis.WEIGHT_NOW, Axis.GREATER_WEIGHT)
GESTATIONS = (Axis.BIRTH_GESTATION, Axis.GESTATION_TODAY)
OF_TODAY = frozenset({Axis.WEIGHT_NOW, Axis.GREATER_WEIGHT, Axis.GESTATION_TODAY, Axis.AGE})
"""What hangs on when the baby was born: it stands only as long as the day of birth does."""

WORDS = {
    Axis.BIRTH_WEIGHT: "birth weight",
    Axis.WEIGHT_NOW: "weight now",
    Axis.GREATER_WEIGHT: "the greater of birth weight and weight now",
    Axis.BIRTH_GESTATION: "gestation at birth",
    Axis.GESTATION_TODAY: "gestation today",
    Axis.AGE: "age",
}
"""As they are said: before a span, or alone."""

OF_DOSE = {"birth": Axis.BIRTH_WEIGHT, "now": Axis.WEIGHT_NOW, "greater": Axis.GREATER_WEIGHT}
"""The weight that an amount per kg is multiplied by, by the word that a line gives for it."""
