"""Whether the procedure is for this baby: criteria, questions, advice, and whether the weight is plausible."""

from collections.abc import Mapping
from typing import Literal

from msgspec import Struct
from msgspec.structs import replace

from prepkit.kit.baby import Baby, FactValue, show_fact
from prepkit.kit.kit import Criterion, Kit
from prepkit.kit.spans import Where
from prepkit.rules.condition import Condition, prepare_condition, prepare_spans
from prepkit.rules.growth import Plausibility, Sex, check_weight
from prepkit.rules.rule import cite

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
    text: str
    source: str


class _Fact(Struct, frozen=True):
    """A criterion that the facts show: how it stands where they meet it, and for whom they do."""

    criterion: Criterion
    where: Where
    condition: Condition
    met: Reason

    def judge(self, baby: Baby) -> Reason:
        """Judge by the facts; open where only what was not given is wanting, unless it is advice alone."""
        if self.condition.holds_for(baby):
            return self.met
        criterion, where = self.criterion, self.where
        known = {name: test for name, test in where.facts.items() if baby.facts[name] is not None}
        is_open = criterion.otherwise != "advice" and prepare_condition(replace(where, facts=known)).holds_for(baby)
        words = f"{criterion.text} (this baby: {_say_facts(where, baby)})"
        return Reason(criterion.id, "questions open" if is_open else criterion.otherwise, words, self.met.source)


class _Question(Struct, frozen=True):
    """A criterion that the team answers, and how it stands until then."""

    criterion: Criterion
    asked: Reason

    def judge(self, answer: str | None) -> Reason:
        """Judge by the answer."""
        if answer is None:
            return self.asked
        name, source, words = self.criterion.id, self.asked.source, f"{self.criterion.text} (answered: {answer})"
        if answer == "unsure":
            return Reason(name, "ask a senior", words, source)
        return Reason(name, "met" if answer == self.criterion.wanted else self.criterion.otherwise, words, source)


class Criteria(Struct, frozen=True):
    """The criteria of one kit, ready for babies."""

    rows: tuple[_Fact | _Question, ...]
    domain: Condition
    domain_words: str
    domain_source: str

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
            reasons.append(self._say_outside(baby))
        return (*reasons, _check_weight(baby, confirmed=weight_confirmed))

    def _say_outside(self, baby: Baby) -> Reason:
        """Outside the domain no figure of the kit was made for the baby; inside, there is nothing to say."""
        words = f"{self.domain_words} (this baby: {baby.words()})"
        return Reason(DOMAIN_CRITERION, "not suitable", words, self.domain_source)


def prepare_criteria(kit: Kit) -> Criteria:
    """Prepare the criteria of a kit."""
    domain = kit.domain
    return Criteria(
        rows=tuple(_prepare(kit, criterion) for criterion in kit.criterion),
        domain=prepare_spans(domain.weight, domain.gestation),
        domain_words=f"This kit is for {domain.weight.words()}, gestation {domain.gestation.words()}",
        domain_source=f"kit edition {kit.edition}",
    )


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
        return _Fact(criterion, criterion.where, prepare_condition(criterion.where), met)
    return _Question(criterion, Reason(name, "questions open", text, source))


def _say_facts(where: Where, baby: Baby) -> str:
    said = [f"{baby.weight_g} g"] if where.weight else []
    said += [str(baby.gestation)] if where.gestation else []
    said += [f"{name.replace('_', ' ')} {_say_fact(baby.facts[name])}" for name in where.facts]
    return ", ".join(said)


def _say_fact(value: FactValue | None) -> str:
    return "not given" if value is None else show_fact(value)


def _check_weight(baby: Baby, *, confirmed: bool) -> Reason:
    found = check_weight(baby.weight_g, baby.gestation.days, Sex(baby.sex))
    words = " ".join(found.words)
    if confirmed and found.plausibility is not Plausibility.LIKELY:
        return Reason(WEIGHT_CRITERION, "met", f"{words} (entered again and confirmed)", found.source)
    return Reason(WEIGHT_CRITERION, _BY_PLAUSIBILITY[found.plausibility], words, found.source)
