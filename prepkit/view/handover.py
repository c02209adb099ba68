"""What the next person has to know: who did what, what is left, what is past its time."""

from datetime import datetime

from msgspec import Struct

from prepkit.list.lines import ListLine
from prepkit.preparation.listing import WorkedList
from prepkit.preparation.readiness import About, compute_ready_fingerprint
from prepkit.preparation.stale import find_stale
from prepkit.preparation.state import Preparation
from prepkit.preparation.text import say_stamp
from prepkit.view.banner import show_banner
from prepkit.view.models import Banner
from prepkit.view.ready import find_missing, say_not_verified
from prepkit.wording.say import say


class HandoverView(Struct, frozen=True):
    """What the next person has to know before they take a preparation."""

    banner: Banner
    note: str
    """The leaver's own line, with who and when; empty where nobody handed it over."""
    done: tuple[str, ...]
    """Who did what."""
    left: tuple[str, ...]
    stale: tuple[str, ...]
    """What has gone past its time."""
    is_offered: bool
    """Whether it waits to be taken."""
    leaver: str
    """Initials of whoever handed it over; empty where nobody did."""
    standing: str
    """Give it back when taking: it is taken as it was shown."""
    initials: str = ""
    """That initials are not verified by PIN, where the ward runs without; else empty."""


def show_handover(state: Preparation, worked: WorkedList, now: datetime, asked: str = "") -> HandoverView:
    """The handover as it stands."""
    lines = worked.tray.lines if worked.tray else ()
    missing, stale = find_missing(state, worked, now, asked=asked), find_stale(state, worked, now)
    handover = state.handover
    note = f'{say_stamp(handover.stamp)}: "{handover.note}"' if handover else ""
    return HandoverView(
        banner=show_banner(state, worked.baby),
        note=note,
        done=tuple(said for line in lines if (said := _say_done(line, state))),
        left=tuple(each for each in missing if each not in stale and each.about is not About.HANDOVER),
        stale=stale,
        is_offered=handover is not None,
        leaver=handover.stamp.who if handover else "",
        standing=compute_ready_fingerprint(state),
        initials=" ".join(say_not_verified(worked.ward)),
    )


def _say_done(line: ListLine, state: Preparation) -> str:
    """Say who ticked, set aside and checked a line; empty where nobody did."""
    if state.is_set_aside(line.id):
        aside = state.set_asides[line.id]
        return f"{line.name}: not needed ({aside.reason}), {say_stamp(aside.stamp)}"
    if not state.is_ticked(line.id):
        return ""
    check = state.checks.get(line.id) if state.is_checked(line.id) else None
    checked = f", checked {say_stamp(check.stamp)}" if check else ""
    show = f" {say(line.outcome.show)}" if line.outcome.show else ""
    return f"{line.name}{show}: {say_stamp(state.ticks[line.id].stamp)}{checked}"
