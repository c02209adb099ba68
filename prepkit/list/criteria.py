"""Criteria under a ward file, held to what the kit allows; and the other kits that a baby is not ruled out of."""

from collections.abc import Collection, Iterable, Mapping
from datetime import datetime

from msgspec import Struct
from msgspec.structs import replace

from prepkit.kit.baby import Baby
from prepkit.kit.facts import find_default
from prepkit.kit.kit import Criterion, Kit
from prepkit.kit.layer import Layer, lay_over
from prepkit.kit.read import ParsedFile
from prepkit.kit.ward import Ward
from prepkit.rules.approvals import find_widening, is_review_soon
from prepkit.rules.criteria import Criteria, Reason, find_verdict, prepare_criteria
from prepkit.rules.findings import Finding, Kind, finding
from prepkit.rules.rule import RuleContext

_SEVERITY = {"met": 0, "advice": 1, "ask a senior": 2, "questions open": 3, "not suitable": 4}


class Judged(Struct, frozen=True):
    """How every criterion stands, and what has to be said of the approvals on which some do."""

    reasons: tuple[Reason, ...]
    notices: tuple[Finding, ...] = ()


class LayeredCriteria(Struct, frozen=True):
    """The criteria as the ward has them, and the kit's own beside them where the ward file replaced any."""

    laid: Criteria
    own: Criteria | None

    def judge(self, context: RuleContext, answers: Mapping[str, str], confirmed: Collection[str] = ()) -> Judged:
        """Judge every criterion, each that the ward file replaced beside the kit's own.

        Args:
            context: baby and moment; `context.layer` holds what the ward file replaced.
            answers: criterion id to "yes", "no" or "unsure".
            confirmed: the weights that were entered again.

        """
        reasons = self.laid.check(context.baby, answers, confirmed)
        layer = context.layer
        if layer is None or self.own is None:
            return Judged(reasons)
        own = {row.criterion: row for row in self.own.check(context.baby, answers)}
        judged = [
            _judge(reason, own[reason.criterion], context, layer)
            if reason.criterion in layer.criteria
            else (reason, None)
            for reason in reasons
        ]
        return Judged(tuple(reason for reason, _ in judged), tuple(notice for _, notice in judged if notice))


def prepare_layered_criteria(layer: Layer, ward: Ward | None) -> LayeredCriteria:
    """Prepare the criteria of a kit with a ward file over it."""
    own = prepare_criteria(layer.own, ward) if layer.criteria else None
    return LayeredCriteria(prepare_criteria(layer.kit, ward), own)


def _judge(reason: Reason, kit_reason: Reason, context: RuleContext, layer: Layer) -> tuple[Reason, Finding | None]:
    """The ward's own where it is no milder than the kit's or is approved; else the kit's own, and why."""
    own = layer.criteria[reason.criterion]
    beside = {"text": reason.text, "own": own.text, "verdict": kit_reason.verdict}
    if _SEVERITY[reason.verdict] >= _SEVERITY[kit_reason.verdict]:
        return replace(reason, text=finding(Kind.WARDS_CRITERION, **beside)), None
    today = context.now.date()
    approval, wards = find_widening(context.ward, own.id, layer.kit.id, today), _find_text(layer, own)
    if isinstance(approval, Finding):
        kept = finding(Kind.KITS_CRITERION_KEPT, text=kit_reason.text, refusal=approval, wards=wards)
        return replace(kit_reason, text=kept), None
    said = replace(reason, text=finding(Kind.CRITERION_APPROVED, approved=approval, **beside))
    notice = finding(Kind.CRITERION_REVIEW, approved=approval, wards=wards)
    return said, notice if is_review_soon(approval, today) else None


def _find_text(layer: Layer, own: Criterion) -> str:
    return next(criterion.text for criterion in layer.kit.criterion if criterion.id == own.id)


def find_other_kits(
    kits: Iterable[ParsedFile[Kit]], own: str, baby: Baby, ward: ParsedFile[Ward] | None, now: datetime
) -> tuple[Kit, ...]:
    """The kits beside `own` that nothing known about the baby rules out; their own questions stay to be answered."""
    others = (written.model for written in kits if written.model.id != own)
    return tuple(kit for kit in others if not _is_ruled_out(kit, baby, ward.model if ward else None, now))


def _is_ruled_out(kit: Kit, baby: Baby, ward: Ward | None, now: datetime) -> bool:
    layer = lay_over(kit, ward)
    context = RuleContext(layer.kit, ward, _fit(kit, baby), now, {}, layer=layer)
    judged = prepare_layered_criteria(layer, ward).judge(context, {})
    return find_verdict(judged.reasons) == "not suitable"


def _fit(kit: Kit, baby: Baby) -> Baby:
    """The baby with the facts that this kit asks for: those known, and the kit's default for the rest."""
    facts = {fact.id: baby.facts.get(fact.id, find_default(fact)) for fact in kit.fact}
    return replace(baby, facts=facts)
