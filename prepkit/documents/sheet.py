"""The sheet: a list with boxes to tick by hand, for when the computer is down."""

from collections.abc import Iterator
from datetime import datetime

from prepkit.documents.record import AID
from prepkit.documents.safe_text import WIDTH, escape, glue_units, make_plain, wrap_words
from prepkit.documents.tray_list import find_weight_doubts, list_given_before, list_weight_notices, say_assumed
from prepkit.kit.person import PersonFact
from prepkit.list.lines import ListLine, TrayList
from prepkit.rules.findings import Finding, Kind
from prepkit.wording.say import say, say_all
from prepkit.wording.things import say_since_birth, say_size

_BLANK = "______"
_HEAD = ("Cot", "Prepared by", "Second check by", "Read aloud by", "at")


def write_sheet_text(tray: TrayList, now: datetime) -> str:
    """The sheet in plain text, 100 columns."""
    return make_plain("\n".join(_write(tray, now)) + "\n")


def write_sheet_html(tray: TrayList, now: datetime) -> str:
    """The sheet as one HTML page for A4, black on white."""
    kit = tray.kit.model
    blanks = "".join(f"<p>{escape(name)}<span></span></p>" for name in _HEAD)
    notices = "".join(f'<p class="notice">{escape(words)}</p>' for words in _list_notices(tray))
    groups = "".join(
        f"<h2>{escape(group.name)}</h2>{''.join(_draw_line(line, tray) for line in lines)}"
        for group in kit.group
        if (lines := [line for line in tray.lines if line.group == group.id])
    )
    questions = "".join(_draw_questions(heading, rows) for heading, rows in _list_questions(tray))
    return _PAGE.format(
        title=escape(f"{kit.name}: {say_size(tray.baby.size)}"),
        baby=escape(say_size(tray.baby.size)),
        kit=escape(_join(kit.name, say_since_birth(tray.baby))),
        made=escape(_say_made(tray, now)),
        blanks=blanks,
        notices=notices,
        groups=groups,
        questions=questions,
        aid=escape(AID),
    )


def _write(tray: TrayList, now: datetime) -> Iterator[str]:
    kit = tray.kit.model
    yield from wrap_words(_join(say_size(tray.baby.size), kit.name, say_since_birth(tray.baby)), "")
    yield from wrap_words(_say_made(tray, now), "")
    yield ""
    yield "   ".join(f"{name} {_BLANK}{_BLANK if name == 'Cot' else ''}" for name in _HEAD)
    yield ""
    for words in _list_notices(tray):
        yield from wrap_words(words, "! ")
    for group in kit.group:
        lines = [line for line in tray.lines if line.group == group.id]
        if lines:
            yield ""
            yield group.name.upper()
        for line in lines:
            yield from _write_line(line, tray)
    for heading, rows in _list_questions(tray):
        yield ""
        yield heading.upper()
        for words in rows:
            yield from _fill(f"  [ ] {words}", "      ", f"by {_BLANK}")
    yield ""
    yield from wrap_words(AID, "")


def _join(*parts: str) -> str:
    return " · ".join(filter(None, parts))


def _write_line(line: ListLine, tray: TrayList) -> Iterator[str]:
    if line.outcome.blocked:
        yield from wrap_words(f"{line.name}: blocked, {say(line.outcome.blocked)}", "[BLOCKED] ")
        return
    name = f"{line.name}: {say(line.outcome.show)}" if line.outcome.show else line.name
    second = f"  2nd {_BLANK}____" if line.declared.check else ""
    yield from _fill(f"[ ] {name}", "      ", f"by {_BLANK}{second}")
    for words in say_all((*tray.list_remarks(line), *line.outcome.details)):
        yield from wrap_words(words, "      ")
    yield from wrap_words(_say_parts(line), "      ")


def _say_parts(line: ListLine) -> str:
    """What is laid out with a line and ticked with it; its syringe stands among the details already."""
    parts = tuple(each for each in line.parts if not (isinstance(each, Finding) and each.kind is Kind.PART_SYRINGE))
    return f"with it: {'; '.join(say_all(parts))}" if parts else ""


def _fill(words: str, lead: str, blank: str) -> Iterator[str]:
    """Words on the left, and the blanks under one another on the right."""
    room = WIDTH - len(blank) - 3
    if len(words) > room:
        *rows, words = wrap_words(words, "", then=lead)
        yield from rows
    if len(words) > room:
        yield words
        words = ""
    # Never right behind the words: a point after a number could be read with it.
    yield f"{f'{words} ':.<{room}}  {blank}"


def _draw_line(line: ListLine, tray: TrayList) -> str:
    # One after the other in one paragraph: the whole sheet is one page.
    details = glue_units(_join(*say_all(line.outcome.details), _say_parts(line)))
    remarks = "".join(f" <em>{escape(words)}</em>" for words in say_all(tray.list_remarks(line)))
    if line.outcome.blocked:
        why = f"{escape(line.name)} <b>BLOCKED</b> {escape(say(line.outcome.blocked))}"
        return f'<div class="line blocked"><i></i><div>{why}</div></div>'
    show = f" <b>{escape(glue_units(say(line.outcome.show)))}</b>" if line.outcome.show else ""
    second = "<u>2nd</u>" if line.declared.check else "<u class=none></u>"
    return (
        f'<div class="line"><i></i><div>{escape(line.name)}{show}{remarks}<small>{escape(details)}</small></div>'
        f"<u>by</u>{second}</div>"
    )


def _draw_questions(heading: str, rows: tuple[str, ...]) -> str:
    """One part of what is still to be said, in a paragraph: the whole sheet is one page."""
    boxes = " ".join(f"<span><i></i>{escape(words)}</span>" for words in rows)
    return f'<div class="line asked"><div><b>{escape(heading)}</b> {boxes}</div><u>by</u></div>'


def _list_notices(tray: TrayList) -> tuple[str, ...]:
    assumed = say_assumed(tray)
    doubts, against = find_weight_doubts(tray), {"not suitable", "ask a senior"}
    refused = [reason for reason in tray.reasons if reason.verdict in against and reason not in doubts]
    return (
        *list_given_before(tray),
        *list_weight_notices(tray),
        *(f"{reason.verdict.upper()}: {say(reason.text)}" for reason in refused),
        *say_all(tray.overdue),
        *(f"{fact.label}: {who}." for fact in _list_people(tray) if (who := tray.baby.facts.get(fact.id))),
        *((f"Default, not confirmed: {assumed}.",) if assumed else ()),
    )


def _list_questions(tray: TrayList) -> tuple[tuple[str, tuple[str, ...]], ...]:
    """What is still to be said before going, a heading over each part: roles, reasons against, what was done."""
    against = {each.id for each in tray.laid.criterion if each.is_against}
    open_ones = [each for each in tray.reasons if each.verdict == "questions open"]
    reasons = tuple(say(each.text) for each in open_ones if each.criterion in against)
    others = tuple(say(each.text) for each in open_ones if each.criterion not in against)
    texts = {each.id: each.text for each in tray.laid.criterion}
    said = tuple(texts[each.criterion] for each in tray.reasons if each.is_said and each.verdict != "met")
    people = tuple(_ask_person(each) for each in _list_people(tray) if tray.baby.facts.get(each.id) is None)
    parts = (
        ("To answer before going", others),
        ("Who", people),
        ("Any of these?", (*reasons, _NONE) if reasons else ()),
        ("Said and done?", said),
    )
    return tuple((heading, rows) for heading, rows in parts if rows)


def _list_people(tray: TrayList) -> list[PersonFact]:
    return [fact for fact in tray.laid.fact if isinstance(fact, PersonFact)]


def _ask_person(fact: PersonFact) -> str:
    """A role with room for initials: "Leads ______: skilled / supervised by ______"."""
    said = " / ".join(f"{each} {_BLANK}" if each == fact.and_who else each for each in fact.options)
    return f"{fact.label} {_BLANK}: {said}{f' / {_BLANK}' if fact.or_typed else ''}"


_NONE = "None of the others applies"


def _say_made(tray: TrayList, now: datetime) -> str:
    ward = f"{tray.ward.model.name}, edition {tray.ward.model.edition}" if tray.ward else "no ward file"
    prints = f"kit {tray.kit.sha256[:16]}" + (f", ward {tray.ward.sha256[:16]}" if tray.ward else "")
    return f"Printed {now:%Y-%m-%d %H:%M}. Kit edition {tray.kit.model.edition}; {ward}. Fingerprints: {prints}."


_PAGE = """<!doctype html>
<html lang="en">
<meta charset="utf-8">
<title>{title}</title>
<style>
@page {{ size: A4; margin: 8mm 10mm }}
* {{ box-sizing: border-box; margin: 0 }}
body {{ font: 8pt/1.2 "Liberation Sans", Arial, Helvetica, "DejaVu Sans", sans-serif; color: #000; background: #fff; max-width: 190mm; margin: 0 auto }}
h1 {{ font-size: 21pt; line-height: 1.1; letter-spacing: -.01em }}
.kit {{ font-size: 11pt; font-weight: bold }}
.blanks {{ display: grid; grid-template-columns: 1.6fr 1fr 1.2fr 1.1fr .8fr; gap: 5mm; border-top: 1.4pt solid #000; margin-top: 3pt; padding-top: 7pt }}
.blanks p {{ display: flex; align-items: end; gap: 2mm; white-space: nowrap }}
.blanks span {{ flex: 1; border-bottom: .5pt solid #000; height: 11pt }}
h2 {{ font-size: 8.4pt; text-transform: uppercase; letter-spacing: .09em; margin: 2.5pt 0 .5pt; border-bottom: .4pt solid #000 }}
.notice {{ border-left: 2.5pt solid #000; padding-left: 4pt; margin-top: 3pt; font-weight: bold }}
.line {{ display: flex; align-items: flex-start; gap: 2.5mm; break-inside: avoid; padding: .35pt 0 }}
.line div {{ flex: 1 }}
.line b {{ font-size: 9pt }}
i {{ flex: none; width: 9pt; height: 9pt; border: .9pt solid #000; margin-top: 1pt }}
.blocked i {{ background: linear-gradient(to top right, transparent 46%, #000 46% 54%, transparent 54%) }}
small {{ display: block; font-size: 7pt; line-height: 1.15 }}
em {{ font-size: 7.4pt }}
small:empty {{ display: none }}
u {{ flex: none; width: 25mm; text-decoration: none; border-bottom: .5pt solid #000; font-size: 6.5pt; height: 9.4pt }}
.none {{ border: 0 }}
.asked {{ font-size: 7.2pt; line-height: 1.15; padding: 0 }}
.asked b {{ font-size: 7.2pt }}
.asked span {{ margin-right: 3mm }}
.asked i {{ display: inline-block; margin: 0 1mm 0 0; vertical-align: -1pt }}
footer {{ margin-top: 5pt; font-size: 7pt; border-top: .4pt solid #000; padding-top: 2pt }}
</style>
<h1>{baby}</h1>
<p class="kit">{kit}</p>
<div class="blanks">{blanks}</div>
{notices}
{groups}
{questions}
<footer><p>{made}</p><p>{aid}</p></footer>
</html>
"""  # noqa: E501  (a style sheet, a rule a line)
