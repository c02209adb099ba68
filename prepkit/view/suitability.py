"""Whether the route is for this baby, in words: the page of reasons against it, what was said or done, the verdict."""

from prepkit.kit.kit import Criterion
from prepkit.list.lines import TrayList
from prepkit.preparation.baby.suitability import compute_suitability_fingerprint, is_senior_wanted
from prepkit.preparation.listing import WorkedList
from prepkit.preparation.state import Preparation
from prepkit.rules.criteria import Reason
from prepkit.rules.findings import cite
from prepkit.view.banner import show_banner
from prepkit.view.models import CriterionRow, Sign, SuitabilityView
from prepkit.wording.say import say

_ANSWERED = {
    "yes": (Sign.BLOCKED, "applies"),
    "no": (Sign.DONE, "no"),
    "unsure": (Sign.QUESTION, "not sure"),
}
_OPEN = (Sign.TO_DO, "open")
_SIGNS = {
    "met": Sign.DONE,
    "questions open": Sign.QUESTION,
    "ask a senior": Sign.QUESTION,
    "not suitable": Sign.BLOCKED,
    "advice": Sign.ADVICE,
}
_WORDS = {
    "met": "met",
    "questions open": "to answer",
    "ask a senior": "ask a senior",
    "not suitable": "not met",
    "advice": "advice",
}
_NEXT = {
    "suitable": "Nothing here stands in the way.",
    "questions open": "Touch each reason that applies, then say that no other does. Meanwhile lay out the list.",
    "ask a senior": "Somebody senior has to agree, by initials and a line of reason. It cannot go ready before that.",
    "not suitable": "This route is not for this baby as the facts stand. Correct what is wrong, or stand down.",
}


def show_suitability(state: Preparation, worked: WorkedList, others: str = "") -> SuitabilityView:
    """The page, and the verdict with what the facts show; before there is a list, the page alone."""
    tray = worked.tray
    words = (worked.withheld,) if tray is None else _say_next(state, tray, others)
    against = tuple(_show_against(each, state, worked) for each in worked.laid.criterion if each.is_against)
    left = sum(row.sign is Sign.TO_DO for row in against)
    return SuitabilityView(
        banner=show_banner(state, worked.baby),
        sign=_find_sign(tray),
        verdict=tray.verdict if tray else "not known yet",
        words=words,
        against=against,
        progress=f"{len(against) - left} of {len(against)}",
        none_offer="" if not left else "None of these" if left == len(against) else "None of the others",
        said=tuple(_show_said(each, state, worked) for each in worked.laid.criterion if each.is_said),
        facts=_show_facts(worked, tray) if tray else (),
        senior_wanted=tray is not None and is_senior_wanted(state, tray),
    )


def _find_sign(tray: TrayList | None) -> Sign:
    if tray is None:
        return Sign.QUESTION
    return Sign.DONE if tray.verdict == "suitable" else _SIGNS[tray.verdict]


def _say_next(state: Preparation, tray: TrayList, others: str) -> tuple[str, ...]:
    if state.senior is not None and state.is_senior_agreed(compute_suitability_fingerprint(tray)):
        return (f'{state.senior.senior} agreed at {state.senior.stamp.at:%H:%M}: "{state.senior.note}".',)
    return (_NEXT[tray.verdict], *([others] if others else []))


def _show_against(criterion: Criterion, state: Preparation, worked: WorkedList) -> CriterionRow:
    given = state.answers.get(criterion.id)
    sign, word = _ANSWERED[given.answer] if given else _OPEN
    return _show(criterion, sign, word, worked)


def _show_said(criterion: Criterion, state: Preparation, worked: WorkedList) -> CriterionRow:
    sign, word = (Sign.DONE, "done") if criterion.id in state.said else _OPEN
    return _show(criterion, sign, word, worked)


def _show(criterion: Criterion, sign: Sign, word: str, worked: WorkedList) -> CriterionRow:
    source = say(cite(worked.laid, criterion.basis, criterion.source))
    return CriterionRow(criterion.id, criterion.text, sign, word, source)


def _show_facts(worked: WorkedList, tray: TrayList) -> tuple[CriterionRow, ...]:
    said = {each.id for each in worked.laid.criterion if each.where is None}
    return tuple(_show_fact(reason) for reason in tray.reasons if reason.criterion not in said)


def _show_fact(reason: Reason) -> CriterionRow:
    return CriterionRow(
        reason.criterion, say(reason.text), _SIGNS[reason.verdict], _WORDS[reason.verdict], say(reason.source)
    )
