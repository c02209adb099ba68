"""The record as one HTML page, black on white, its type as large as one A4 sheet allows.

The size is counted in tenths of a point, whole numbers: an estimate from the widths of the columns in `record.css`, on
the safe side. Past the smallest type, a second sheet is better than one that nobody can read.
"""

import re
from collections.abc import Iterable, Iterator
from importlib.resources import files

from prepkit.documents.record import AID, PreparationRecord, RecordGroup, RecordLine, RecordTimelineEntry
from prepkit.documents.safe_text import escape, glue_units

_CITED = re.compile(
    r"\s*\[((?:published|excerpt or account|local|common practice|from memory)(?:; see also)?: [^\]]+)\]"
)


class _Notes:
    """The sources cited so far: each is written out once, at the foot, and is a number in the text."""

    def __init__(self) -> None:
        self.cited: list[str] = []

    def mark(self, text: str) -> str:
        """The text as HTML, each citation in it a raised number."""
        html, at = "", 0
        for found in _CITED.finditer(text):
            html += f"{_write(text[at : found.start()])}<sup>{self._count(found[1])}</sup>"
            at = found.end()
        return html + _write(text[at:])

    def _count(self, cited: str) -> int:
        if cited not in self.cited:
            self.cited.append(cited)
        return self.cited.index(cited) + 1


def write_record_html(record: PreparationRecord) -> str:
    """The whole record as one page. Instructions and cautions of the lines, which were for the hand, are left out."""
    notes = _Notes()
    groups = "".join(_write_group(group, notes) for group in record.groups)
    style = files("prepkit.documents").joinpath("record.css").read_text("utf-8")
    practice = f'<p class="practice">{_write(record.practice)}</p>' if record.practice else ""
    left = f"{_title('List')}{groups or _write_withheld(record)}"
    size = choose_type_size(record, notes.cited)
    return (
        '<!doctype html>\n<html lang="en">\n<meta charset="utf-8">\n'
        f"<title>{_write(f'{record.practice} {record.cot} {record.day}'.strip())}</title>\n"
        f"<style>\n{style}html {{ font-size: {size // 10}.{size % 10}pt }}\n</style>\n"
        f"{practice}{_write_head(record)}\n"
        f'<main><section class="list">{left}</section>\n'
        f'<section class="course">{_write_course(record)}</section></main>\n'
        f"<footer>{_write_sources(notes)}{_write_foot(record)}</footer>\n</html>\n"
    )


def _write(text: str) -> str:
    return escape(glue_units(text))


def _title(words: str) -> str:
    return f"<h2>{_write(words)}</h2>"


def _write_head(record: PreparationRecord) -> str:
    return (
        f"<header><div><h1>{_write(record.cot)}</h1><p class='baby'>{_write(record.baby)}</p></div>"
        f"<div class='kit'><p><b>{_write(record.kit)}</b></p><p>{_write(f'Kit edition {record.edition}')}</p>"
        f"<p>{_write(record.ward)}</p></div>"
        f"<div class='when'><p><b>{_write(record.day)}</b></p><p>{_write(record.standing)}</p>"
        f"<p>{_write(f'Printed {record.printed}')}</p></div></header>"
    )


def _write_withheld(record: PreparationRecord) -> str:
    return f"<p>{_write(f'No list: {record.withheld}')}</p>"


def _write_group(group: RecordGroup, notes: _Notes) -> str:
    lines = "".join(_write_line(line, notes) for line in group.lines)
    return f"<h3>{_write(group.name)}</h3>{lines}"


def _write_line(line: RecordLine, notes: _Notes) -> str:
    said = line.said.words() if line.said else ""
    mark = said if line.mark == "ticked" else f"{line.mark} {said}".strip()
    if line.check and line.check.agrees:
        mark += f" · checked {line.check.said.words()}"
    name = f"{_write(line.name)}{f' <b>{_write(line.show)}</b>' if line.show else ''}"
    return (
        f'<div class="line"><span class="sign">{_write(line.sign)}</span><span>{name}</span>'
        f'<span class="who">{_write(mark)}</span></div>{"".join(_write_under(line, notes))}'
    )


def _write_under(line: RecordLine, notes: _Notes) -> Iterator[str]:
    if line.reason:
        yield _under("details", _write(line.reason))
    if details := _join_details(line):
        yield _under("details", _write(details))
    if line.check and not line.check.agrees:
        yield _under("check", _write(f"second check: {line.check.words()}"))
    if line.is_told:
        yield _under("working", " ".join(notes.mark(words) for words in line.working))


def _join_details(line: RecordLine) -> str:
    return " · ".join((*line.remarks, *line.details, *(pack.words() for pack in line.packs)))


def _under(name: str, html: str) -> str:
    return f'<p class="{name}">{html}</p>'


def _write_course(record: PreparationRecord) -> str:
    return "".join(
        (
            _title("Outcome"),
            _write_outcome(record),
            _title("Baby"),
            _write_facts(record),
            _title(f"Suitability: {record.verdict}") if record.verdict else "",
            _list_words(_list_reasons(record)),
            _title("Second check") if record.checked else "",
            _list_words([record.checked] if record.checked else []),
            _title("Timeline"),
            "".join(_write_row(row) for row in record.timeline),
            _title("Afterwards") if record.follow_ups else "",
            _list_words([f"{follow.name}: {follow.words}" for follow in record.follow_ups]),
            _title("Added after closing") if record.addenda else "",
            _list_words(record.addenda),
        )
    )


def _write_outcome(record: PreparationRecord) -> str:
    outcome = f'<p class="outcome">{_write(record.outcome)}</p>' if record.outcome else ""
    said = f"Complications: {record.complications}" if record.complications else ""
    signed = f"Signed: {'; '.join(record.signatures)}" if record.signatures else ""
    missing = [f"Still to record: {words}" for words in record.missing]
    words = [each for each in (said, *record.results, signed, *missing) if each]
    return outcome + _list_words(words or ["Nothing recorded."])


def _write_facts(record: PreparationRecord) -> str:
    facts = [fact for fact in record.facts if fact.value]
    rows = "".join(
        f"<dt>{_write(fact.label)}</dt><dd>{_write(fact.value)}"
        f" <i>{_write(fact.said.words() if fact.said else fact.note)}</i></dd>"
        for fact in facts
    )
    return f"<dl>{rows}</dl>"


def _list_reasons(record: PreparationRecord) -> list[str]:
    met = sum(1 for reason in record.reasons if reason.verdict == "met")
    others = [reason for reason in record.reasons if reason.verdict != "met" or reason.said]
    said = [f"{met} of {len(record.reasons)} criteria met."] if record.reasons else []
    alike: dict[str, list[str]] = {}
    for reason in others:  # those that one touch answered stand in one row
        alike.setdefault(f"({reason.said.words()})" if reason.said else f"[{reason.verdict}]", []).append(reason.text)
    said += [f"{'; '.join(texts)} {tail}" for tail, texts in alike.items()]
    return [*said, *(words for words in (record.agreed, record.confirmed) if words)]


def _write_row(row: RecordTimelineEntry) -> str:
    words = f"<s>{_write(row.words)}</s>" if row.is_struck else _write(row.words)
    notes = f" · {_write(' · '.join(row.notes))}" if row.notes else ""
    kind = "row milestone" if row.is_milestone else "row"
    return (
        f'<div class="{kind}"><span>{_write(row.said.clock)}</span><span>{words}{notes}</span>'
        f"<span>{_write(row.said.who)}</span></div>"
    )


def _list_words(words: Iterable[str]) -> str:
    return "".join(f"<p>{_write(each)}</p>" for each in words)


def _write_sources(notes: _Notes) -> str:
    if not notes.cited:
        return ""
    cited = "; ".join(f"<sup>{number}</sup> {_write(each)}" for number, each in enumerate(notes.cited, 1))
    return f"<p>{cited}.</p>"


def _write_foot(record: PreparationRecord) -> str:
    prints = "".join(f"<p>{_write(each.name)} <code>{_write(each.sha256)}</code></p>" for each in record.prints)
    words = " ".join(
        each for each in (record.recomputed, record.unverified, record.practice and f"{record.practice}.", AID) if each
    )
    return (
        f"<div class='prints'>{prints}<p>preparation <code>{_write(record.prep)}</code></p></div><p>{_write(words)}</p>"
    )


TYPE_SIZES = (72, 69, 66, 63, 60, 57, 54, 51)
_SHEET_HEIGHT = 8_350
"""The height between the margins of A4 (297 mm less 17 mm) is 7 937; the estimates run a tenth high."""
_LIST_WIDTH, _COURSE_WIDTH, _FOOT_WIDTH, _BABY_WIDTH = 3_050, 1_880, 5_300, 2_150
"""The widths of the text in the two columns and in the foot, and of the baby in the head."""
_LINE_HEIGHT = 125
"""A line's height, in hundredths of its type."""
_LETTER_WIDTH = 53
"""A letter's mean width, in hundredths of its type; digits and capitals are wider than the mean of a text."""
_WORKING_TYPE, _FOOT_TYPE, _BABY_TYPE = 86, 82, 160
"""The type of the working, of the foot and of the baby in the head, in hundredths of the page's."""


def choose_type_size(record: PreparationRecord, cited: Iterable[str]) -> int:
    """Choose the largest type that fits, in tenths of a point; the smallest where none does.

    `cited` are the sources at the foot.
    """
    sources = tuple(cited)
    return next((size for size in TYPE_SIZES if _measure(record, sources, size) <= _SHEET_HEIGHT), TYPE_SIZES[-1])


def _measure(record: PreparationRecord, cited: tuple[str, ...], size: int) -> int:
    baby = size * _BABY_TYPE // 100
    head = 7 * size + (4 * size if record.practice else 0)
    head += _compute_height(_count_rows(record.baby, _BABY_WIDTH, baby), baby)
    foot = _count_rows("; ".join(cited), _FOOT_WIDTH, size * _FOOT_TYPE // 100) + 6
    return (
        head
        + max(_measure_list(record, size), _measure_course(record, size))
        + _compute_height(foot, size * _FOOT_TYPE // 100)
    )


def _measure_list(record: PreparationRecord, size: int) -> int:
    small = size * _WORKING_TYPE // 100
    height = _compute_height(2, size) + sum(_compute_height(1, size) + 30 for _ in record.groups)
    for line in record.lines:
        rows = 1 + _count_rows(_join_details(line), _LIST_WIDTH, size)
        rows += _count_rows(line.reason, _LIST_WIDTH, size)
        if line.check and not line.check.agrees:
            rows += _count_rows(line.check.words(), _LIST_WIDTH, size)
        rows += _count_rows(f"{line.name} {line.show}{'x' * 30}", _LIST_WIDTH, size) - 1
        height += _compute_height(rows, size) + (size // 4 if line.show else size // 12)
        height += _compute_height(_count_rows(_join_working(line), _LIST_WIDTH, small), small)
    return height


def _join_working(line: RecordLine) -> str:
    """The working as it stands on the sheet, its citations made numbers."""
    words = (_CITED.sub("", each) for each in line.working)
    return " ".join(words) if line.is_told else ""


def _measure_course(record: PreparationRecord, size: int) -> int:
    words = [reason.text for reason in record.reasons if reason.said or reason.verdict != "met"]
    words += [f"{follow.name}: {follow.words}" for follow in record.follow_ups]
    words += [*record.addenda, *record.results, *record.missing, *record.signatures, record.checked, record.agreed]
    words += [record.complications, record.confirmed, record.outcome, record.outcome]
    rows = sum(_count_rows(each, _COURSE_WIDTH, size) for each in words) + sum(1 for fact in record.facts if fact.value)
    # Beside each entry stand its time and its initials.
    rows += sum(
        _count_rows(" · ".join((row.words, *row.notes)), _COURSE_WIDTH * 3 // 4, size) for row in record.timeline
    )
    return _compute_height(rows + 2, size) + 7 * (_compute_height(1, size) + size)


def _count_rows(words: str, width: int, size: int) -> int:
    per_row = width * 100 // (size * _LETTER_WIDTH)
    return -(-len(words) // per_row)


def _compute_height(rows: int, size: int) -> int:
    return rows * size * _LINE_HEIGHT // 100
