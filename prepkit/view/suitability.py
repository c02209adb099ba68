"""Whether the route is for this baby, in words."""

from prepkit.kit.kit import Criterion, Kit
from prepkit.list.lines import TrayList
from prepkit.preparation.baby.suitability import compute_suitability_fingerprint, is_senior_wanted
from prepkit.preparation.listing import WorkedList
from prepkit.preparation.state import Preparation
from prepkit.rules.criteria import Reason
from prepkit.rules.findings import cite
from prepkit.view.banner import show_banner
from prepkit.view.models import CriterionRow, Sign, SuitabilityView
from prepkit.wording.say import say

_ANSWERS = (("yes", "Yes"), ("no", "No"), ("unsure", "Unsure"))
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
    "questions open": "Answer the questions. Meanwhile lay out the list; it cannot go ready yet.",
    "ask a senior": "Somebody senior has to agree, by initials and a line of reason. It cannot go ready before that.",
    "not suitable": "This route is not for this baby as the facts stand. Correct what is wrong, or stand down.",
}


def show_suitability(state: Preparation, worked: WorkedList, others: str = "") -> SuitabilityView:
    """Verdict, reasons and questions; before there is a list, the questions alone."""
    kit, tray = worked.laid, worked.tray
    if tray is None:
        rows = tuple(_show_question(kit, row, state) for row in kit.criterion if row.wanted)
        return SuitabilityView(
            show_banner(state, worked.baby),
            Sign.QUESTION,
            "not known yet",
            (worked.withheld,),
            rows,
            senior_wanted=False,
        )
    questions = {row.id for row in kit.criterion if row.wanted}
    rows = tuple(_show_row(reason, state, is_question=reason.criterion in questions) for reason in tray.reasons)
    words = [_NEXT[tray.verdict], *([others] if others else [])]
    if state.senior is not None and state.is_senior_agreed(compute_suitability_fingerprint(tray)):
        words = [f'{state.senior.senior} agreed at {state.senior.stamp.at:%H:%M}: "{state.senior.note}".']
    wanted = is_senior_wanted(state, tray)
    return SuitabilityView(
        show_banner(state, worked.baby), _find_sign(tray), tray.verdict, tuple(words), rows, senior_wanted=wanted
    )


def _find_sign(tray: TrayList) -> Sign:
    return Sign.DONE if tray.verdict == "suitable" else _SIGNS[tray.verdict]


def _show_row(reason: Reason, state: Preparation, *, is_question: bool) -> CriterionRow:
    given = state.answers.get(reason.criterion)
    return CriterionRow(
        id=reason.criterion,
        text=say(reason.text),
        sign=_SIGNS[reason.verdict],
        word=_WORDS[reason.verdict],
        is_question=is_question,
        answers=_ANSWERS if is_question else (),
        answer=given.answer if given and is_question else None,
        source=say(reason.source),
    )


def _show_question(kit: Kit, criterion: Criterion, state: Preparation) -> CriterionRow:
    given = state.answers.get(criterion.id)
    sign, word = (Sign.DONE, "answered") if given else (Sign.QUESTION, "to answer")
    source = say(cite(kit, criterion.basis, criterion.source))
    answer = given.answer if given else None
    return CriterionRow(
        id=criterion.id,
        text=criterion.text,
        sign=sign,
        word=word,
        is_question=True,
        answers=_ANSWERS,
        answer=answer,
        source=source,
    )
