"""The banner of a preparation's screens; needs the preparation's state alone, so that home can show it early."""

from prepkit.preparation.state import GESTATION, WEIGHT, Preparation
from prepkit.view.signs import Banner


def show_banner(state: Preparation) -> Banner:
    """Cot label, weight and gestation, kit; no weight while somebody checks."""
    if state.check is not None:
        return show_covered_banner(state)
    return Banner(cot=state.cot, baby=show_baby_words(state), kit=state.kit_name, practice=state.practice)


def show_covered_banner(state: Preparation) -> Banner:
    """The banner of a check: the weight is read off the cot, not off the screen."""
    return Banner(state.cot, f"weight: on the cot · {state.facts.get(GESTATION, 'gestation?')}", state.kit_name,
                  state.practice)  # fmt: skip


def show_baby_words(state: Preparation) -> str:
    """Weight and gestation as given: "1450 g · 30+2"."""
    weight = f"{state.facts[WEIGHT]} g" if WEIGHT in state.facts else "weight?"
    return f"{weight} · {state.facts.get(GESTATION, 'gestation?')}"
