"""Which answers no longer count when a preparation goes on with other texts: those to what is asked otherwise.

Pure; it needs the kit, as `prepkit.preparation.worked` does, and the home screen needs neither. May import:
`prepkit.list` and below, and this layer.
"""

from collections.abc import Mapping

from prepkit.preparation.state import Preparation
from prepkit.preparation.worked import TextsUnreadableError, prepare_texts


def find_unanswered(before: Preparation, after: Preparation) -> tuple[str, ...]:
    """The ids of the questions that were answered as they stood before, and are asked otherwise or not at all after.

    An answer is kept by its question's id: of a question that was turned round, "no" would be the wrong way round.
    """
    if not before.answers:
        return ()
    asked, asks = _read_questions(before), _read_questions(after)
    return tuple(name for name in before.answers if name not in asked or asked[name] != asks.get(name))


def _read_questions(state: Preparation) -> Mapping[str, tuple[str, str]]:
    """The words of each question and the answer it wants, by id; none where the texts cannot be read."""
    try:
        laid = prepare_texts(state.kit_text, state.kit, state.ward_text, state.ward_name or "").layer.kit
    except TextsUnreadableError:
        return {}
    return {each.id: (each.text, each.wanted) for each in laid.criterion if each.wanted is not None}
