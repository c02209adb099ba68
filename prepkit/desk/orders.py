"""An option that a prescriber chose, turned into what is to be recorded. May import: every layer but the front ends."""

from collections.abc import Callable
from datetime import datetime

from prepkit.preparation.decide import decide_order
from prepkit.preparation.decision import Decision
from prepkit.preparation.events import Payload
from prepkit.preparation.line_events import Ordered
from prepkit.preparation.state import Preparation
from prepkit.preparation.text import Refusal, check_initials
from prepkit.preparation.worked import find_line_options, make_listed, work_out
from prepkit.rules.options import write_volume


def decide_option(
    state: Preparation,
    line: str,
    option: str,
    prescriber: str,
    now: datetime,
    look_ahead: Callable[[Preparation, Payload], Preparation],
) -> Decision:
    """Decide on an option by its id, with the list as it is once it is ordered.

    `look_ahead` gives the state as it would be with one more event.
    """
    options = find_line_options(work_out(state, now), line, now)
    offered = {each.id: (each.product, write_volume(each.whole)) for each in options.choices} if options else {}
    product, whole = offered.get(option, (option, ""))
    initials = check_initials(prescriber)
    listed = None
    if option in offered and not isinstance(initials, Refusal):
        ahead = look_ahead(state, Ordered(line, product, whole, initials))
        listed = make_listed(work_out(ahead, now), "facts")
    return decide_order(state, line, product, whole, prescriber, offered=set(offered.values()), listed=listed)
