"""Decisions on facts, orders and new texts, each made with a preview of the list as it would be afterwards.

A preview is the state with one more event (`look_ahead`), so that the list is recorded together with what changed it.
"""

from collections.abc import Callable
from datetime import datetime
from typing import TYPE_CHECKING, TypeAlias

from msgspec import Struct

from prepkit.kit.baby import Baby
from prepkit.preparation.baby.decide import decide_weight
from prepkit.preparation.baby.events import WeightConfirmed
from prepkit.preparation.baby.suitability import find_unanswered
from prepkit.preparation.decide import decide_ward
from prepkit.preparation.decision import Decision
from prepkit.preparation.events import Payload, WardReplaced
from prepkit.preparation.lines.decide import decide_order
from prepkit.preparation.lines.events import Ordered
from prepkit.preparation.listing import find_line_options, make_listed, work_out
from prepkit.preparation.state import Preparation
from prepkit.preparation.text import Refusal, check_initials
from prepkit.rules.dose.rule import write_volume

if TYPE_CHECKING:
    from prepkit.app.files import KitAndWard
    from prepkit.app.workstation import Workstation

LookAhead: TypeAlias = Callable[[Preparation, Payload], Preparation]


class ReenteredWeight(Struct, frozen=True):
    """An unlikely weight entered again."""

    baby: Baby
    typed: str
    second: str
    """Initials of the second person; empty where there is none."""
    needs_second: bool


def decide_reentered_weight(
    state: Preparation, again: ReenteredWeight, desk: "Workstation", look_ahead: LookAhead
) -> Decision:
    """Decide on a weight entered again, with the list as it is once it is confirmed."""
    facts = (str(again.baby.weight_g), str(again.baby.gestation), again.baby.sex)
    ahead = look_ahead(state, WeightConfirmed(*facts, again.second))
    return decide_weight(
        state,
        *facts,
        again=again.typed,
        second=again.second,
        second_verified=desk.needs_pin,
        who=desk.who,
        needs_second=again.needs_second,
        listed=make_listed(work_out(ahead, desk.clock()), "facts"),
    )


def decide_texts(state: Preparation, read: "KitAndWard", desk: "Workstation", look_ahead: LookAhead) -> Decision:
    """Decide to go on with the kit and the ward file as they are now, with the list as it is with them."""
    ward_text, ward_name = (read.ward.text, read.ward.model.name) if read.ward else (None, None)
    kit_text, edition = read.kit.text, read.kit.model.edition
    ahead = look_ahead(state, WardReplaced(kit_text, edition, ward_text, ward_name))
    return decide_ward(
        state,
        kit_text=kit_text,
        kit_edition=edition,
        ward_text=ward_text,
        ward_name=ward_name,
        listed=make_listed(work_out(ahead, desk.clock()), "ward"),
        unanswered=find_unanswered(state, ahead),
    )


def decide_option(
    state: Preparation,
    line: str,
    option: str,
    prescriber: str,
    now: datetime,
    look_ahead: LookAhead,
) -> Decision:
    """Decide on an option by its id, with the list as it is once it is ordered."""
    options = find_line_options(work_out(state, now), line, now)
    offered = {each.id: (each.product, write_volume(each.whole)) for each in options.choices} if options else {}
    product, whole = offered.get(option, (option, ""))
    initials = check_initials(prescriber)
    listed = None
    if option in offered and not isinstance(initials, Refusal):
        ahead = look_ahead(state, Ordered(line, product, whole, initials))
        listed = make_listed(work_out(ahead, now), "facts")
    return decide_order(state, line, product, whole, prescriber, offered=set(offered.values()), listed=listed)
