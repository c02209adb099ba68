"""What is kept beside the records is never older than they are, nor by other code, nor believed where it matters."""

import sqlite3
import subprocess
import sys
from collections.abc import Callable
from contextlib import closing
from fractions import Fraction
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace
from papers_scene import WARD, Run

from prepkit.app.eventlog.repository import decide_and_append, read_on, read_stored_preparation
from prepkit.app.files import WorkstationFiles
from prepkit.app.projections import projection as gists_module
from prepkit.app.projections.kinds import AUDIT_ROW, COT_LABEL, PART, PROJECTION_KINDS
from prepkit.app.projections.projection import compute_builder_fingerprint, compute_files_fingerprint, find_projections
from prepkit.app.reports import find_stored_preparations, make_ward_audit
from prepkit.app.verification import verify_store
from prepkit.app.workstation import Workstation
from prepkit.attribution import Attribution
from prepkit.documents.audit import Audit, AuditRow, read_audit_row, write_audit_row
from prepkit.errors import StoreFull
from prepkit.preparation.bedside.events import AddendumWritten
from prepkit.store import Projection, SqliteStore

CASES = st.builds(
    AuditRow,
    route=st.text(),
    first_attempt=st.none() | st.booleans(),
    over_line=st.none() | st.booleans(),
    per_kg=st.none() | st.fractions(),
    is_second_dose=st.booleans(),
    complications=st.none() | st.lists(st.text(), max_size=3).map(tuple),
    minutes=st.none() | st.integers(),
    mismatches=st.integers(0),
    overrides=st.lists(st.text(), max_size=3).map(tuple),
    set_aside=st.integers(0),
)


@pytest.fixture
def change(kept: Path) -> Callable[..., None]:
    """Another program's hand on the file."""

    def run(sql: str, *values: str) -> None:
        with closing(sqlite3.connect(kept, isolation_level=None)) as other:
            other.execute(sql, values)

    return run


@pytest.fixture
def closed(store: SqliteStore) -> str:
    """The preparation at cot 4, closed."""
    return find_stored_preparations(store, "cot 4")[0].prep


def forge(store: SqliteStore, prep: str) -> None:
    """Keep a wrong case for the record as it is: 999 mg/kg. Whatever takes it for true shows it."""
    (kept,) = (gist for gist in store.read_projections(AUDIT_ROW.name, AUDIT_ROW.builder) if gist.prep == prep)
    wrong = replace(read_audit_row(kept.body), per_kg=Fraction(999))
    store.write_projections(AUDIT_ROW.name, AUDIT_ROW.builder, [replace(kept, body=write_audit_row(wrong))])


def most_dose(audit: Audit) -> str:
    return audit.spreads[0].most


def add_note(store: SqliteStore, prep: str) -> None:
    """An addendum after closing, by a program that keeps no gists."""
    kept = read_stored_preparation(store, prep)
    stamp = Attribution("RA", kept.state.last.at, "desk")
    state = read_on(store, prep, kept.state)
    assert decide_and_append(store, prep, state, lambda _: (AddendumWritten("looked at again"),), stamp).refusal == ""


@given(CASES)
def test_a_case_is_kept_exactly_and_read_back_whole(case: AuditRow) -> None:
    assert read_audit_row(write_audit_row(case)) == case


@pytest.mark.parametrize(
    "text", ["", "{}", "[]", "[1]", "null", '["r",1,1,"1/0",1,[],1,1,[],1]', '["r",1,1,[],1,1,1,1,1,1]']
)
def test_what_is_no_case_is_said_to_be_none(text: str) -> None:
    with pytest.raises(ValueError, match=r"."):
        read_audit_row(text)


def test_what_a_preparation_adds_is_kept_when_it_ends(store: SqliteStore) -> None:
    ended = {head.prep for head in store.read_ended(9)}
    assert len(ended) == 3
    for sort in PROJECTION_KINDS:
        assert {gist.prep for gist in store.read_projections(sort.name, sort.builder)} == ended
        assert store.read_unprojected(sort.name, sort.builder) == ()


def test_an_audit_from_what_is_kept_is_the_audit_from_the_records(
    store: SqliteStore, change: Callable[..., None]
) -> None:
    from_kept = make_ward_audit(store, None, None)
    change("DELETE FROM gist")
    told: list[tuple[int, int]] = []
    from_records = make_ward_audit(store, None, None, lambda done, of: told.append((done, of)))
    assert from_kept == from_records == make_ward_audit(store, None, None)
    assert told == [(3, 3)]
    assert most_dose(from_kept) != "999"


def test_an_addendum_after_closing_makes_what_was_kept_count_no_more(store: SqliteStore, closed: str) -> None:
    right = make_ward_audit(store, None, None)
    forge(store, closed)
    assert most_dose(make_ward_audit(store, None, None)) == "999", "it is read from what is kept"
    add_note(store, closed)
    assert make_ward_audit(store, None, None) == right
    assert make_ward_audit(store, None, None) == right, "and what was made anew is kept"
    assert store.read_unprojected(AUDIT_ROW.name, AUDIT_ROW.builder) == ()


def test_what_other_code_made_counts_no_more(store: SqliteStore, closed: str, monkeypatch: pytest.MonkeyPatch) -> None:
    right = make_ward_audit(store, None, None)
    forge(store, closed)
    monkeypatch.setattr(gists_module, "compute_builder_fingerprint", lambda *_: "later code")
    assert make_ward_audit(store, None, None) == right


def test_a_changed_gist_is_named_by_verify_and_made_anew(store: SqliteStore, closed: str, run: Run) -> None:
    right = make_ward_audit(store, None, None)
    forge(store, closed)
    done = run("verify")
    assert done.code == 4
    assert f'what is kept of preparation "{closed}" (case) is not what its records give' in done.out
    assert make_ward_audit(store, None, None) == right
    assert run("verify").code == 0


def test_rubbish_in_the_place_of_a_gist_is_left_out_in_words_until_it_is_put_right(
    store: SqliteStore, closed: str, change: Callable[..., None], run: Run
) -> None:
    change("UPDATE gist SET body = '[1' WHERE sort = 'case' AND prep = ?", closed)
    done = run("audit")
    assert done.code == 4
    assert closed in done.out
    assert "1 closed record" in done.out
    run("verify")
    assert run("audit").code == 0


def test_rubbish_in_a_list_of_ones_own_is_named_and_the_rest_is_listed(
    closed: str, change: Callable[..., None], run: Run
) -> None:
    whole = run("mine", "KM")
    assert (whole.code, whole.err) == (0, "")
    change("UPDATE gist SET body = '[1,2,3,4,5,6]' WHERE sort = 'part' AND prep = ?", closed)
    spoilt = run("mine", "KM")
    assert spoilt.code == 4
    assert closed in spoilt.err
    assert "Cot 2" in spoilt.out
    assert run("verify").code == 4
    assert run("mine", "KM") == whole


def test_a_changed_head_hides_no_preparation_from_verify_nor_afterwards(
    store: SqliteStore, change: Callable[..., None], run: Run
) -> None:
    opened = Workstation(store, WorkstationFiles(WARD, None), who="RA").start("surfactant-supraglottic", "Cot 5")
    assert not isinstance(opened, str)
    change("UPDATE head SET ended = last WHERE prep = ?", opened.session.prep)
    assert store.read_open() == ()
    done = run("verify")
    assert done.code == 4
    assert f"preparation '{opened.session.prep}' is kept as ended" in done.out
    assert store.read_open() == (opened.session.prep,)
    change("DELETE FROM head WHERE prep = ?", opened.session.prep)
    assert verify_store(store).rebuilt
    assert store.read_open() == (opened.session.prep,)
    assert run("verify").code == 0


def test_a_head_with_a_wrong_hash_costs_time_and_nothing_else(
    store: SqliteStore, closed: str, change: Callable[..., None]
) -> None:
    right = make_ward_audit(store, None, None)
    forge(store, closed)
    change("UPDATE head SET hash = 'ff'")
    assert make_ward_audit(store, None, None) == right
    assert make_ward_audit(store, None, None) == right


def test_an_audit_that_cannot_keep_anything_counts_all_the_same(
    store: SqliteStore, change: Callable[..., None], monkeypatch: pytest.MonkeyPatch
) -> None:
    right = make_ward_audit(store, None, None)
    change("DELETE FROM gist")

    def refuse(*_: object) -> None:
        raise StoreFull("no room left")

    monkeypatch.setattr(store, "write_projections", refuse)
    assert make_ward_audit(store, None, None) == right


def test_of_a_preparation_in_progress_nothing_is_kept(store: SqliteStore) -> None:
    opened = Workstation(store, WorkstationFiles(WARD, None), who="RA").start("surfactant-supraglottic", "Cot 5")
    assert not isinstance(opened, str)
    assert [kept.prep for kept in find_stored_preparations(store, "COT  5")] == [opened.session.prep]
    assert store.read_unprojected(COT_LABEL.name, COT_LABEL.builder) == (opened.session.prep,)


def test_what_is_found_by_a_label_has_that_label_whatever_was_kept(store: SqliteStore, closed: str) -> None:
    (kept,) = (gist for gist in find_projections(store, COT_LABEL).projections if gist.prep == closed)
    store.write_projections(COT_LABEL.name, COT_LABEL.builder, [Projection(closed, kept.hash, "cot 2", "")])
    assert closed not in {each.prep for each in find_stored_preparations(store, "Cot 2")}
    assert verify_store(store).rebuilt
    assert [each.prep for each in find_stored_preparations(store, "Cot 4")] == [closed]


LOADED = """
import sys
import prepkit.documents.audit, prepkit.documents.audit, prepkit.documents.logbook
import prepkit.preparation.recompute, prepkit.preparation.codec
print(*sorted(name.removeprefix("prepkit.") for name in sys.modules if name.startswith("prepkit.")))
"""
NOT_MAKING = frozenset({"documents", "errors"})
"""A package's empty top, the names of errors."""


def test_every_module_that_a_gist_is_made_with_is_in_its_fingerprint() -> None:
    told = subprocess.run([sys.executable, "-c", LOADED], capture_output=True, text=True, check=True)
    sources = {source.removesuffix(".py").replace("/", ".") for source in (*AUDIT_ROW.sources, *PART.sources)}
    left = {
        name
        for name in told.stdout.split()
        if name not in NOT_MAKING and not any(name == part or name.startswith(f"{part}.") for part in sources)
    }
    assert left == set()


def test_a_fingerprint_changes_with_any_name_and_any_content() -> None:
    files = [("a.py", b"1"), ("b.txt", b"2")]
    changed = [
        [("a.py", b"2"), ("b.txt", b"2")],
        [("c.py", b"1"), ("b.txt", b"2")],
        [("a.py", b"1")],
        [("a.py", b"1b.txt"), ("", b"2")],
        files[::-1],
    ]
    prints = {compute_files_fingerprint(iter(each)) for each in [files, *changed]}
    assert len(prints) == len(changed) + 1
    assert compute_builder_fingerprint("quantities") != compute_builder_fingerprint("quantities", "kit")


def test_of_many_with_one_label_the_last_begun_are_named(
    store: SqliteStore, closed: str, monkeypatch: pytest.MonkeyPatch, run: Run
) -> None:
    later = Workstation(store, WorkstationFiles(WARD, None), who="RA").start("surfactant-supraglottic", "Cot 4")
    assert not isinstance(later, str)
    assert [kept.prep for kept in find_stored_preparations(store, "Cot 4")] == [closed, later.session.prep]
    monkeypatch.setattr("prepkit.app.reports.MOST_FOUND", 1)
    assert [kept.prep for kept in find_stored_preparations(store, "Cot 4")] == [later.session.prep]
    monkeypatch.setattr("prepkit.app.reports.MOST_FOUND", 2)
    monkeypatch.setattr("prepkit.cli.record_commands.MOST_FOUND", 2)
    assert "these and perhaps older ones have the label" in run("record", "Cot 4").err


def test_a_head_without_records_keeps_nobody_from_finding_the_others(
    store: SqliteStore, closed: str, change: Callable[..., None], run: Run
) -> None:
    change("INSERT INTO head VALUES ('ghost', 1, 1, 'ff', NULL)")
    (found,) = find_stored_preparations(store, "cot 4")
    assert found.prep == closed
    assert any('"ghost" cannot be read' in words for words in find_projections(store, COT_LABEL).unprojectable)
    assert run("record", "cot 4").code == 0
