"""What can be ordered for a dose line. May import: `prepkit.preparation`, `prepkit.list`, `prepkit.view.models`."""

from datetime import datetime

from prepkit.preparation.state import Preparation
from prepkit.preparation.text import say_stamp
from prepkit.preparation.worked import Worked, find_line_options
from prepkit.rules.options import Options, write_option
from prepkit.view.banner import show_banner
from prepkit.view.line_models import OptionsView


def show_options(state: Preparation, worked: Worked, line_id: str, now: datetime) -> OptionsView | None:
    """What can be ordered for a line; None where it is no dose, or not on the list."""
    options = find_line_options(worked, line_id, now)
    name = next((line.name for line in worked.tray.lines if line.id == line_id), "") if worked.tray else ""
    if options is None or not name:
        return None
    chosen = _find_chosen(state, line_id, options)
    return OptionsView(
        banner=show_banner(state),
        name=name,
        now=_say_now(state, line_id, chosen),
        choices=tuple((option.id, option.words) for option in options.choices),
        chosen=chosen,
        not_offered=options.not_offered,
    )


def _find_chosen(state: Preparation, line_id: str, options: Options) -> str:
    order = state.orders.get(line_id)
    if order is not None:
        ordered = write_option(order.product, order.whole)
        return ordered if any(option.id == ordered for option in options.choices) else ""
    return next((option.id for option in options.choices if option.whole is None), "")


def _say_now(state: Preparation, line_id: str, chosen: str) -> str:
    order = state.orders.get(line_id)
    if order is None:
        return "Nothing is ordered: the ward's first choice is used." if chosen else "Nothing is ordered."
    by = f"ordered by {order.prescriber}, entered by {say_stamp(order.stamp)}"
    if chosen:
        return f"Now {by}."
    return f"{write_option(order.product, order.whole)} was {by}. It cannot be drawn up now: order again."
