"""Which other kits a baby meets the criteria of, where one route is not for it.

May import: `prepkit.list` and below.
"""

from collections.abc import Iterable
from datetime import datetime

from prepkit.kit.baby import Baby, find_default
from prepkit.kit.kit import Kit
from prepkit.kit.layer import lay_over
from prepkit.kit.read import Written
from prepkit.kit.ward import Ward
from prepkit.list.layered_criteria import prepare_layered_criteria
from prepkit.rules.case import Case
from prepkit.rules.criteria import find_verdict


def find_other_kits(
    kits: Iterable[Written[Kit]], own: str, baby: Baby, ward: Written[Ward] | None, now: datetime
) -> tuple[Kit, ...]:
    """The kits beside `own` that nothing known about the baby rules out; their own questions stay to be answered."""
    others = (written.model for written in kits if written.model.id != own)
    return tuple(kit for kit in others if not _is_ruled_out(kit, baby, ward.model if ward else None, now))


def _is_ruled_out(kit: Kit, baby: Baby, ward: Ward | None, now: datetime) -> bool:
    layer = lay_over(kit, ward)
    case = Case(layer.kit, ward, _fit(kit, baby), now, {}, layer=layer)
    judged = prepare_layered_criteria(layer).judge(case, {})
    return find_verdict(judged.reasons) == "not suitable"


def say_other_kits(kits: tuple[Kit, ...]) -> str:
    """The sentence for `find_other_kits`; empty where there is none."""
    names = "; ".join(kit.name for kit in kits)
    return f"Other kits that nothing known rules out for this baby: {names}." if names else ""


def _fit(kit: Kit, baby: Baby) -> Baby:
    """The baby with the facts that this kit asks for: those known, and the kit's default for the rest."""
    facts = {fact.id: baby.facts.get(fact.id, find_default(fact)) for fact in kit.fact}
    return Baby(baby.weight_g, baby.gestation, baby.sex, facts, baby.assumed)
