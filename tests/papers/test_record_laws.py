"""Laws of the record: whatever was done, every format can be written and has every line that was ticked."""

import html
import json

import tomli
from hypothesis import given, settings
from hypothesis import strategies as st
from papers_scene import KIT, KIT_TEXT, NOW, WARD, Book

from prepkit.documents.make_record import make_record
from prepkit.documents.record import write_record_json
from prepkit.documents.record_fhir import write_record_fhir
from prepkit.documents.record_html import write_record_html
from prepkit.documents.record_text import write_record_text
from prepkit.documents.safe_text import glue_units
from prepkit.preparation.baby.decide import decide_answer
from prepkit.preparation.baby.events import FactGiven
from prepkit.preparation.bedside.events import Happened, OutcomeGiven, StepDone, StepLeftOut
from prepkit.preparation.decide import decide_stand_down, decide_start
from prepkit.preparation.events import Started
from prepkit.preparation.lines.decide import decide_set_aside, decide_tick
from prepkit.preparation.recompute import recompute_lists, work_out_as_listed

LINES = [line["id"] for line in tomli.loads(KIT_TEXT)["line"]]
TEXTS = st.text(st.characters(blacklist_categories=("Cs",)), min_size=1, max_size=60)
ACTS = st.one_of(
    st.tuples(st.just("tick"), st.sampled_from(LINES)),
    st.tuples(st.just("aside"), st.sampled_from(LINES), TEXTS),
    st.tuples(st.just("answer"), st.sampled_from(["malformation", "other-cause"]), st.sampled_from(["yes", "no"])),
    st.tuples(st.just("step"), st.sampled_from(["device-in", "catheter-out", "gone-since"])),
    st.tuples(st.just("leave"), st.just("sucrose-given"), TEXTS),
    st.tuples(st.just("happen"), st.sampled_from(["desaturation", "unknown"]), TEXTS),
    st.tuples(st.just("outcome"), TEXTS),
    st.tuples(st.just("fact"), st.just("birth_weight"), st.integers(1000, 2600).map(str) | st.just("not known")),
    st.tuples(st.just("fact"), st.just("birth_gestation"), st.sampled_from(["28+0", "31+6", "not known"])),
    st.tuples(st.just("fact"), st.just("born"), st.sampled_from(["2026-11-25", "2026-11-23T04:10+00:00"])),
    st.tuples(st.just("fact"), st.just("weight_now"), st.sampled_from(["1310 on 2026-11-24", "not weighed since"])),
    st.tuples(st.just("stop"), TEXTS),
)


def do(book: Book, kind: str, *what: str) -> None:  # noqa: C901  (a table of what can be done)
    """Do one thing, as far as it is not refused; texts that no desk would take are put in all the same."""
    state, at = book.state, book.at.isoformat(timespec="seconds")
    if state.stood_down is not None:
        return
    found = state.find_line(what[0])
    match kind:
        case "tick" if found is not None:
            book.add(decide_tick(state, found.id, found.fingerprint, "RA"))
        case "aside" if found is not None:
            book.add(decide_set_aside(state, found.id, found.fingerprint, what[1]))
        case "answer":
            book.add(decide_answer(state, what[0], what[1]))
        case "fact":
            book.add((FactGiven(*what),))
            book.relist()
        case "step":
            book.add((StepDone(what[0], at),))
        case "leave":
            book.add((StepLeftOut(*what),))
        case "happen":
            book.add((Happened(what[0], at, what[1]),))
        case "outcome":
            book.add((OutcomeGiven(what[0], ""),))
        case "stop":
            book.add(decide_stand_down(state, what[0]))


def begin(practice: bool) -> Book:
    decision = decide_start(
        "Cot 4",
        KIT,
        kit_edition="2026-11",
        kit_name="Surfactant",
        kit_text=KIT_TEXT,
        ward_text=WARD.read_text("utf-8"),
        ward_name="ward",
        practice=practice,
    )
    assert isinstance(decision, tuple)
    assert isinstance(decision[0], Started)
    book = Book(decision[0], NOW)
    book.add((FactGiven("birth_weight", "1450"), FactGiven("birth_gestation", "30+2")))
    book.relist()
    return book


@settings(max_examples=25)
@given(practice=st.booleans(), acts=st.lists(ACTS, max_size=25))
def test_every_format_of_any_record_can_be_written_and_has_every_ticked_line(
    practice: bool, acts: list[tuple[str, ...]]
) -> None:
    book = begin(practice)
    for kind, *what in acts:
        do(book, kind, *what)
    worked = work_out_as_listed(book.events)
    assert worked is not None
    record = make_record("p", book.events, book.state, worked, book.at, last_hash="", recomputed="")
    ticked = [line for line in book.state.lines if book.state.is_ticked(line.id)]
    text, page = write_record_text(record), html.unescape(write_record_html(record))
    shape = json.loads(write_record_json(record, None if record.withheld else worked.tray))
    json.loads(write_record_fhir(record, book.state, worked, book.at))
    marks = {line["id"]: line["mark"] for group in shape["record"]["groups"] for line in group["lines"]}
    flat = " ".join(text.split())
    for line in ticked:
        said = f"{line.name}: {line.show}" if line.show else line.name
        assert f"✓ {' '.join(said.split())} [ticked RA" in flat
        show = f" <b>{glue_units(line.show)}</b>" if line.show else ""
        assert f'<span class="sign">✓</span><span>{glue_units(line.name)}{show}</span>' in page
        assert marks[line.id] == "ticked"
    assert [id_ for id_, mark in marks.items() if mark == "ticked"] == [line.id for line in ticked]
    assert ("PRACTICE" in text) == ("PRACTICE" in page) == bool(shape["record"]["practice"]) == practice
    assert all(char.isprintable() or char in "\n\u00a0\u202f" for char in text)
    assert [each.wrong for each in recompute_lists(book.events) if each.wrong] == []
