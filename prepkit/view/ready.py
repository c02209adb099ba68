"""The gate: what is missing, or the summary to read aloud."""

from datetime import datetime

from prepkit.kit.person import PersonFact
from prepkit.kit.read import ParsedFile
from prepkit.kit.ward import Ward
from prepkit.list.lines import ListLine, TrayList
from prepkit.preparation.baby.suitability import find_suitability_missing
from prepkit.preparation.check.required import find_check_missing
from prepkit.preparation.lines.contradictions import find_contradictions
from prepkit.preparation.listing import WorkedList
from prepkit.preparation.readiness import About, Missing, compute_missing, compute_ready_fingerprint
from prepkit.preparation.stale import list_stale
from prepkit.preparation.state import Preparation
from prepkit.preparation.text import say_stamp
from prepkit.rules.findings import Kind
from prepkit.view.baby import show_weight_question
from prepkit.view.banner import show_banner
from prepkit.view.check import say_read
from prepkit.view.models import ReadyView
from prepkit.view.pictures import draw_groups
from prepkit.view.routes import ScreenRoute, Target
from prepkit.wording.say import say, say_all
from prepkit.wording.things import say_size

_MOST_DETAILS_ALOUD = 4
NOT_VERIFIED = "Initials not verified by PIN."


def show_ready(state: Preparation, worked: WorkedList, now: datetime, news: str = "", asked: str = "") -> ReadyView:
    """The gate. It opens only when nothing is missing; only then is there a summary."""
    missing = find_missing(state, worked, now, news, asked)
    banner = show_banner(state, worked.baby)
    if missing or worked.tray is None:
        title = f"Not ready: {len(missing)} to do"
        return ReadyView(
            banner,
            is_open=False,
            title=title,
            missing=missing,
            summary=(),
            said="",
            pictures=draw_groups(state, worked),
            targets=tuple(target_of(each) for each in missing),
        )
    said = ""
    if state.read_aloud is not None and state.is_read_aloud(compute_ready_fingerprint(state)):
        said = f"Read aloud by {state.read_aloud.stamp.who} at {state.read_aloud.stamp.at:%H:%M}."
    summary = _write_summary(state, worked.tray)
    return ReadyView(
        banner, is_open=True, title="Ready: read this aloud", missing=(), summary=summary, said=said, pictures=()
    )


def find_missing(
    state: Preparation, worked: WorkedList, now: datetime, news: str = "", asked: str = ""
) -> tuple[Missing, ...]:
    """What stands between now and ready, a sentence each.

    Args:
        state: the preparation.
        worked: its list as worked out now.
        now: what time it is.
        news: that the kit or the ward file changed, in words; else empty.
        asked: the question whose baby doses given under this cot label were, while nobody answered it; else empty.
    """
    question = show_weight_question(worked)
    is_news = news and not state.stood_down
    changed = (Missing(f"{news} Accept the change on the list first.", About.NEWS),) if is_news else ()
    before = (Missing(asked, About.GIVEN_BEFORE),) if asked else ()
    suitability = (*changed, *before, *find_suitability_missing(state, worked))
    missing = compute_missing(state, suitability, " ".join(question.words) if question else "")
    if state.stood_down:
        return missing
    stale = (Missing(each.words, About.LINE, each.line) for each in list_stale(state, worked, now))
    against = find_contradictions(state, worked.tray)
    return (*missing, *against, *stale, *find_check_missing(state, worked), *_say_handed_over(state))


_ROUTES = {
    About.NEWS: ScreenRoute.LIST,
    About.WEIGHT: ScreenRoute.BABY,
    About.BIRTH: ScreenRoute.LIST,
    About.GIVEN_BEFORE: ScreenRoute.LIST,
    About.WITHHELD: ScreenRoute.BABY,
    About.NOT_SUITABLE: ScreenRoute.SUITABILITY,
    About.QUESTION: ScreenRoute.SUITABILITY,
    About.SENIOR: ScreenRoute.SUITABILITY,
    About.ASSUMED: ScreenRoute.BABY,
    About.FACT: ScreenRoute.BABY,
    About.LINE: ScreenRoute.LINE,
    About.CONTRADICTION: ScreenRoute.LINE,
    About.CHECK: ScreenRoute.CHECK,
    About.DIFFERENCE: ScreenRoute.DIFFERENCE,
    About.HANDOVER: ScreenRoute.HANDOVER,
    About.ENDED: ScreenRoute.LIST,
}


def target_of(missing: Missing) -> Target:
    """Where a sentence of what is missing leads."""
    return Target(_ROUTES[missing.about], missing.line, missing.fact if missing.about is About.FACT else "")


def _say_handed_over(state: Preparation) -> tuple[Missing, ...]:
    """Say that it waits to be taken; nothing where it does not."""
    if state.handover is None:
        return ()
    return (Missing(f"Handed over by {say_stamp(state.handover.stamp)}: to be taken", About.HANDOVER),)


def _write_summary(state: Preparation, tray: TrayList) -> tuple[str, ...]:
    first = f"{state.cot}: {say_size(tray.baby.size)}. {tray.kit.model.short}."
    lines = [_say_line(line) for line in tray.lines if line.declared.line.aloud and not state.is_set_aside(line.id)]
    aside = [
        f"Not needed: {line.name} ({state.set_asides[line.id].reason}; {state.set_asides[line.id].stamp.who})."
        for line in tray.lines
        if state.is_set_aside(line.id)
    ]
    said = (*say_roles(tray), *_say_not_recorded(tray))
    return (first, *said, *_say_by_weight_now(tray), *lines, *aside, *_say_checks(state), *say_not_verified(tray.ward))


def say_roles(tray: TrayList) -> tuple[str, ...]:
    """Who has which role: "Leads: KM, skilled."; those that nobody has yet are left out."""
    people = [fact for fact in tray.laid.fact if isinstance(fact, PersonFact)]
    return tuple(f"{fact.label}: {who}." for fact in people if (who := tray.baby.facts.get(fact.id)))


def _say_not_recorded(tray: TrayList) -> tuple[str, ...]:
    """Say once what was not recorded as said or done."""
    texts = {each.id: each.text for each in tray.laid.criterion}
    names = [texts[each.criterion] for each in tray.reasons if each.is_said and each.verdict != "met"]
    return (f"Not recorded: {'; '.join(names)}.",) if names else ()


def _say_by_weight_now(tray: TrayList) -> tuple[str, ...]:
    """Say once which lines go by the weight now because the birth weight is not known."""
    by_now = (
        line.name for line in tray.lines if any(each.kind is Kind.BY_WEIGHT_NOW for each in tray.list_remarks(line))
    )
    names = ", ".join(by_now)
    return (f"The birth weight is not known. By the weight now: {names}.",) if names else ()


def say_not_verified(ward: ParsedFile[Ward] | None) -> tuple[str, ...]:
    """Say once that nobody's initials stand behind a PIN, where the ward runs without."""
    return () if ward is not None and ward.model.people.pins else (NOT_VERIFIED,)


def _say_checks(state: Preparation) -> tuple[str, ...]:
    """Say who checked and what was settled; the rest of a check is that the two agree."""
    checks = [state.checks[line.id] for line in state.lines if state.is_checked(line.id)]
    if not checks:
        return ()
    people = "; ".join(dict.fromkeys(check.stamp.who for check in checks))
    settled = [
        f"{check.name}: the check said {check.value}, settled by {check.settled.stamp.who} ({check.settled.reason})."
        for check in checks
        if check.settled
    ]
    return (f"Checked blind by {people}: {say_read(state)}; {len(checks)} lines.", *settled)


def _say_line(line: ListLine) -> str:
    # Where the ward file changed the value, the first detail says so and takes no other's place.
    parts = (
        say(line.outcome.show),
        *say_all(line.outcome.details)[: _MOST_DETAILS_ALOUD + bool(say(line.outcome.kits_own))],
    )
    return f"{line.name}: {'; '.join(part for part in parts if part)}."
