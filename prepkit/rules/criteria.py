"""Whether the procedure is for this baby: criteria, questions, advice, and whether the weight is plausible."""

from collections.abc import Mapping
from typing import Literal

from msgspec import Struct
from msgspec.structs import replace

from prepkit.kit.baby import Baby
from prepkit.kit.kit import Criterion, Kit
from prepkit.kit.spans import Where
from prepkit.rules.condition import Condition, prepare_condition, prepare_spans
from prepkit.rules.findings import Citation, Finding, Kind, cite, finding
from prepkit.rules.growth import Plausibility, Sex, check_weight

Verdict = Literal["suitable", "questions open", "ask a senior", "not suitable"]
ReasonVerdict = Literal["met", "questions open", "ask a senior", "not suitable", "advice"]
_WORST_FIRST: tuple[Verdict, ...] = ("not suitable", "questions open", "ask a senior")
WEIGHT_CRITERION = "weight-for-gestation"
DOMAIN_CRITERION = "domain"
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
        judged = {name: baby.facts[name] for name in where.facts}
        known = {name: test for name, test in where.facts.items() if judged[name] is not None}
        is_open = criterion.otherwise != "advice" and prepare_condition(replace(where, facts=known)).holds_for(baby)
        values = {"baby": baby, "facts": judged, "labels": self.labels}
        found = finding(Kind.FACTS_JUDGED, text=criterion.text, where=where, **values)
        return Reason(criterion.id, "questions open" if is_open else criterion.otherwise, found, self.met.source)


class _Question(Struct, frozen=True):
    """A criterion that the team answers, and how it stands until then."""

    criterion: Criterion
    asked: Reason

    def judge(self, answer: str | None) -> Reason:
        """Judge by the answer."""
        if answer is None:
            return self.asked
        name, source = self.criterion.id, self.asked.source
        found = finding(Kind.ANSWERED, text=self.criterion.text, answer=answer)
        if answer == "unsure":
            return Reason(name, "ask a senior", found, source)
        return Reason(name, "met" if answer == self.criterion.wanted else self.criterion.otherwise, found, source)


class Criteria(Struct, frozen=True):
    """The criteria of one kit, ready for babies."""

    rows: tuple[_Fact | _Question, ...]
    kit: Kit
    domain: Condition

    def check(self, baby: Baby, answers: Mapping[str, str], *, weight_confirmed: bool = False) -> tuple[Reason, ...]:
        """Check how every criterion stands for this baby, in the kit's order, and the weight's likelihood last.

        Args:
            baby: its facts.
            answers: criterion id to "yes", "no" or "unsure", for the questions answered so far.
            weight_confirmed: whether an unlikely weight was entered again, by a second person where one was asked for.

        """
        reasons = [
            row.judge(baby) if isinstance(row, _Fact) else row.judge(answers.get(row.asked.criterion))
            for row in self.rows
        ]
        if not self.domain.holds_for(baby):
            # No figure of the kit was made for the baby.
            found = finding(Kind.OUTSIDE_DOMAIN, domain=self.kit.domain, baby=baby)
            reasons.append(Reason(DOMAIN_CRITERION, "not suitable", found, f"kit edition {self.kit.edition}"))
        return (*reasons, _check_weight(baby, confirmed=weight_confirmed))


def prepare_criteria(kit: Kit) -> Criteria:
    """Prepare the criteria of a kit."""
    rows = tuple(_prepare(kit, criterion) for criterion in kit.criterion)
    return Criteria(rows, kit, prepare_spans(kit.domain.weight, kit.domain.gestation))


def check_criteria(
    kit: Kit, baby: Baby, answers: Mapping[str, str], *, weight_confirmed: bool = False
) -> tuple[Reason, ...]:
    """Check a kit's criteria for one baby alone, as `Criteria.check` does."""
    return prepare_criteria(kit).check(baby, answers, weight_confirmed=weight_confirmed)


def find_verdict(reasons: tuple[Reason, ...]) -> Verdict:
    """Find the worst of the reasons; suitable where every one is met or is advice."""
    said = {reason.verdict for reason in reasons}
    return next((verdict for verdict in _WORST_FIRST if verdict in said), "suitable")


def _prepare(kit: Kit, criterion: Criterion) -> _Fact | _Question:
    name, text, source = criterion.id, criterion.text, cite(kit, criterion.basis, criterion.source)
    if criterion.where is not None:
        met = Reason(name, "met", text, source)
        labels = {fact.id: fact.label for fact in kit.fact if fact.id in criterion.where.facts}
        return _Fact(criterion, criterion.where, prepare_condition(criterion.where), met, labels)
    return _Question(criterion, Reason(name, "questions open", text, source))


def _check_weight(baby: Baby, *, confirmed: bool) -> Reason:
    found = check_weight(baby.weight_g, baby.gestation.days, Sex(baby.sex))
    is_settled = confirmed and found.plausibility is not Plausibility.LIKELY
    verdict = "met" if is_settled else _BY_PLAUSIBILITY[found.plausibility]
    return Reason(
        WEIGHT_CRITERION, verdict, finding(Kind.WEIGHT_JUDGED, found=found, confirmed=is_settled), found.source
    )
