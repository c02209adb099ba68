"""What the record's column shows, part by part."""

from prepkit.tui.widgets.column import HeadingItem, Item, RowItem, WordsItem
from prepkit.tui.widgets.row import RowText
from prepkit.tui.widgets.text import Sentence
from prepkit.view.models import ListView, Sign
from prepkit.view.record import FollowUpRow, RecordView, TimelineRow

MISSING, FOLLOW_UP, ENTRY = "missing", "follow-up", "entry"
OUTCOME, COMPLICATIONS = "outcome", "complications"
STEP, READING = "step", "reading"
NOT_RECORDED = "not recorded"


def list_items(view: RecordView, *, at_cot: bool) -> list[Item]:
    """Everything of the record: what is due, what is missing, what came of it, what happened, who signed.

    While the steps are being done at the cot, the cot has them; here they are only counted.
    """
    ended = [WordsItem("ended", (Sentence(view.ended, "bold $ink"),), "apart")] if view.ended else []
    missing = _missing(view)
    if at_cot:
        entered = [*_follow_ups(view), *_timeline(view), *_results(view), *_said(view)]
    else:
        entered = [*_follow_ups(view), *missing, *_results(view), *_said(view), *_timeline(view)]
    return [*ended, *entered, *_signed(view)]


def list_final_items(view: ListView) -> list[Item]:
    """The list as it stood, to be read."""
    items: list[Item] = [WordsItem("no list", (Sentence(view.withheld),))] if view.withheld else []
    for group in view.groups:
        items.append(HeadingItem(f"group {group.id}", group.name, group.progress))
        rows = tuple(
            Sentence(" · ".join(part for part in (line.name, line.show, line.word) if part), lead=f"{line.sign} ")
            for line in group.lines
        )
        items.append(WordsItem(f"lines {group.id}", rows, "apart"))
    return items


def _missing(view: RecordView) -> list[Item]:
    """Steps and volumes; everything else that is missing says so in its own row."""
    gaps = [gap.words for gap in view.to_enter if gap.part in {STEP, READING}]
    rows = [RowItem(f"{MISSING} {words}", RowText(words, sign=Sign.TO_DO)) for words in gaps]
    return [HeadingItem("missing", "Still to record", str(len(rows))), *rows] if rows else []


def _follow_ups(view: RecordView) -> list[Item]:
    rows: list[Item] = [_follow_up(row, is_open=not view.ended) for row in view.follow_ups]
    if view.clocks:
        rows.insert(0, WordsItem("clocks", tuple(map(Sentence, view.clocks))))
    return [HeadingItem("follow-ups", "Follow-up"), *rows] if rows else []


def _follow_up(row: FollowUpRow, *, is_open: bool) -> Item:
    if is_open:
        text = RowText(row.name, details=tuple(words for words in (row.word, row.note) if words), sign=row.sign)
        return RowItem(f"{FOLLOW_UP} {row.follow_up}", text)
    words = " · ".join(part for part in (row.name, row.word, row.note) if part)
    return WordsItem(f"{FOLLOW_UP} {row.follow_up}", (Sentence(words, lead=f"{row.sign} "),))


def _results(view: RecordView) -> list[Item]:
    if not view.results:
        return []
    return [
        HeadingItem("results", "Dose"),
        WordsItem("sums", tuple(Sentence(words) for words in view.results), "apart"),
    ]


def _said(view: RecordView) -> list[Item]:
    said = ((OUTCOME, "Outcome", view.outcome), (COMPLICATIONS, "Complications", view.complications))
    if view.ended:
        words = tuple(Sentence(f"{label}: {value}", lead=f"{Sign.DONE} ") for _, label, value in said if value)
        return [WordsItem("said", words)] if words else []
    return [RowItem(key, RowText(label, details=(value or NOT_RECORDED,), sign=Sign.DONE if value else Sign.TO_DO))
            for key, label, value in said]  # fmt: skip


def _timeline(view: RecordView) -> list[Item]:
    rows: list[Item] = [_entry(row, is_open=not view.ended) for row in view.timeline]
    return [HeadingItem("timeline", "What happened", str(len(rows))), *rows] if rows else []


def _entry(row: TimelineRow, *, is_open: bool) -> Item:
    sign = Sign.BLOCKED if row.is_struck else Sign.DONE
    if is_open:
        return RowItem(f"{ENTRY} {row.entry}", RowText(row.words, sign=sign, word=row.at, details=(row.note,)))
    note = (Sentence(row.note, "$pale", lead=" " * 8),) if row.note else ()
    return WordsItem(f"{ENTRY} {row.entry}", (Sentence(row.words, lead=f"{sign} {row.at} "), *note))


def _signed(view: RecordView) -> list[Item]:
    items: list[Item] = []
    if view.signed:
        signed = tuple(Sentence(words, "$done", lead="✓ ") for words in view.signed)
        items += [HeadingItem("signatures", "Signed"), WordsItem("signed", signed, "apart")]
    if view.addenda:
        added = tuple(Sentence(words) for words in view.addenda)
        items += [HeadingItem("addenda", "Added later"), WordsItem("added", added)]
    return items
