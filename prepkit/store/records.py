"""What goes into a store (drafts), what comes out of it (records), and what no store may keep.

Pure: no disk and no clock.
"""

import re
from collections.abc import Iterable, Sequence
from datetime import datetime

from msgspec import Struct

from prepkit.attribution import Attribution

_MOMENT = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d(\.\d+)?(Z|[+-]\d\d:\d\d)", re.ASCII)
_MOST_FORM = 2**31 - 1


class Draft(Struct, frozen=True):
    """One event on its way into the store."""

    kind: str
    """Our own stable name for the event."""
    form: int
    """By whose rules the body is read; 1 or more."""
    body: str
    """Canonical JSON, written elsewhere; kept to the letter and never read here."""


class Record(Struct, frozen=True):
    """One event as the store keeps it.

    `Store.read_all` gives records as it finds them: if somebody changed the file by other means, a field may not have
    its type. `check_chain` is made for such records.
    """

    position: int
    """Place in the whole store; the first is 1 and there are no gaps."""
    prep: str
    """Which preparation it belongs to."""
    seq: int
    """Place in its preparation; the first is 1 and there are no gaps."""
    kind: str
    form: int
    at: str
    """When, as the caller gave it: RFC 3339 with an offset."""
    who: str
    verified: int
    """1 where `who` was proven by a PIN, 0 where somebody only said so."""
    where: str
    body: str
    before: str
    """The hash of the record one position earlier; for the first, 64 zeros."""
    hash: str
    """See `prepkit.store.chain.compute_hash`."""


def list_contents(drafts: Sequence[Draft], attribution: Attribution) -> tuple[tuple[str | int, ...], ...]:
    """What is recorded of each draft, but for its place, so that its record can be recognised afterwards."""
    by = attribution
    told = (by.recorded_at, by.who, int(by.verified), by.where)
    return tuple((draft.kind, draft.form, *told, draft.body) for draft in drafts)


def is_kept(records: Sequence[Record], contents: tuple[tuple[str | int, ...], ...]) -> bool:
    """Whether these records begin with exactly these contents."""
    found = tuple((r.kind, r.form, r.at, r.who, r.verified, r.where, r.body) for r in records[: len(contents)])
    return found == contents


def check_fit(prep: str, drafts: Sequence[Draft], attribution: Attribution) -> tuple[str, ...]:
    """Say in words why no store can record these; nothing where any can."""
    at = attribution.recorded_at
    texts = [("preparation", prep), ("time", at), ("who", attribution.who), ("where", attribution.where)]
    texts += [(f"{name} of event {n}", text) for n, d in enumerate(drafts, 1) for name, text in _name_texts(d)]
    return (
        *(f"{name}: {problem}" for name, text in texts for problem in _check_text(text)),
        *_check_moment(at),
        *_check_given([("preparation", prep), *((f"kind of event {n}", d.kind) for n, d in enumerate(drafts, 1))]),
        *(problem for n, d in enumerate(drafts, 1) for problem in _check_form(n, d.form)),
    )


def _name_texts(draft: Draft) -> tuple[tuple[str, str], ...]:
    return (("kind", draft.kind), ("body", draft.body))


def _check_text(text: str) -> Iterable[str]:
    """Half a surrogate pair is no UTF-8; a NUL is refused by some databases and cuts the text short in others."""
    if "\0" in text:
        yield f"a NUL cannot be kept (at character {text.index(chr(0)) + 1})"
    try:
        text.encode()
    except UnicodeEncodeError as error:
        yield f"half a character cannot be kept (at character {error.start + 1})"


def _check_moment(at: str) -> Iterable[str]:
    words = f'time: expected a date, a time and an offset like "2031-05-04T03:12:00+01:00", got {at!a}'
    if not _MOMENT.fullmatch(at):
        yield words
        return
    try:
        datetime.fromisoformat(at)
    except ValueError:
        yield words


def _check_given(texts: Iterable[tuple[str, str]]) -> Iterable[str]:
    return (f"{name}: expected a name, got nothing" for name, text in texts if not text)


def _check_form(number: int, form: int) -> Iterable[str]:
    if not 1 <= form <= _MOST_FORM:
        yield f"form of event {number}: expected 1 to {_MOST_FORM}, got {form}"
