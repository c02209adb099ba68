"""The list as plain text for a terminal or a pipe."""

from collections.abc import Iterator

from prepkit.documents.safe_text import wrap_words
from prepkit.kit.facts import show_fact
from prepkit.list.lines import ListLine, TrayList
from prepkit.rules.criteria import WEIGHT_CRITERION
from prepkit.wording.say import say, say_all, say_joined

_AID = (
    "An aid to preparation by trained staff. Check every number against its working; local policy, pharmacy and the"
    " prescriber decide."
)


def write_list_text(tray: TrayList, others: str = "") -> str:
    """The list with verdict, working, sources and cautions; plain text, no colour.

    `others` says which other kits the baby meets the criteria of, where this one is not for it.
    """
    return "\n".join(_write_rows(tray, others)) + "\n"


def _write_rows(tray: TrayList, others: str) -> Iterator[str]:
    kit = tray.kit.model
    yield f"{kit.name} (edition {kit.edition})"
    yield f"{tray.baby.words()} · {_name_ward(tray)}"
    for reason in tray.reasons:
        if reason.criterion == WEIGHT_CRITERION and reason.verdict != "met":
            yield from wrap_words(f"LOOK AT THE WEIGHT FIRST. {say(reason.text)}", "")
    for words in say_all(tray.overdue):
        yield from wrap_words(words, "")
    if tray.baby.assumed:
        yield from wrap_words(f"Default, not confirmed: {say_assumed(tray)}.", "")
    yield ""
    yield f"Verdict: {tray.verdict}"
    for reason in tray.reasons:
        yield from wrap_words(f"{reason.verdict}: {say(reason.text)}", "  ")
    if others:
        yield from wrap_words(others, "")
    for group in kit.group:
        yield ""
        yield group.name.upper()
        for line in tray.lines:
            if line.group == group.id:
                yield from _write_line_rows(line)
    yield ""
    yield from wrap_words(_AID, "")


def _name_ward(tray: TrayList) -> str:
    return tray.ward.model.name if tray.ward else "no ward file"


def say_assumed(tray: TrayList) -> str:
    """The facts that stand at the kit's default, with that default; empty where all were given."""
    labels = {fact.id: fact.label for fact in tray.kit.model.fact} | {"sex": "Sex"}
    values = {"sex": tray.baby.sex, **tray.baby.facts}
    shown = ((labels[name], values[name]) for name in tray.baby.assumed)
    return ", ".join(f"{label} {show_fact(value)}" for label, value in shown if value is not None)


def _write_line_rows(line: ListLine) -> Iterator[str]:
    found, show = line.outcome, say(line.outcome.show)
    mark = "[BLOCKED]" if found.blocked else "[ ]"
    yield f"{mark} {line.name}{': ' if show else ''}{show}"
    if found.blocked:
        yield from wrap_words(f"Blocked: {say(found.blocked)}.", "      ")
    for detail in say_all(found.details):
        yield from wrap_words(detail, "      ")
    for sentence in (*say_all(found.working), *line.declared.line.how):
        yield from wrap_words(sentence, "      - ")
    for caution in say_all(line.cautions):
        yield from wrap_words(f"caution: {caution}", "      ! ")
    yield from wrap_words(f"({say_joined(line.source)})", "      ")
