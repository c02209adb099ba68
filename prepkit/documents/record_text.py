"""The record as plain text."""

from collections.abc import Iterator

from prepkit.documents.record import AID, PreparationRecord, RecordFact, RecordLine, RecordReason
from prepkit.documents.safe_text import make_plain, wrap_words

_IN = "      "


def write_record_text(record: PreparationRecord) -> str:
    """The whole record in plain text, 100 columns, no colour."""
    return make_plain("\n".join(_write(record)) + "\n")


def _write(record: PreparationRecord) -> Iterator[str]:
    yield from _write_head(record)
    yield from _title("Facts")
    for fact in record.facts:
        yield from wrap_words(_say_fact(fact), "  ")
    if record.reasons:
        yield from _title(f"Suitability: {record.verdict}")
        for reason in record.reasons:
            yield from wrap_words(_say_reason(reason), "  ")
    for words in (record.agreed, record.confirmed):
        if words:
            yield from wrap_words(words, "  ")
    yield from _title("List")
    if record.withheld:
        yield from wrap_words(f"No list: {record.withheld}", "  ")
    for group in record.groups:
        yield f"  {group.name}"
        for line in group.lines:
            yield from _write_line(line)
    if record.checked:
        yield from wrap_words(record.checked, "  ")
    yield from _write_course(record)
    yield from _write_end(record)


def _title(words: str) -> tuple[str, str]:
    return "", words.upper()


def _write_head(record: PreparationRecord) -> Iterator[str]:
    if record.practice:
        yield record.practice
    yield from wrap_words(f"{record.cot} · {record.baby}", "")
    yield f"{record.kit}, edition {record.edition}"
    yield f"{record.ward} · started {record.day} · {record.standing}"


def _say_fact(fact: RecordFact) -> str:
    said = f" ({fact.said.words()})" if fact.said else f" ({fact.note})" if fact.note else ""
    return f"{fact.label}: {fact.value or '-'}{said}"


def _say_reason(reason: RecordReason) -> str:
    said = f" ({reason.said.words()})" if reason.said else ""
    return f"{reason.verdict}: {reason.text}{said}"


def _write_line(line: RecordLine) -> Iterator[str]:
    said = f" {line.said.words()}" if line.said else ""
    reason = f": {line.reason}" if line.reason else ""
    name = f"{line.name}: {line.show}" if line.show else line.name
    yield from wrap_words(f"{name} [{line.mark}{said}{reason}]", f"  {line.sign} ", then=_IN)
    for words in (*line.remarks, *line.details):
        yield from wrap_words(words, _IN)
    if line.check:
        yield from wrap_words(f"second check: {line.check.words()}", _IN)
    for pack in line.packs:
        yield from wrap_words(pack.words(), _IN)
    for words in line.parts:
        yield from wrap_words(words, f"{_IN}+ ")
    for words in (*line.working, *line.how):
        yield from wrap_words(words, f"{_IN}- ")
    for words in line.cautions:
        yield from wrap_words(f"caution: {words}", f"{_IN}! ")
    yield from wrap_words(f"({line.source})", _IN)


def _write_course(record: PreparationRecord) -> Iterator[str]:
    yield from _title("Timeline")
    for row in record.timeline:
        struck = "STRUCK OUT " if row.is_struck else ""
        notes = f" · {' · '.join(row.notes)}" if row.notes else ""
        yield from wrap_words(f"{struck}{row.words} ({row.said.who}){notes}", f"  {row.said.clock:>12}  ")
    if record.follow_ups:
        yield from _title("Afterwards")
    for follow in record.follow_ups:
        yield from wrap_words(f"{follow.name}: {follow.words}", "  ")


def _write_end(record: PreparationRecord) -> Iterator[str]:
    yield from _title("Outcome")
    outcome = f"Outcome: {record.outcome}" if record.outcome else ""
    complications = f"Complications: {record.complications}" if record.complications else ""
    signed = f"Signed: {'; '.join(record.signatures)}" if record.signatures else ""
    missing = [f"Still to record: {words}" for words in record.missing]
    added = [f"Added after closing: {words}" for words in record.addenda]
    for words in (*record.results, outcome, complications, signed, *missing, *added):
        if words:
            yield from wrap_words(words, "  ")
    yield from _title("Made from")
    for each in record.prints:
        yield f"  {each.name}: {each.sha256}"
    for words in (f"Preparation {record.prep}.", record.recomputed, record.unverified, f"Printed {record.printed}."):
        if words:
            yield from wrap_words(words, "  ")
    yield ""
    yield from wrap_words(f"{record.practice}. {AID}" if record.practice else AID, "")
