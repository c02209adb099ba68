"""What can be ordered for one dose line, in words."""

from datetime import datetime

from msgspec import Struct

from prepkit.preparation.listing import WorkedList, find_line_options, read_order
from prepkit.preparation.state import Preparation
from prepkit.preparation.text import say_stamp
from prepkit.rules.dose.rule import OrderOption, OrderOptions, write_order
from prepkit.view.banner import show_banner
from prepkit.view.signs import Banner
from prepkit.wording.doses import say_ordered
from prepkit.wording.say import say, say_all


class OptionsView(Struct, frozen=True):
    """What can be ordered for one dose line."""

    banner: Banner
    name: str
    now: str
    """What is used now, and by whose order."""
    choices: tuple[tuple[str, str], ...]
    """(option to give back, words to show)."""
    chosen: str
    """The option that is used now; empty where none is."""
    want_reason: frozenset[str]
    """The options that only a senior orders, with a reason."""
    not_offered: tuple[str, ...]
    """What is not among the choices, and why, a sentence each."""


def show_options(state: Preparation, worked: WorkedList, line_id: str, now: datetime) -> OptionsView | None:
    """What can be ordered for a line; None where it is no dose, or not on the list."""
    options = find_line_options(worked, line_id, now)
    name = next((line.name for line in worked.tray.lines if line.id == line_id), "") if worked.tray else ""
    if options is None or not name:
        return None
    chosen = _find_chosen(state, line_id, options)
    return OptionsView(
        banner=show_banner(state, worked.baby),
        name=name,
        now=_say_now(state, worked, line_id, chosen),
        choices=tuple((option.id, _say_option(option)) for option in options.choices),
        chosen=chosen,
        want_reason=frozenset(option.id for option in options.choices if option.wants_reason),
        not_offered=say_all(options.not_offered),
    )


def _say_option(option: OrderOption) -> str:
    """Say of one that is no ordinary dose what it is: of two at the same mark nobody should take one for the other."""
    words = say(option.found)
    if option.order.is_rest:
        return f"The rest of the last dose. {words}"
    return f"Early, if a senior orders it and says why. {words}" if option.wants_reason else words


def _find_chosen(state: Preparation, line_id: str, options: OrderOptions) -> str:
    given = state.orders.get(line_id)
    if given is not None:
        ordered = write_order(read_order(given.what))
        return ordered if any(option.id == ordered for option in options.choices) else ""
    return next((option.id for option in options.choices if option.id == option.order.product), "")


def _say_now(state: Preparation, worked: WorkedList, line_id: str, chosen: str) -> str:
    given = state.orders.get(line_id)
    if given is None:
        return "Nothing is ordered: the ward's first choice is used." if chosen else "Nothing is ordered."
    by = f"ordered by {given.what.prescriber}, entered by {say_stamp(given.stamp)}"
    if chosen:
        return f"Now {by}."
    product = next((each for each in worked.laid.product if each.id == given.what.product), None)
    named = (product.name, product.container) if product else (None, "")
    return f"{say_ordered(read_order(given.what), *named)} was {by}. It cannot be drawn up now: order again."
