"""Whether the procedure is for this baby: criteria, questions, advice, and whether the weight is plausible."""

from collections.abc import Collection, Iterator, Mapping
from typing import Literal

from msgspec import Struct

from prepkit.kit.axes import GESTATIONS, Axis
from prepkit.kit.baby import Baby
from prepkit.kit.earlier import EarlierDoses
from prepkit.kit.facts import ANSWERS, DONE
from prepkit.kit.kit import Criterion, Kit
from prepkit.kit.names import WEIGHT_NOW
from prepkit.kit.spans import Where
from prepkit.kit.ward import Ward
from prepkit.rules.condition import Condition, prepare_condition
from prepkit.rules.findings import Citation, Finding, Kind, cite, finding
from prepkit.rules.growth import Plausibility
from prepkit.rules.weights import WeightChanges, judge_baby_weight, prepare_changes

Verdict = Literal["suitable", "questions open", "ask a senior", "not suitable"]
ReasonVerdict = Literal["met", "questions open", "ask a senior", "not suitable", "advice"]
_WORST_FIRST: tuple[Verdict, ...] = ("not suitable", "questions open", "ask a senior")
WEIGHT_CRITERION = "weight-for-gestation"
CHANGE_CRITERION = "weight-since-birth"
DOMAIN_CRITERION = "domain"
EARLIER_CRITERION = "earlier-doses"
_BY_PLAUSIBILITY: Mapping[Plausibility, ReasonVerdict] = {
    Plausibility.LIKELY: "met",
    Plausibility.UNLIKELY: "questions open",
    Plausibility.NO_REFERENCE: "questions open",
    Plausibility.VERY_UNLIKELY: "ask a senior",
}


class Reason(Struct, frozen=True):
    """How one criterion stands."""

    criterion: str
    verdict: ReasonVerdict
    text: Finding | str
    """The criterion in the kit's own words, or what was found of it."""
    source: Citation | str
    is_said: bool = False
    """Whether it is of something said or done, on which nothing hangs."""


class _Fact(Struct, frozen=True):
    """A criterion that the facts show: how it stands where they meet it, and for whom they do."""

    criterion: Criterion
    where: Where
    condition: Condition
    met: Reason
    labels: Mapping[str, str]
    """The label of each fact that it names."""

    def judge(self, baby: Baby) -> Reason:
        """Judge by the facts; open where only what was not given is wanting, unless it is advice alone."""
        if self.condition.holds_for(baby):
            return self.met
        criterion, where = self.criterion, self.where
        known = {
            axis: value
            for axis, _ in where.list_spans()
            if axis is not Axis.AGE and (value := baby.measures[axis]) is not None
        }
        facts = {name: baby.facts[name] for name in where.facts}
        found = finding(
            Kind.FACTS_JUDGED, text=criterion.text, where=where, known=known, facts=facts, labels=self.labels
        )
        return Reason(criterion.id, self._find_verdict(baby), found, self.met.source)

    def _find_verdict(self, baby: Baby) -> ReasonVerdict:
        """Open where only what can still be given is wanting; what nobody knows is a senior's to weigh."""
        criterion = self.criterion
        if criterion.otherwise == "advice" or not self.condition.may_hold_for(baby):
            return criterion.otherwise
        return _find_open(self.condition, baby)


def _find_open(condition: Condition, baby: Baby) -> ReasonVerdict:
    """How a condition stands that neither holds nor is ruled out: open while what is wanting can be given."""
    wanting = [each.axis for each in condition.ends if baby.measures[each.axis] is None]
    can_be_given = any(axis not in GESTATIONS for axis in wanting) or not wanting
    return "questions open" if can_be_given else "ask a senior"


class _Said(Struct, frozen=True):
    """A criterion that the team says: a reason against the route, or what was said or done; and its source."""

    criterion: Criterion
    source: Citation | str

    def judge(self, answer: str | None) -> Reason:
        """Judge by the answer: a reason is open until there is one; what is advice alone is never open."""
        name, text, source = self.criterion.id, self.criterion.text, self.source
        if self.criterion.is_said:
            verdict: ReasonVerdict = "met" if answer == DONE else "advice"
            return Reason(name, verdict, finding(Kind.SAID, text=text, is_done=answer == DONE), source, is_said=True)
        if answer not in ANSWERS:
            return Reason(name, "questions open", text, source)
        verdicts: Mapping[str, ReasonVerdict] = {"no": "met", "unsure": "ask a senior"}
        found = finding(Kind.ANSWERED, text=text, answer=answer)
        return Reason(name, verdicts.get(answer, self.criterion.otherwise), found, source)


class Criteria(Struct, frozen=True):
    """The criteria of one kit, ready for babies."""

    rows: tuple[_Fact | _Said, ...]
    kit: Kit
    domain: Condition
    changes: WeightChanges

    def check(self, baby: Baby, answers: Mapping[str, str], confirmed: Collection[str] = ()) -> tuple[Reason, ...]:
        """Check how every criterion stands for this baby, in the kit's order, and the weights' likelihood last.

        Args:
            baby: its facts.
            answers: criterion id to "yes", "no" or "unsure" for a reason against, to "done" for what was said or done.
            confirmed: the weights that were entered again, by a second person where one was asked for.

        """
        reasons = [
            row.judge(baby) if isinstance(row, _Fact) else row.judge(answers.get(row.criterion.id)) for row in self.rows
        ]
        if not self.domain.holds_for(baby):
            # No figure of the kit was made for the baby, or nobody can say.
            found = finding(Kind.OUTSIDE_DOMAIN, domain=self.kit.domain, size=baby.size)
            verdict = _find_open(self.domain, baby) if self.domain.may_hold_for(baby) else "not suitable"
            reasons.append(Reason(DOMAIN_CRITERION, verdict, found, f"kit edition {self.kit.edition}"))
        return (*reasons, *_check_earlier(baby), *_check_weights(baby, self.changes, confirmed))


def prepare_criteria(kit: Kit, ward: Ward | None) -> Criteria:
    """Prepare the criteria of a kit, and the ward's figures of how a weight may change."""
    rows = tuple(_prepare(kit, criterion) for criterion in kit.criterion)
    return Criteria(rows, kit, prepare_condition(kit.domain), prepare_changes(ward))


def find_verdict(reasons: tuple[Reason, ...]) -> Verdict:
    """Find the worst of the reasons; suitable where every one is met or is advice."""
    said = {reason.verdict for reason in reasons}
    return next((verdict for verdict in _WORST_FIRST if verdict in said), "suitable")


def _prepare(kit: Kit, criterion: Criterion) -> _Fact | _Said:
    name, text, source = criterion.id, criterion.text, cite(kit, criterion.basis, criterion.source)
    if criterion.where is not None:
        met = Reason(name, "met", text, source)
        labels = {fact.id: fact.label for fact in kit.fact if fact.id in criterion.where.facts}
        return _Fact(criterion, criterion.where, prepare_condition(criterion.where), met, labels)
    return _Said(criterion, source)


def _check_earlier(baby: Baby) -> Iterator[Reason]:
    """A dose given before that is not known in full (product, amount, time): a senior's to weigh, never a bar."""
    for value in baby.facts.values():
        if isinstance(value, EarlierDoses) and not all(dose.is_known for dose in value.doses):
            found = finding(Kind.EARLIER_UNKNOWN, doses=value)
            yield Reason(EARLIER_CRITERION, "ask a senior", found, "")


def _check_weights(baby: Baby, changes: WeightChanges, confirmed: Collection[str]) -> Iterator[Reason]:
    found = judge_baby_weight(baby)
    is_settled = found.fact in confirmed and found.plausibility is not Plausibility.LIKELY
    verdict = "met" if is_settled else _BY_PLAUSIBILITY[found.plausibility]
    judged = finding(Kind.WEIGHT_JUDGED, found=found, confirmed=is_settled)
    yield Reason(WEIGHT_CRITERION, verdict, judged, found.source)
    change = changes.judge(baby)
    if change is not None and not change.is_usual:
        is_settled = WEIGHT_NOW in confirmed
        judged = finding(Kind.CHANGE_JUDGED, change=change, confirmed=is_settled)
        yield Reason(CHANGE_CRITERION, "met" if is_settled else "advice", judged, change.source)
