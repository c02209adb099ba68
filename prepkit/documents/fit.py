"""How large the type of a record can be so that it fits on one A4 sheet; counted in tenths of a point, whole numbers.

An estimate from the widths of the columns in `record.css`, on the safe side: past the smallest type, a second sheet is
better than one that nobody can read. May import: `record` of this package.
"""

from collections.abc import Iterable

from prepkit.documents.record import LinePaper, RecordPaper

SIZES = (72, 69, 66, 63, 60, 57, 54, 51)
_SHEET = 8_350
"""The height between the margins of A4 (297 mm less 17 mm) is 7 937; the estimates run a tenth high."""
_LIST, _COURSE, _FOOT = 3_050, 1_880, 5_300
"""The widths of the text in the two columns and in the foot."""
_LEAD = 125
"""A line's height, in hundredths of its type."""
_LETTER = 53
"""A letter's mean width, in hundredths of its type; digits and capitals are wider than the mean of a text."""
_WORKING, _FOOTING = 86, 82
"""The type of the working and of the foot, in hundredths of the page's."""


def choose_size(record: RecordPaper, cited: Iterable[str]) -> int:
    """Choose the largest type that fits, in tenths of a point; the smallest where none does.

    `cited` are the sources at the foot.
    """
    sources = tuple(cited)
    return next((size for size in SIZES if _measure(record, sources, size) <= _SHEET), SIZES[-1])


def _measure(record: RecordPaper, cited: tuple[str, ...], size: int) -> int:
    head = 9 * size + (4 * size if record.practice else 0)
    foot = _count_rows("; ".join(cited), _FOOT, size * _FOOTING // 100) + 6
    return head + max(_measure_list(record, size), _measure_course(record, size)) + _high(foot, size * _FOOTING // 100)


def _measure_list(record: RecordPaper, size: int) -> int:
    small = size * _WORKING // 100
    height = _high(2, size) + sum(_high(1, size) + 30 for _ in record.groups)
    for line in record.lines:
        rows = 1 + _count_rows(" · ".join((*line.details, *(pack.words() for pack in line.packs))), _LIST, size)
        rows += _count_rows(line.reason, _LIST, size)
        if line.check and not line.check.agrees:
            rows += _count_rows(line.check.words(), _LIST, size)
        rows += _count_rows(f"{line.name} {line.show}{'x' * 30}", _LIST, size) - 1
        height += _high(rows, size) + (size // 4 if line.show else size // 12)
        height += _high(_count_rows(_join_working(line), _LIST, small), small)
    return height


def _join_working(line: LinePaper) -> str:
    """The working as it stands on the sheet, its citations made numbers."""
    words = (each.partition(" [published")[0].partition(" [from memory:")[0] for each in line.working)
    return " ".join(words) if line.is_told else ""


def _measure_course(record: RecordPaper, size: int) -> int:
    words = [reason.text for reason in record.reasons if reason.said or reason.verdict != "met"]
    words += [f"{follow.name}: {follow.words}" for follow in record.follow_ups]
    words += [*record.addenda, *record.results, *record.missing, *record.signatures, record.checked, record.agreed]
    words += [record.complications, record.confirmed, record.outcome, record.outcome]
    rows = sum(_count_rows(each, _COURSE, size) for each in words) + sum(1 for fact in record.facts if fact.value)
    # Beside each entry stand its time and its initials.
    rows += sum(_count_rows(" · ".join((row.words, *row.notes)), _COURSE * 3 // 4, size) for row in record.timeline)
    return _high(rows + 2, size) + 7 * (_high(1, size) + size)


def _count_rows(words: str, width: int, size: int) -> int:
    per_row = width * 100 // (size * _LETTER)
    return -(-len(words) // per_row)


def _high(rows: int, size: int) -> int:
    return rows * size * _LEAD // 100
