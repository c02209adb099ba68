"""Whether the route is for this baby: criteria, questions, advice, and the weight's likelihood.

May import: `prepkit.rules`.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from prepkit.kit.baby import Baby, FactValue, show_fact
from prepkit.kit.kit import Criterion, Kit
from prepkit.kit.spans import Where
from prepkit.rules.case import cite, holds_for
from prepkit.rules.growth import Belief, Sex, check_weight

Verdict = Literal["suitable", "questions open", "ask a senior", "not suitable"]
ReasonVerdict = Literal["met", "questions open", "ask a senior", "not suitable", "advice"]
_WORST_FIRST: tuple[Verdict, ...] = ("not suitable", "questions open", "ask a senior")
WEIGHT_CRITERION = "weight-for-gestation"
DOMAIN_CRITERION = "domain"
_BELIEFS: Mapping[Belief, ReasonVerdict] = {
    Belief.LIKELY: "met",
    Belief.UNLIKELY: "questions open",
    Belief.NO_REFERENCE: "questions open",
    Belief.VERY_UNLIKELY: "ask a senior",
}


@dataclass(frozen=True, slots=True)
class Reason:
    """How one criterion stands."""

    criterion: str
    verdict: ReasonVerdict
    text: str
    source: str


def check_criteria(
    kit: Kit, baby: Baby, answers: Mapping[str, str], *, weight_confirmed: bool = False
) -> tuple[Reason, ...]:
    """Check how every criterion of the kit stands for this baby, in the kit's order, and the weight's likelihood last.

    Args:
        kit: declares the criteria.
        baby: its facts.
        answers: criterion id to "yes", "no" or "unsure", for the questions answered so far.
        weight_confirmed: whether an unlikely weight was entered again, by a second person where one was asked for.

    """
    reasons = [_check_criterion(kit, criterion, baby, answers.get(criterion.id)) for criterion in kit.criterion]
    return (*reasons, *_check_domain(kit, baby), _check_weight(baby, confirmed=weight_confirmed))


def find_verdict(reasons: tuple[Reason, ...]) -> Verdict:
    """Find the worst of the reasons; suitable where every one is met or is advice."""
    said = {reason.verdict for reason in reasons}
    return next((verdict for verdict in _WORST_FIRST if verdict in said), "suitable")


def _check_criterion(kit: Kit, criterion: Criterion, baby: Baby, answer: str | None) -> Reason:
    source = cite(kit, criterion.basis, criterion.source)
    if criterion.where is not None:
        verdict = _judge_facts(criterion, criterion.where, baby)
        words = (
            criterion.text if verdict == "met" else f"{criterion.text} (this baby: {_say_facts(criterion.where, baby)})"
        )
        return Reason(criterion.id, verdict, words, source)
    if answer is None:
        return Reason(criterion.id, "questions open", criterion.text, source)
    if answer == "unsure":
        return Reason(criterion.id, "ask a senior", f"{criterion.text} (answered: unsure)", source)
    verdict = "met" if answer == criterion.wanted else criterion.otherwise
    return Reason(criterion.id, verdict, f"{criterion.text} (answered: {answer})", source)


def _judge_facts(criterion: Criterion, where: Where, baby: Baby) -> ReasonVerdict:
    """Judge by the facts; the question is open where only what was not given is wanting, unless it is advice alone."""
    if holds_for(where, baby):
        return "met"
    known = {name: test for name, test in where.facts.items() if baby.facts[name] is not None}
    is_open = criterion.otherwise != "advice" and holds_for(where.model_copy(update={"facts": known}), baby)
    return "questions open" if is_open else criterion.otherwise


def _say_facts(where: Where, baby: Baby) -> str:
    said = [f"{baby.weight_g} g"] if where.weight else []
    said += [str(baby.gestation)] if where.gestation else []
    said += [f"{name.replace('_', ' ')} {_say_fact(baby.facts[name])}" for name in where.facts]
    return ", ".join(said)


def _say_fact(value: FactValue | None) -> str:
    return "not given" if value is None else show_fact(value)


def _check_domain(kit: Kit, baby: Baby) -> tuple[Reason, ...]:
    """Outside the domain no figure of the kit was made for the baby; inside, there is nothing to say."""
    domain = kit.domain
    if domain.weight.contains(baby.weight) and domain.gestation.contains(baby.gestation):
        return ()
    words = f"This kit is for {domain.weight.words()}, gestation {domain.gestation.words()}"
    return (
        Reason(DOMAIN_CRITERION, "not suitable", f"{words} (this baby: {baby.words()})", f"kit edition {kit.edition}"),
    )


def _check_weight(baby: Baby, *, confirmed: bool) -> Reason:
    found = check_weight(baby.weight_g, baby.gestation.days, Sex(baby.sex))
    words = " ".join(found.words)
    if confirmed and found.belief is not Belief.LIKELY:
        return Reason(WEIGHT_CRITERION, "met", f"{words} (entered again and confirmed)", found.source)
    return Reason(WEIGHT_CRITERION, _BELIEFS[found.belief], words, found.source)
