"""Draw-ups, each worked out once for a product, a dose per kg, a gram and what the course has left."""

from msgspec.structs import replace

from prepkit.rules.dose.candidates import Candidate, Miss, find_barred
from prepkit.rules.dose.draw_up import DrawUp
from prepkit.rules.dose.rule import draw_in_wards_way


class DrawUps:
    """What was drawn up for one line, whatever else of the baby differed."""

    def __init__(self) -> None:
        self._kept: dict[tuple[object, ...], DrawUp | list[Miss]] = {}

    def draw(self, candidate: Candidate) -> DrawUp | list[Miss]:
        """As `draw_in_wards_way`; what was drawn up before comes with the dose that is due now, and its working."""
        if find_barred(candidate):
            return draw_in_wards_way(candidate)
        due = candidate.due
        key = (candidate.product.id, due.per_kg, due.weight_g, due.course.left if due.course else None)
        found = self._kept.get(key)
        if found is None:
            found = self._kept[key] = draw_in_wards_way(candidate)
            return found
        if isinstance(found, DrawUp):
            return replace(found, due=due)
        return [replace(miss, due=due) for miss in found]
