"""Syringe labels: one for each syringe that is drawn up and ticked, and why the others have none.

Never from a list that is withheld, never while somebody checks it blind, and never from a line that has changed or
gone stale since its tick.
"""

from collections.abc import Callable, Iterator
from datetime import datetime, timedelta

from msgspec import Struct

from prepkit.kit.baby import BabySize
from prepkit.kit.kit import Product
from prepkit.list.lines import ListLine, TrayList, compute_line_fingerprint
from prepkit.preparation.decision import refuse_if_closed
from prepkit.preparation.lines.events import Tick
from prepkit.preparation.listing import WorkedList
from prepkit.preparation.stale import list_stale
from prepkit.preparation.state import Preparation
from prepkit.preparation.text import say_stamp
from prepkit.quantities.amount import Amount, convert
from prepkit.quantities.text import show_amount
from prepkit.quantities.units import Dimension
from prepkit.rules.rule import Dilution
from prepkit.wording.baby import say_weights
from prepkit.wording.draw_ups import NOT_FOR_GIVING
from prepkit.wording.say import say
from prepkit.wording.things import say_made_up

NOT_FOR_INJECTION = "Not for injection"
DISCARD = "discard it before the cot"
LOCAL_POLICY = "per local policy"


class SyringeLabel(Struct, frozen=True):
    """The words of one label."""

    medicine: str
    amount: str
    """What is in the syringe: "3.6 mL"."""
    air: str
    """What is behind it: "+ 0.5 mL air"; empty for none."""
    strength: str
    """Empty where the medicine's name says it."""
    route: str
    not_for_injection: bool
    cot: str
    weights: str
    """Both weights where they are not the same; else empty."""
    prepared: str
    """Who ticked it, and when."""
    checked: str
    """Who checked it; empty where nobody has, and then a line is left for it."""
    use_before: str
    label_class: str
    """The class whose colour it bears; empty where there is none."""
    practice: bool


class StockLabel(Struct, frozen=True):
    """The words on what is left of a recipe once a dose was drawn from it: nothing on it could be taken for a dose."""

    medicine: str
    strength: str
    made: str
    """How much was made up, and from what."""
    made_by: str
    """Who ticked the dose that was drawn from it, and when."""
    cot: str
    practice: bool


class LabelSheet(Struct, frozen=True):
    """The labels of one preparation."""

    cot: str
    labels: tuple[SyringeLabel, ...]
    left_out: tuple[str, ...]
    """Syringes without a label, and why, a sentence each."""
    stock: tuple[StockLabel, ...] = ()
    """For what was made up and is not for giving as it is."""


class _Scene(Struct, frozen=True):
    """What all labels of a sheet share."""

    state: Preparation
    worked: WorkedList
    tray: TrayList
    now: datetime
    to_local: Callable[[datetime], datetime]


def make_labels(
    state: Preparation,
    worked: WorkedList,
    now: datetime,
    to_local: Callable[[datetime], datetime] = lambda at: at,
) -> LabelSheet | str:
    """Make the labels of a preparation; a refusal in words where there can be none.

    Args:
        state: the preparation.
        worked: its list as worked out now.
        now: decides what is out of date.
        to_local: gives a time by the ward's clock, whose offset may change during the night.

    """
    closed = refuse_if_closed(state)
    if closed is not None:
        return closed.reason
    if state.check is not None:
        return f"No labels now: {say_stamp(state.check.stamp)} began the second check, and a label shows an amount."
    if worked.tray is None or state.withheld:
        return f"No labels: there is no list now. {worked.withheld or state.withheld}"
    scene = _Scene(state, worked, worked.tray, now, to_local)
    syringes = [line for line in worked.tray.lines if _is_drawn_up(line)]
    reasons = {line.id: _find_reason(line, scene) for line in syringes}
    drawn = [line for line in syringes if not reasons[line.id]]
    labels = tuple(_make_label(line, scene) for line in drawn)
    stock = tuple(_make_stock_label(line.outcome.recipe, line.id, scene) for line in drawn if line.outcome.recipe)
    left_out = tuple(f"No label for {line.name}: {reasons[line.id]}." for line in syringes if reasons[line.id])
    return LabelSheet(state.cot, labels, left_out, tuple(each for each in stock if each))


def _is_drawn_up(line: ListLine) -> bool:
    if line.kind == "dose":
        return True
    volumes = [amount for amount in (line.outcome.amount, line.outcome.low, line.outcome.high) if amount is not None]
    return line.declared.route is not None and any(amount.dimension is Dimension.VOLUME for amount in volumes)


def _find_reason(line: ListLine, scene: _Scene) -> str:
    """Find why the syringe gets no label; empty where it gets one."""
    state = scene.state
    if line.outcome.blocked:
        return f"blocked, {say(line.outcome.blocked)}"
    if state.is_set_aside(line.id):
        return "set aside as not needed"
    if not state.is_ticked(line.id):
        return "it is not ticked"
    tick = state.ticks[line.id]
    if tick.fingerprint != compute_line_fingerprint(line):
        return "it changed since it was ticked"
    stale = next((each.why for each in list_stale(state, scene.worked, scene.now) if each.line == line.id), "")
    if stale:
        return stale
    before = _compute_use_before(tick, scene)
    return f"it was to be used before {_say_time(before, scene)}" if before is not None and before <= scene.now else ""


def _make_label(line: ListLine, scene: _Scene) -> SyringeLabel:
    tick, product = scene.state.ticks[line.id], _find_product(line, scene.tray)
    before = _compute_use_before(tick, scene)
    return SyringeLabel(
        medicine=product.name if product else line.name,
        amount=say(line.outcome.show),
        air=f"+ {show_amount(line.outcome.air)} air" if line.outcome.air else "",
        strength=show_amount(line.outcome.recipe.strength) if line.outcome.recipe else "",
        route=line.declared.route or "",
        not_for_injection=line.declared.route != "intravenous",
        cot=scene.state.cot,
        weights=_say_differing(scene.tray.baby.size),
        prepared=f"{tick.stamp.who} {_say_time(tick.stamp.at, scene)}",
        checked=_say_checked(line, scene),
        use_before=_say_time(before, scene) if before is not None else LOCAL_POLICY,
        label_class=(product.label_class or "") if product else "",
        practice=scene.state.practice,
    )


def _make_stock_label(found: Dilution, line: str, scene: _Scene) -> StockLabel | None:
    """The label of what a recipe made; None for a product as it is."""
    if found.recipe is None:
        return None
    tick = scene.state.ticks[line]
    return StockLabel(
        medicine=found.product.name,
        strength=show_amount(found.strength),
        made=say_made_up(found),
        made_by=f"{tick.stamp.who} {_say_time(tick.stamp.at, scene)}",
        cot=scene.state.cot,
        practice=scene.state.practice,
    )


def _say_differing(size: BabySize) -> str:
    birth, now = size.birth_weight_g, size.weight_now_g
    return "" if birth == now else say_weights(birth, now)


def _say_checked(line: ListLine, scene: _Scene) -> str:
    """Who checked it and when; empty where no check counts for it as it is now."""
    if not scene.state.is_checked(line.id):
        return ""
    check = scene.state.checks[line.id]
    return f"{check.stamp.who} {_say_time(check.stamp.at, scene)}"


def _find_product(line: ListLine, tray: TrayList) -> Product | None:
    return next((each for each in tray.laid.product if each.id == line.outcome.product), None)


def _compute_use_before(tick: Tick, scene: _Scene) -> datetime | None:
    limit = scene.tray.ward.model.drawn_up if scene.tray.ward else None
    return None if limit is None else tick.stamp.at + _make_span(limit)


def _make_span(time: Amount) -> timedelta:
    """An amount of time as a span of whole seconds, never longer than the amount."""
    return timedelta(seconds=int(convert(time, "min").value * 60))


def _say_time(at: datetime, scene: _Scene) -> str:
    return f"{scene.to_local(at):%d %b %H:%M}"


def write_labels_text(sheet: LabelSheet) -> str:
    """The labels in plain text, a block each; then the syringes that have none."""
    blocks = ["\n".join(list_label_rows(label)) for label in sheet.labels]
    blocks += ["\n".join(list_stock_rows(label)) for label in sheet.stock]
    return "\n\n".join([*blocks, *(["\n".join(sheet.left_out)] if sheet.left_out else [])]) + "\n"


def list_label_rows(label: SyringeLabel) -> Iterator[str]:
    """The rows of one label in plain text."""
    if label.practice:
        yield "PRACTICE: not for a real baby"
    yield label.medicine
    yield " ".join(part for part in (label.amount, label.strength and f"of {label.strength}", label.air) if part)
    yield f"{label.route.upper()}{f' - {NOT_FOR_INJECTION.upper()}' if label.not_for_injection else ''}"
    if label.label_class:
        yield f"Class: {label.label_class}"
    yield f"For: {label.cot}{label.weights and f' ({label.weights})'}"
    yield f"Prepared by: {label.prepared}"
    yield f"Checked by: {label.checked or '____________'}"
    yield f"Use before: {label.use_before}"


def list_stock_rows(label: StockLabel) -> Iterator[str]:
    """The rows of the label of made-up stock in plain text; what it is not for comes first."""
    if label.practice:
        yield "PRACTICE: not for a real baby"
    yield NOT_FOR_GIVING.upper()
    yield DISCARD.upper()
    yield f"{label.medicine} {label.strength}"
    yield f"Made up: {label.made}"
    yield f"Made up by: {label.made_by}"
    yield f"With: {label.cot}"
