"""The list as plain text for a terminal or a pipe."""

from collections.abc import Iterator

from prepkit.documents.safe_text import wrap_words
from prepkit.kit.baby import ASKED_AFTER_H
from prepkit.kit.earlier import EarlierDoses
from prepkit.kit.facts import show_fact
from prepkit.kit.names import BORN, CORE_LABELS, SEX
from prepkit.list.lines import ListLine, TrayList
from prepkit.rules.criteria import CHANGE_CRITERION, WEIGHT_CRITERION, Reason
from prepkit.wording.say import say, say_all, say_joined
from prepkit.wording.things import say_since_birth, say_size

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
    yield f"{say_size(tray.baby.size)} · {_name_ward(tray)}"
    if since := say_since_birth(tray.baby):
        yield since
    for words in (*list_given_before(tray), *list_weight_notices(tray), *say_all(tray.overdue)):
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
                yield from _write_line_rows(line, tray)
    yield ""
    yield from wrap_words(_AID, "")


def _name_ward(tray: TrayList) -> str:
    return tray.ward.model.name if tray.ward else "no ward file"


def list_weight_notices(tray: TrayList) -> tuple[str, ...]:
    """What is said on top about the weights: one that is still wanted, one to look at first."""
    wanted = (
        f"GIVE THE WEIGHT NOW, or that the baby was not weighed since: it may be over {ASKED_AFTER_H} h old, and the"
        " lines that go by the weight now are blocked."
    )
    return (
        *((wanted,) if tray.baby.is_weight_wanted else ()),
        *(f"LOOK AT THE WEIGHT FIRST. {say(reason.text)}" for reason in find_weight_doubts(tray)),
    )


def list_given_before(tray: TrayList) -> tuple[str, ...]:
    """What was given before, a sentence a fact; nothing where none was."""
    labels = {fact.id: fact.label for fact in tray.kit.model.fact}
    given = {name: had for name, had in tray.baby.facts.items() if isinstance(had, EarlierDoses) and had.doses}
    return tuple(f"{labels[name]}: {had.words()}." for name, had in given.items())


def find_weight_doubts(tray: TrayList) -> tuple[Reason, ...]:
    """What speaks against a weight and was not settled by entering it again."""
    judged = (WEIGHT_CRITERION, CHANGE_CRITERION)
    return tuple(reason for reason in tray.reasons if reason.criterion in judged and reason.verdict != "met")


def say_assumed(tray: TrayList) -> str:
    """The facts that stand at a default, with that default; empty where all were given."""
    labels = {**CORE_LABELS, **{fact.id: fact.label for fact in tray.kit.model.fact}}
    values = {BORN: tray.baby.born, SEX: tray.baby.sex, **tray.baby.facts}
    shown = ((labels[name], values[name]) for name in tray.baby.assumed)
    return ", ".join(f"{label} {show_fact(value)}" for label, value in shown if value is not None)


def _write_line_rows(line: ListLine, tray: TrayList) -> Iterator[str]:
    found, show = line.outcome, say(line.outcome.show)
    mark = "[BLOCKED]" if found.blocked else "[ ]"
    yield f"{mark} {line.name}{': ' if show else ''}{show}"
    if found.blocked:
        yield from wrap_words(f"Blocked: {say(found.blocked)}.", "      ")
    for detail in say_all((*tray.list_remarks(line), *found.details)):
        yield from wrap_words(detail, "      ")
    for part in say_all(line.parts):
        yield from wrap_words(part, "      + ")
    for sentence in say_all((*found.working, *line.how)):
        yield from wrap_words(sentence, "      - ")
    for caution in say_all(line.cautions):
        yield from wrap_words(f"caution: {caution}", "      ! ")
    yield from wrap_words(f"({say_joined(line.source)})", "      ")
