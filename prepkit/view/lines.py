"""The list, one line opened, and what can be ordered for it."""

from prepkit.kit.axes import Axis
from prepkit.kit.names import BORN
from prepkit.list.lines import ListLine, TrayList
from prepkit.preparation.baby.suitability import find_suitability_missing
from prepkit.preparation.batches.decide import find_wanted_product
from prepkit.preparation.lines.contradictions import find_contradicting, find_contradictions
from prepkit.preparation.lines.decide import GIVE_FIRST
from prepkit.preparation.lines.marks import LostMark
from prepkit.preparation.listing import WorkedList
from prepkit.preparation.readiness import About
from prepkit.preparation.state import Preparation
from prepkit.preparation.text import say_stamp
from prepkit.quantities.text import show_amount, show_range
from prepkit.rules.findings import Kind
from prepkit.view.banner import show_banner
from prepkit.view.models import (
    BirthQuestion,
    EntryQuestion,
    GroupRows,
    LineRow,
    LineView,
    ListView,
    Offer,
    Sign,
)
from prepkit.view.pictures import list_pictures
from prepkit.view.routes import ScreenRoute, Target
from prepkit.wording.say import say, say_all, say_joined

_ORDERED_OTHERWISE = frozenset({Kind.BY_ORDER_ALONE, Kind.OTHER_BEFORE, Kind.TOO_EARLY})
"""Why a dose is not drawn up by itself, though a prescriber may order one."""
FIRST_CAUTIONS = 3
"""As many are shown with the line; the rest one touch away."""
OF_WEIGHT_NOW = frozenset({Axis.WEIGHT_NOW, Axis.GREATER_WEIGHT})
"""What cannot be told while the weight now is still to be entered."""


def show_list(state: Preparation, worked: WorkedList, news: str, asked: str = "") -> ListView:
    """The list in groups; or why there is none yet.

    Args:
        state: the preparation.
        worked: its list as worked out now.
        news: that the ward file or the kit has changed since, in words; else empty.
        asked: the question whose baby doses given under this cot label were, while nobody answered it; else empty.
    """
    noticed = _list_notices(state, worked)
    notices, targets = tuple(words for words, _ in noticed), tuple(target for _, target in noticed)
    if worked.tray is None:
        return ListView(
            show_banner(state, worked.baby),
            "no list yet",
            notices,
            targets,
            worked.withheld,
            (),
            news,
            say_offered(state),
        )
    left = f"{state.left} of {len(state.lines)} left"
    groups = tuple(
        _show_group(group.id, group.name, state, worked.tray)
        for group in worked.kit.model.group
        if any(line.group == group.id for line in worked.tray.lines)
    )
    return ListView(
        banner=show_banner(state, worked.baby),
        left=left,
        notices=notices,
        targets=targets,
        withheld="",
        groups=groups,
        news=news,
        handover=say_offered(state),
        birth=_ask_birth(worked.tray),
        same_baby=asked,
        wanted=_say_wanted(worked.tray),
    )


def _ask_birth(tray: TrayList) -> BirthQuestion | None:
    """Whether the baby was born today, where a line hangs on it and nobody said."""
    if not any(tray.asks_birth(line) for line in tray.lines):
        return None
    assumed = tray.baby.born.day
    # Past midnight it is still the day on which the preparation began.
    today = "today, " if tray.baby.age.least_min == 0 else ""
    return BirthQuestion(BORN, f"Born {today}{assumed:%d %b}?", assumed.isoformat())


def _say_wanted(tray: TrayList) -> str:
    """Say that lines wait for the weight now; nothing where none does."""
    waiting = [line for line in tray.lines if not OF_WEIGHT_NOW.isdisjoint(line.declared.reads)]
    if not tray.baby.is_weight_wanted or not waiting:
        return ""
    return f"Weight now to enter: {len(waiting)} line{'s wait' if len(waiting) > 1 else ' waits'} for it."


def say_offered(state: Preparation) -> str:
    """Say that it was handed over; an empty string where it was not, or somebody has taken it."""
    return f"Handed over by {say_stamp(state.handover.stamp)}: take it" if state.handover else ""


def show_line(state: Preparation, worked: WorkedList, line_id: str) -> LineView | None:
    """One line opened; None where the list has no such line (any more)."""
    line = next((line for line in worked.tray.lines if line.id == line_id), None) if worked.tray else None
    if line is None or worked.tray is None:
        return None
    snapshot = state.find_line(line_id)
    waits_for_hand, source = _does_wait_for_hand(line, state, worked), say_joined(line.source)
    tick, against = _offer_tick(line, state, waits_for_hand=waits_for_hand), find_contradicting(line, worked.tray)
    # Whoever ticks it says so of the fact too: it is asked first, and the tick goes on where the two agree.
    claimed = against.fact if against and not tick.refusal else ""
    cautions = say_all(line.cautions)
    return LineView(
        banner=show_banner(state, worked.baby),
        row=show_row(line, state, worked.tray),
        parts=say_all(line.parts),
        how=say_all(line.how),
        working=say_all(line.outcome.working),
        cautions=cautions[:FIRST_CAUTIONS],
        further_cautions=cautions[FIRST_CAUTIONS:],
        further=_count_further(cautions[FIRST_CAUTIONS:]),
        basis="" if source.startswith(line.basis) else line.basis,
        source=source,
        pictures=list_pictures(line, worked),
        tick=tick,
        waits_for_hand=waits_for_hand,
        set_aside=_offer_set_aside(line, state),
        is_ticked=state.is_ticked(line.id),
        is_set_aside=state.is_set_aside(line.id),
        asks=(snapshot.asks if snapshot else "") or claimed,
        contradicts=claimed if state.is_ticked(line.id) else "",
        enters=_ask_entry(line),
        fingerprint=snapshot.fingerprint if snapshot else "",
        order=Offer("Order", "") if line.kind == "dose" else None,
    )


def _count_further(cautions: tuple[str, ...]) -> str:
    return f"{len(cautions)} more caution{'s' if len(cautions) > 1 else ''}" if cautions else ""


def _list_notices(state: Preparation, worked: WorkedList) -> list[tuple[str, Target]]:
    """What stands over the whole list, and where each sentence leads."""
    notices = []
    if worked.ward is None:
        notices.append("No ward file: devices stand on their label alone, and medicines are blocked.")
    if worked.tray is not None:
        notices += say_all(worked.tray.overdue)
    missing = find_suitability_missing(state, worked)
    for about, words in ((About.NOT_SUITABLE, "Not suitable: see why."), (About.SENIOR, "A senior has to agree.")):
        if any(each.about is about for each in missing):
            notices.append(words)
    questions = sum(each.about is About.QUESTION for each in missing)
    if questions:
        notices.append(f"{questions} question{'s' if questions > 1 else ''} to answer before ready.")
    why = [(words, Target(ScreenRoute.SUITABILITY)) for words in notices]
    why += [(str(each), Target(ScreenRoute.LINE, each.line)) for each in find_contradictions(state, worked.tray)]
    given = sum(each.about is About.FACT for each in missing)
    give = f"{given} fact{'s' if given > 1 else ''} to give before ready."
    assumed = sum(each.about is About.ASSUMED for each in missing)
    confirm = f"{assumed} default{'s' if assumed > 1 else ''} to confirm before ready."
    gone = [f"{change.name} is no longer on the list: take it off the tray." for change in state.gone]
    return [
        *why,
        *([(give, Target(ScreenRoute.BABY))] if given else []),
        *([(confirm, Target(ScreenRoute.BABY))] if assumed else []),
        *((words, Target(ScreenRoute.LIST)) for words in gone),
    ]


def _show_group(group: str, name: str, state: Preparation, tray: TrayList) -> GroupRows:
    rows = tuple(show_row(line, state, tray) for line in tray.lines if line.group == group)
    done = sum(1 for row in rows if state.is_ticked(row.id) or state.is_set_aside(row.id))
    return GroupRows(group, name, f"{done} of {len(rows)}", rows)


def _ask_entry(line: ListLine) -> EntryQuestion | None:
    enters = line.outcome.enters
    if enters is None:
        return None
    label, ask = _ENTRIES[enters.what]
    had = line.outcome.entered
    asked = f"{ask} ({show_range(enters.least, enters.most)})" if enters.what == "mark" else ask
    return EntryQuestion(label, f"{asked} Now {show_amount(had.amount)}." if had else asked, enters.least.unit.text)


_ENTRIES = {
    "setting": ("Value", "Not set on this ward. What is it set to?"),
    "air": ("Air", "Not set on this ward. How much air lies behind the dose?"),
    "mark": ("Mark", "Which one mark does the catheter get?"),
}


def show_row(line: ListLine, state: Preparation, tray: TrayList) -> LineRow:
    """One line as a row of a list; what it only stands by comes first of its details."""
    sign, word, note = _add_contradiction(line, state, tray, *_add_check(line, state, *_show_standing(line, state)))
    remarks = () if line.outcome.blocked else tray.list_remarks(line)
    details = say_all((*remarks, *line.outcome.details))
    return LineRow(line.id, line.name, say(line.outcome.show), details, sign, word, note)


def _add_check(line: ListLine, state: Preparation, sign: Sign, word: str, note: str) -> tuple[Sign, str, str]:
    """Say beside how the line stands whether a second person has checked it, or has to check it again."""
    if not line.declared.check or line.outcome.blocked or state.is_set_aside(line.id):
        return sign, word, note
    check = state.find_check(line.id)
    if check is not None:
        if check.holds:
            return sign, f"{word}, checked {check.stamp.who}", note
        held = f"{check.stamp.who}'s check differs: settle it, or correct the fact"
        return Sign.QUESTION, f"{word}, check differs", f"{note}; {held}" if note else held
    void = state.voided.get(line.id)
    if void is None:
        return sign, word, note
    again = f"changed since {void.was_by} checked it, check again"
    return sign, word, f"{note}; check again" if note else again


def _add_contradiction(
    line: ListLine, state: Preparation, tray: TrayList, sign: Sign, word: str, note: str
) -> tuple[Sign, str, str]:
    """Say beside a ticked line which fact says otherwise."""
    found = find_contradicting(line, tray) if state.is_ticked(line.id) else None
    if found is None:
        return sign, word, note
    return Sign.QUESTION, word, f"{note}; {found.words()}" if note else found.words()


def _show_standing(line: ListLine, state: Preparation) -> tuple[Sign, str, str]:
    if state.is_ticked(line.id):
        tick = state.ticks[line.id]
        return Sign.DONE, f"done {tick.stamp.who} {tick.stamp.at:%H:%M}", ""
    if state.is_set_aside(line.id):
        aside = state.set_asides[line.id]
        return Sign.NOT_NEEDED, f"not needed {aside.stamp.who}", aside.reason
    if line.outcome.blocked:
        return Sign.BLOCKED, "blocked", _say_blocked(line)
    change = state.changes.get(line.id)
    if change is not None:
        return Sign.CHANGED, "changed", _say_change(change, line)
    return Sign.TO_DO, "to do", ""


def _say_blocked(line: ListLine) -> str:
    """Say why it is blocked, and where to look where something else can be ordered."""
    blocked = line.outcome.blocked
    return f"{say(blocked)}; see Order" if blocked and blocked.kind in _ORDERED_OTHERWISE else say(blocked)


def _say_change(change: LostMark, line: ListLine) -> str:
    did = "set aside" if change.was_set_aside else "ticked"
    show = say(line.outcome.show)
    if change.old_show == show:
        return f"its details changed after {change.was_by} {did} it"
    return f"was {change.old_show or 'no amount'} when {change.was_by} {did} it, now {show or 'no amount'}"


def _does_wait_for_hand(line: ListLine, state: Preparation, worked: WorkedList) -> bool:
    """Whether nothing keeps a line from being ticked but that batch and expiry are wanted first."""
    if line.outcome.blocked or state.is_ticked(line.id) or state.is_set_aside(line.id) or state.find_in_hand(line.id):
        return False
    return find_wanted_product(worked, line.id) is not None


def _offer_tick(line: ListLine, state: Preparation, *, waits_for_hand: bool) -> Offer:
    if state.is_ticked(line.id):
        return Offer("Un-tick", "")
    if line.outcome.blocked:
        return Offer("Tick", f"Blocked: {say(line.outcome.blocked)}")
    if state.is_set_aside(line.id):
        return Offer("Tick", "It is set aside as not needed: take that back first.")
    if waits_for_hand:
        return Offer("Tick", f"{GIVE_FIRST[0].upper()}{GIVE_FIRST[1:]}")
    return Offer("Tick", "")


def _offer_set_aside(line: ListLine, state: Preparation) -> Offer:
    if state.is_set_aside(line.id):
        return Offer("Needed after all", "")
    if line.declared.line.essential:
        return Offer("Not needed", f"{line.name} is essential: it cannot be set aside.")
    if state.is_ticked(line.id):
        return Offer("Not needed", "It is ticked: un-tick it first.")
    return Offer("Not needed", "")
