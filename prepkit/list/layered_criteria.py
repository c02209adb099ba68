"""Criteria that the ward file changed, held to what the kit allows. May import: `prepkit.rules` and below."""

from collections.abc import Mapping

from msgspec import Struct
from msgspec.structs import replace

from prepkit.kit.kit import Criterion
from prepkit.kit.layer import Layer
from prepkit.rules.approved import find_widening, is_review_soon, say_ground
from prepkit.rules.case import Case
from prepkit.rules.criteria import Criteria, Reason, prepare_criteria

_SEVERITY = {"met": 0, "advice": 1, "ask a senior": 2, "questions open": 3, "not suitable": 4}


class Judged(Struct, frozen=True):
    """How every criterion stands, and what has to be said of the approvals on which some do."""

    reasons: tuple[Reason, ...]
    notices: tuple[str, ...] = ()


class LayeredCriteria(Struct, frozen=True):
    """The criteria as the ward has them, and the kit's own beside them where the ward file replaced any."""

    laid: Criteria
    own: Criteria | None

    def judge(self, case: Case, answers: Mapping[str, str], *, weight_confirmed: bool = False) -> Judged:
        """Judge every criterion, each that the ward file replaced beside the kit's own.

        Args:
            case: baby and moment; `case.layer` holds what the ward file replaced.
            answers: criterion id to "yes", "no" or "unsure".
            weight_confirmed: whether an unlikely weight was entered again.

        """
        reasons = self.laid.check(case.baby, answers, weight_confirmed=weight_confirmed)
        layer = case.layer
        if layer is None or self.own is None:
            return Judged(reasons)
        own = {row.criterion: row for row in self.own.check(case.baby, answers, weight_confirmed=True)}
        judged = [
            _judge(reason, own[reason.criterion], case, layer) if reason.criterion in layer.criteria else (reason, "")
            for reason in reasons
        ]
        return Judged(tuple(reason for reason, _ in judged), tuple(notice for _, notice in judged if notice))


def prepare_layered_criteria(layer: Layer) -> LayeredCriteria:
    """Prepare the criteria of a kit with a ward file over it."""
    own = prepare_criteria(layer.own) if layer.criteria else None
    return LayeredCriteria(prepare_criteria(layer.kit), own)


def _judge(reason: Reason, kept: Reason, case: Case, layer: Layer) -> tuple[Reason, str]:
    """The ward's own where it is no milder than the kit's or is approved; else the kit's own, and why."""
    own = layer.criteria[reason.criterion]
    beside = f"the kit's: {own.text}, {kept.verdict}"
    if _SEVERITY[reason.verdict] >= _SEVERITY[kept.verdict]:
        return replace(reason, text=f"{reason.text} (the ward's own; {beside})"), ""
    today = case.now.date()
    approval = find_widening(case.ward, own.id, layer.kit.id, today)
    if isinstance(approval, str):
        words = f"the ward's own is wider, and {approval}: {_find_text(layer, own)}"
        return replace(kept, text=f"{kept.text} ({words})"), ""
    review = f"review by {approval.review_by:%d %b %Y}"
    ground = f"on ward approval {say_ground(approval)}, {review}"
    notice = f"The approval {approval.reference} of a criterion is due for {review}: {_find_text(layer, own)}."
    said = replace(reason, text=f"{reason.text} (the ward's own, {ground}; {beside})")
    return said, notice if is_review_soon(approval, today) else ""


def _find_text(layer: Layer, own: Criterion) -> str:
    return next(criterion.text for criterion in layer.kit.criterion if criterion.id == own.id)
