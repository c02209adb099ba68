"""The second check: what the checker sees, what everybody else sees, and both results side by side."""

from datetime import datetime

from msgspec import Struct

from prepkit.kit.names import BIRTH_WEIGHT, BORN, CORE_LABELS, WEIGHT_NOW, name_fact
from prepkit.list.agreement import explain_entered
from prepkit.list.lines import ListLine
from prepkit.preparation.check.decide import list_left_to_read
from prepkit.preparation.check.events import Check
from prepkit.preparation.check.required import find_check_wanted, list_checked_lines, list_unchecked
from prepkit.preparation.decision import refuse_if_closed
from prepkit.preparation.listing import WorkedList
from prepkit.preparation.state import Preparation
from prepkit.preparation.text import say_stamp
from prepkit.quantities.text import show_amount
from prepkit.view.baby import UNLESS
from prepkit.view.banner import show_banner, show_covered_banner
from prepkit.view.days import list_days
from prepkit.view.models import Banner, InputKind, Offer, Sign
from prepkit.wording.say import say, say_all, say_joined
from prepkit.wording.things import show_vials


class CheckField(Struct, frozen=True):
    """One line to work out: the order, and what to enter. Nothing in it was made from the weight."""

    line: str
    name: str
    order: tuple[str, ...]
    ask: str
    """What to enter, as a sentence."""
    label: str
    """What the field is called: "Volume", "Depth", "Size"."""
    unit: str
    """Shown after the field while typing; empty for a size."""
    choices: tuple[tuple[str, str], ...]
    """For a size: (value to give back, words to show)."""
    containers: tuple[tuple[str, str], ...]
    """For a medicine: (size as it is given back, the question how many to open)."""


class CheckFact(Struct, frozen=True):
    """One fact of the baby to read, blind: nothing in it is what the list was made for."""

    fact: str
    label: str
    ask: str
    entry: InputKind
    unit: str
    choices: tuple[tuple[str, str], ...]
    """Of a day: (value to give back, words to show)."""
    or_typed: str
    """Words for typing what is not among the choices; empty where nothing is chosen."""
    unless: tuple[str, str]
    """That there is no value: (what to give back, words to show); empty where there has to be one."""


class CheckView(Struct, frozen=True):
    """A check under way, as the checker sees it."""

    banner: Banner
    """Without the weights."""
    checker: str
    """Initials; empty while nobody checks."""
    fact: CheckFact | None
    """The fact of the baby to read now; None once all are read."""
    field: CheckField | None
    """The line to work out now; None before the baby and after the last line."""
    progress: str
    """ "2 of 5". """


class CheckedRow(Struct, frozen=True):
    """One line after a check: both results."""

    line: str
    name: str
    sign: Sign
    word: str
    ours: str
    """What the list has."""
    theirs: str
    """What the checker entered; empty where nobody did."""
    our_working: tuple[str, ...]
    """Where the two differ."""
    their_working: tuple[str, ...]
    note: str
    """How a difference was settled, or why a check does not count any more."""
    settle: Offer


class CheckedView(Struct, frozen=True):
    """How the second check stands, line by line."""

    banner: Banner
    words: tuple[str, ...]
    rows: tuple[CheckedRow, ...]
    begin: Offer
    """To begin a check, or why nobody can begin one now."""


class CoverView(Struct, frozen=True):
    """What everybody sees while somebody checks: that they do, and nothing of the list."""

    banner: Banner
    """Without the weights."""
    words: tuple[str, ...]


def show_cover(state: Preparation) -> CoverView | None:
    """What stands in the place of every screen of a preparation while it is checked; None while it is not."""
    if state.check is None:
        return None
    words = (
        f"{say_stamp(state.check.stamp)} began the second check.",
        "Nothing of the list is shown to anybody until it ends.",
    )
    return CoverView(show_covered_banner(state), words)


def show_check(state: Preparation, worked: WorkedList, now: datetime) -> CheckView:
    """The check under way: the baby first, then one line after the other; `now` is the moment of the checker."""
    banner = show_covered_banner(state)
    if state.check is None:
        return CheckView(banner, "", fact=None, field=None, progress="")
    wanted = list_unchecked(state, worked)
    left = [line for line in wanted if line.id not in state.check.entries]
    unread = list_left_to_read(state)
    fact = _ask_fact(unread[0], now) if unread else None
    field = None if unread or not left else _ask(left[0])
    progress = "baby" if unread else f"{len(wanted) - len(left) + bool(left)} of {len(wanted)}"
    return CheckView(banner, state.check.stamp.who, fact=fact, field=field, progress=progress)


_READ = {
    BIRTH_WEIGHT: "Read the birth weight off the notes yourself, and enter it.",
    WEIGHT_NOW: "Read the weight now off the cot yourself, and enter it.",
    BORN: "Read in the notes yourself when the baby was born.",
}


def _ask_fact(fact: str, now: datetime) -> CheckFact:
    is_day = fact == BORN
    return CheckFact(
        fact=fact,
        label=CORE_LABELS[fact],
        ask=_READ[fact],
        entry=InputKind.CHOICE if is_day else InputKind.GRAMS,
        unit="" if is_day else "g",
        choices=list_days(now.date()) if is_day else (),
        or_typed="Longer ago: type the day" if is_day else "",
        unless=UNLESS.get(fact, ("", "")),
    )


def say_read(state: Preparation) -> str:
    """Name what a checker reads of the baby: "birth weight and weight now"."""
    named = [name_fact(fact) for fact in state.facts_to_read]
    return " and ".join(part for part in (", ".join(named[:-1]), named[-1]) if part)


def show_checked(state: Preparation, worked: WorkedList) -> CheckedView:
    """Both results of every line that is to be checked."""
    lines = list_checked_lines(state, worked)
    rows = tuple(_show_row(line, state) for line in lines)
    return CheckedView(show_banner(state, worked.baby), _sum_up(state, worked, rows), rows, _offer_begin(state, worked))


def _ask(line: ListLine) -> CheckField:
    unit = line.outcome.amount or line.outcome.high or line.outcome.low
    choices = tuple((size, size) for size in line.declared.choices)
    if choices:
        label, ask = "Size", "Which size?"
    elif line.outcome.prescribed:
        # A wrong figure of the kit stands in the order too: both people would work from it.
        label, ask = "Volume", "Compare the order with the prescription. Work the volume out yourself, and enter it."
    elif line.kind == "amount":
        label, ask = "Volume", "Work the volume out yourself, and enter it."
    else:
        label, ask = "Depth", "How far in? Work it out or measure it yourself."
    return CheckField(
        line=line.id,
        name=line.name,
        order=_order(line),
        ask=ask,
        label=label,
        unit=unit.unit.text if unit and not choices else "",
        choices=choices,
        containers=_list_containers(line),
    )


def _order(line: ListLine) -> tuple[str, ...]:
    route = (f"Route: {line.declared.route}",) if line.declared.route else ()
    if line.outcome.prescribed is not None:
        return (*say_all(line.outcome.prescribed.says), *route)
    if line.declared.choices:
        return ("By the label on the device, and the ward's approval where it is outside.",)
    return (*route, f"From: {say_joined(line.source)}")


def _list_containers(line: ListLine) -> tuple[tuple[str, str], ...]:
    if line.outcome.prescribed is None:
        return ()
    word = line.outcome.prescribed.container
    return tuple(
        (show_amount(size), f"How many {show_amount(size)} {word}s do you open?")
        for size in line.outcome.prescribed.holds
    )


def _sum_up(state: Preparation, worked: WorkedList, rows: tuple[CheckedRow, ...]) -> tuple[str, ...]:
    if worked.tray is None:
        return (worked.withheld,)
    open_rows = sum(1 for row in rows if row.sign in {Sign.TO_DO, Sign.CHANGED})
    differing = sum(1 for row in rows if row.sign is Sign.QUESTION)
    if not rows:
        return ("Nothing on this list is to be checked.",)
    if not open_rows and not differing:
        stamps = [say_stamp(state.facts_read[fact].stamp) for fact in state.facts_to_read if fact in state.facts_read]
        read = f" {stamps[-1]} read the {say_read(state)}, blind." if stamps else ""
        return (f"Checked: {len(rows)} of {len(rows)}.{read}",)
    parts = (
        *((f"{differing} differ{'s' if differing == 1 else ''}: settle or correct",) if differing else ()),
        *((f"{open_rows} to check",) if open_rows else ()),
    )
    how = "The checker works from the order and the cot, and sees no result before the end."
    return (f"{'; '.join(parts)}.", *((how,) if open_rows else ()))


def _show_row(line: ListLine, state: Preparation) -> CheckedRow:
    check = state.find_check(line.id)
    ours = "; ".join(part for part in (say(line.outcome.show), _say_ours(line)) if part)
    if check is None:
        void = state.voided.get(line.id)
        note = f"changed since {void.was_by} checked it" if void else ""
        sign, word = (Sign.CHANGED, "check again") if void else (Sign.TO_DO, "to check")
        return CheckedRow(line.id, line.name, sign, word, ours, "", (), (), note, Offer("Settle", "Not checked yet."))
    value = f"size {check.value}" if line.declared.choices else check.value
    theirs = "; ".join(part for part in (value, check.vials and f"open {check.vials}") if part)
    if check.agrees:
        word = f"agrees {check.stamp.who} {check.stamp.at:%H:%M}"
        done = Offer("Settle", "The two results agree.")
        return CheckedRow(line.id, line.name, Sign.DONE, word, ours, theirs, (), (), "", done)
    return _show_difference(line, check, ours, theirs)


def _show_difference(line: ListLine, check: Check, ours: str, theirs: str) -> CheckedRow:
    settled = check.settled
    their_working = explain_entered(line, check.value, check.vials)
    sign, word = Sign.QUESTION, f"differs {check.stamp.who} {check.stamp.at:%H:%M}"
    note = f"{check.stamp.who}'s check differs"
    offer = Offer("Settle", "")
    if settled is not None:
        sign, word = Sign.DONE, f"settled {settled.stamp.who} {settled.stamp.at:%H:%M}"
        note, offer = settled.reason, Offer("Settle", "It is settled.")
    return CheckedRow(
        line.id, line.name, sign, word, ours, theirs, say_all(line.outcome.working), their_working, note, offer
    )


def _say_ours(line: ListLine) -> str:
    return f"open {show_vials(line.outcome.vials)}" if line.outcome.vials else ""


def _offer_begin(state: Preparation, worked: WorkedList) -> Offer:
    if (closed := refuse_if_closed(state)) is not None:
        return Offer("Check", closed.reason)
    if worked.tray is None:
        return Offer("Check", worked.withheld)
    return Offer("Check", "" if find_check_wanted(state, worked) else "Everything is checked.")
