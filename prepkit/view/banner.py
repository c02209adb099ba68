"""The banner of a preparation's screens; needs the preparation's state alone, so that home can show it early."""

from typing import TYPE_CHECKING

from prepkit.preparation.state import Preparation
from prepkit.view.signs import Banner
from prepkit.wording.baby import say_given, say_given_gestation, say_weights

if TYPE_CHECKING:
    from prepkit.kit.baby import Baby


def show_banner(state: Preparation, baby: "Baby | None" = None) -> Banner:
    """Cot label, weights and gestation, kit; no weight while somebody checks.

    Args:
        state: the preparation.
        baby: as worked out now; without it, what was given stands there alone.

    """
    if state.check is not None:
        return show_covered_banner(state)
    size = baby.size if baby else None
    if size is None:
        return Banner(state.cot, say_given(state.facts), state.kit_name, state.practice)
    weights = say_weights(size.birth_weight_g, size.weight_now_g)
    today = "" if size.gestation_today == size.birth_gestation else f"today {size.gestation_today}"
    return Banner(state.cot, f"{weights} · {say_given_gestation(state.facts)}", state.kit_name, state.practice, today)


def show_covered_banner(state: Preparation) -> Banner:
    """The banner of a check: weights and birth are read off the cot and the notes, not off the screen."""
    baby = f"weights: on the cot · {say_given_gestation(state.facts)}"
    return Banner(state.cot, baby, state.kit_name, state.practice)
