"""The first screen, and what has ended or is locked: view-models and the functions that make them.

Needs neither kits nor rules, so that it paints at once; what it needs of a preparation is imported once there is one.
"""

from collections.abc import Mapping
from datetime import datetime
from typing import TYPE_CHECKING

from msgspec import Struct
from msgspec.structs import replace

from prepkit.kit.names import BIRTH_GESTATION, BIRTH_WEIGHT, CORE_LABELS, NOT_KNOWN, NOT_WEIGHED, WEIGHT_NOW
from prepkit.view.signs import Sign

if TYPE_CHECKING:
    from prepkit.preparation.bedside.record import BedsideRecord
    from prepkit.preparation.state import Preparation


class HomeRow(Struct, frozen=True):
    """One preparation in progress."""

    prep: str
    cot: str
    kit: str
    left: str
    """What is left: "12 of 31 left", "weight to enter", "ready since 03:12"."""
    who: str
    """Who last did something, and since when it has been going: "AB · since 02:41"."""
    sign: Sign
    practice: bool
    apart: str = ""
    """What tells it from another one in progress under the same label: "begun 02:41 · 1450 g · 30+2"; else empty."""


class EndedRow(Struct, frozen=True):
    """One preparation that has ended."""

    prep: str
    cot: str
    kit: str
    how: str
    """How it ended, by whom and when: "closed by RA at 10:15"."""
    sign: Sign
    practice: bool


class EndedView(Struct, frozen=True):
    """A page of the preparations that have ended, the last ended first."""

    rows: tuple[EndedRow, ...]
    unreadable: tuple[str, ...]
    empty: str
    """What to say where there is none."""
    older: int | None
    """What to ask for to see those that ended before these; None where these are the first that ended."""


class PersonRow(Struct, frozen=True):
    """Somebody on the staff list, to be chosen when another person takes over the desk."""

    initials: str
    role: str


class LockedView(Struct, frozen=True):
    """What a locked screen shows of a preparation: its cot and how far it is, and nothing about the baby."""

    cot: str
    left: str
    """How much is left in words: "12 of 31 left"."""


class KitChoice(Struct, frozen=True):
    """A kit that a new preparation may be started from."""

    id: str
    name: str
    note: str
    """Edition, or why it cannot be used."""
    usable: bool


class HomeView(Struct, frozen=True):
    """The first screen."""

    ward: str
    rows: tuple[HomeRow, ...]
    more: str
    """That there are more than are shown; empty where there are not."""
    notices: tuple[str, ...]
    """Things to know before starting: no ward file, a ward file with problems, a practice store."""
    empty: str
    """What to say where there is no preparation."""


EMPTY = "No preparation is in progress. Start one below: a cot label, birth weight and gestation at birth are enough."


def show_home(
    preparations: "tuple[tuple[str, Preparation], ...]",
    more: int,
    ward: str,
    notices: tuple[str, ...],
    now: datetime,
) -> HomeView:
    """The home screen.

    Args:
        preparations: id and state of each one in progress that is shown, the newest first.
        more: how many there are beside those, begun before them.
        ward: the ward's name, or that there is none.
        notices: what to know before starting.
        now: for "since".
    """
    rows = tuple(_tell_apart(_show_row(prep, state, now), state, preparations, now) for prep, state in preparations)
    return HomeView(ward, rows, f"{more} more, begun before these" if more else "", notices, "" if rows else EMPTY)


def list_sharing(
    preparations: "tuple[tuple[str, Preparation], ...]", cot: str, now: datetime
) -> tuple[tuple[str, str], ...]:
    """Those in progress under a cot label, however it is written: the id of each, and what tells it from another."""
    return tuple(
        (prep, f"{state.cot} · {_say_apart(state, now)}" + (" · practice" if state.practice else ""))
        for prep, state in preparations
        if _is_same_label(state.cot, cot)
    )


def _tell_apart(
    row: HomeRow, state: "Preparation", preparations: "tuple[tuple[str, Preparation], ...]", now: datetime
) -> HomeRow:
    sharing = sum(_is_same_label(other.cot, row.cot) for _, other in preparations)
    return replace(row, apart=_say_apart(state, now)) if sharing > 1 else row


def _say_apart(state: "Preparation", now: datetime) -> str:
    """Say when it was begun and for whom; no weight while somebody checks."""
    from prepkit.view.banner import show_banner  # noqa: PLC0415  (with nothing in progress, 15 ms of the first frame)

    return f"begun {show_moment(state.started.at, now)} · {show_banner(state).baby}"


def _is_same_label(one: str, other: str) -> bool:
    """Whether two labels may stand on the same cot: spaces, dashes and capitals make no other cot."""
    return _bare(one) == _bare(other)


def _bare(label: str) -> str:
    return "".join(character for character in label.casefold() if character.isalnum())


def show_ended(
    preparations: "tuple[tuple[str, Preparation], ...]",
    unreadable: tuple[str, ...],
    now: datetime,
    older: int | None,
) -> EndedView:
    """A page of those that have ended: id and state of each one, the last ended first; where the next page begins."""
    rows = tuple(_show_ended_row(prep, state, now) for prep, state in preparations)
    return EndedView(rows, unreadable, "" if rows or unreadable else "No preparation has ended yet.", older)


def _show_ended_row(prep: str, state: "Preparation", now: datetime) -> EndedRow:
    how, sign = "", Sign.DONE
    if (closed := state.cot_record.closed) is not None:
        how = f"closed by {closed.who} at {show_moment(closed.at, now)}"
    elif (ended := state.stood_down) is not None:
        how = f"stood down by {ended.stamp.who} at {show_moment(ended.stamp.at, now)}: {ended.reason}"
        sign = Sign.NOT_NEEDED
    return EndedRow(prep, state.cot, state.kit_name, how, sign, state.practice)


def show_locked(state: "Preparation", now: datetime) -> LockedView:
    """What a locked screen shows of one preparation: whoever passes may read it, so nothing about the baby."""
    return LockedView(state.cot, _show_progress(state, now)[1])


def _show_row(prep: str, state: "Preparation", now: datetime) -> HomeRow:
    sign, left = _show_progress(state, now)
    if state.handover is not None:
        sign, left = Sign.QUESTION, f"handed over by {state.handover.stamp.who} · {left}"
    since = show_moment(state.started.at, now)
    who = f"{state.last.who} at {show_moment(state.last.at, now)} · begun {since}"
    return HomeRow(prep, state.cot, state.kit_name, left, who, sign, state.practice)


def _show_progress(state: "Preparation", now: datetime) -> tuple[Sign, str]:
    from prepkit.preparation.readiness import compute_ready_fingerprint  # noqa: PLC0415  (as above)

    if state.check is not None:
        return Sign.QUESTION, f"being checked by {state.check.stamp.who}"
    if state.cot_record.entries:
        return _show_cot_progress(state.cot_record, now)
    read = state.read_aloud
    if read is not None and state.is_read_aloud(compute_ready_fingerprint(state)):
        return Sign.DONE, f"read aloud, gone to the cot {show_moment(read.stamp.at, now)}"
    if missing := _say_missing(state.facts):
        return Sign.QUESTION, f"{missing} to enter"
    if state.withheld:
        return Sign.QUESTION, "weight to enter again"
    return _show_list_progress(state)


def _say_missing(facts: Mapping[str, str]) -> str:
    """The facts without which there is no list, in words; empty where all are given."""
    is_weighed = facts.get(WEIGHT_NOW, NOT_WEIGHED) != NOT_WEIGHED
    missing = [name for name in (BIRTH_WEIGHT, BIRTH_GESTATION) if name not in facts]
    if facts.get(BIRTH_WEIGHT) == NOT_KNOWN and not is_weighed:
        missing.insert(0, WEIGHT_NOW)
    return " and ".join(CORE_LABELS[name].lower() for name in missing)


def _show_list_progress(state: "Preparation") -> tuple[Sign, str]:
    changed = sum(1 for line in state.lines_left if line.id in state.changes)
    more = f", {changed} changed" if changed else ""
    if state.left:
        return Sign.CHANGED if changed else Sign.TO_DO, f"{state.left} of {len(state.lines)} left{more}"
    return Sign.QUESTION, "all done: go to Ready"


def _show_cot_progress(record: "BedsideRecord", now: datetime) -> tuple[Sign, str]:
    """What comes next after the list was read aloud: the follow-up that is due first, else the record."""
    dues = sorted((due.at, due.name) for key, due in record.dues.items() if not record.is_made(key))
    if dues:
        at, name = dues[0]
        word = "due now, since" if at <= now else "due"
        return Sign.QUESTION if at <= now else Sign.TO_DO, f"{name}: {word} {show_moment(at, now)}"
    last = record.unstruck_entries[-1:]
    where = "at the cot" if record.is_away else "came back to prepare anew"
    since = f", last entry {show_moment(last[0].at, now)}" if last else ""
    return Sign.QUESTION if record.dues else Sign.TO_DO, "record to sign" if record.dues else f"{where}{since}"


def show_moment(at: datetime, now: datetime) -> str:
    """A clock time, with the day where it is not today's: "03:12", "24 Nov 23:50"."""
    local = at.astimezone(now.tzinfo)
    return f"{local:%H:%M}" if local.date() == now.date() else f"{local:%d %b %H:%M}"
