"""The list as plain text for a terminal line or a pipe. May import: `prepkit.list` and below."""

from collections.abc import Iterator

from prepkit.documents.glue import wrap
from prepkit.kit.baby import show_fact
from prepkit.list.lines import ListLine, TrayList
from prepkit.rules.criteria import WEIGHT_CRITERION

_WIDTH = 100
_AID = (
    "An aid to preparation by trained staff. Check every number against its working; local policy, pharmacy and the"
    " prescriber decide."
)


def write_list_text(tray: TrayList, others: str = "") -> str:
    """The list with verdict, working, sources and cautions; plain text, no colour.

    `others` says which other kits the baby meets the criteria of, where this one is not for it.
    """
    return "\n".join(_write(tray, others)) + "\n"


def _write(tray: TrayList, others: str) -> Iterator[str]:
    kit = tray.kit.model
    yield f"{kit.name} (edition {kit.edition})"
    yield f"{tray.baby.words()} · {_name_ward(tray)}"
    for reason in tray.reasons:
        if reason.criterion == WEIGHT_CRITERION and reason.verdict != "met":
            yield from _wrap(f"LOOK AT THE WEIGHT FIRST. {reason.text}", "")
    for words in tray.overdue:
        yield from _wrap(words, "")
    if tray.baby.assumed:
        yield from _wrap(f"Assumed, nobody gave it: {_list_assumed(tray)}.", "")
    yield ""
    yield f"Verdict: {tray.verdict}"
    for reason in tray.reasons:
        yield from _wrap(f"{reason.verdict}: {reason.text}", "  ")
    if others:
        yield from _wrap(others, "")
    for group in kit.group:
        yield ""
        yield group.name.upper()
        for line in tray.lines:
            if line.group == group.id:
                yield from _write_line(line)
    yield ""
    yield from _wrap(_AID, "")


def _name_ward(tray: TrayList) -> str:
    return tray.ward.model.name if tray.ward else "no ward file"


def _list_assumed(tray: TrayList) -> str:
    labels = {fact.id: fact.label for fact in tray.kit.model.fact} | {"sex": "Sex"}
    values = {"sex": tray.baby.sex, **tray.baby.facts}
    shown = ((labels[name], values[name]) for name in tray.baby.assumed)
    return ", ".join(f"{label} {show_fact(value)}" for label, value in shown if value is not None)


def _write_line(line: ListLine) -> Iterator[str]:
    mark = "[BLOCKED]" if line.blocked else "[ ]"
    yield f"{mark} {line.name}{': ' if line.show else ''}{line.show}"
    if line.blocked:
        yield from _wrap(f"Blocked: {line.blocked}.", "      ")
    for detail in line.details:
        yield from _wrap(detail, "      ")
    for sentence in (*line.working, *line.how):
        yield from _wrap(sentence, "      - ")
    for caution in line.cautions:
        yield from _wrap(f"caution: {caution}", "      ! ")
    yield from _wrap(f"({line.source})", "      ")


def _wrap(text: str, lead: str) -> list[str]:
    return wrap(text, _WIDTH, lead, " " * len(lead))
