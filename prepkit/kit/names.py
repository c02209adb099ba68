"""The names of the facts that every kit has, and the words that stand for no value of them.

Light on purpose: the first screen reads facts by their names, before any kit is loaded.
"""

from types import MappingProxyType

BIRTH_WEIGHT, WEIGHT_NOW, BIRTH_GESTATION, BORN, SEX = "birth_weight", "weight_now", "birth_gestation", "born", "sex"
CORE_LABELS = MappingProxyType(
    {
        BIRTH_WEIGHT: "Birth weight",
        BIRTH_GESTATION: "Gestation at birth",
        BORN: "Born",
        WEIGHT_NOW: "Weight now",
        SEX: "Sex",
    }
)
"""What is asked about every baby, in the order in which it is shown."""
NOT_KNOWN = "not known"
"""Of a weight or a gestation at birth: asked, and nobody can say."""
NOT_WEIGHED = "not weighed since"
"""Of the weight now: asked, and the weight at birth is the last there is."""


def name_fact(fact: str) -> str:
    """What a core fact is called within a sentence: "birth weight", "day of birth"."""
    return "day of birth" if fact == BORN else CORE_LABELS[fact].lower()
