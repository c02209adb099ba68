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

from prepkit.desk import gists as gists_module
from prepkit.desk.desk import Desk
from prepkit.desk.files import Files
from prepkit.desk.gists import find_gists
from prepkit.desk.ledger import read_on, write_decision
from prepkit.desk.maker import compute_maker, compute_print
from prepkit.desk.papers import find_kept, make_ward_audit
from prepkit.desk.sorts import CASE, LABEL, PART, SORTS
from prepkit.desk.verifying import verify_store
from prepkit.desk.whole import read_kept
from prepkit.documents.audit import Audit, Case
from prepkit.documents.case_text import read_case, write_case
from prepkit.errors import StoreFull
from prepkit.preparation.cot_events import AddendumWritten
from prepkit.preparation.events import Stamp
from prepkit.store import Gist, SqliteStore

CASES = st.builds(
    Case,
    route=st.text(),
    first_attempt=st.none() | st.booleans(),
    delivered=st.none() | st.booleans(),
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
    return find_kept(store, "cot 4")[0].prep


def forge(store: SqliteStore, prep: str) -> None:
    """Keep a wrong case for the record as it is: 999 mg/kg. Whatever takes it for true shows it."""
    (kept,) = (gist for gist in store.read_gists(CASE.name, CASE.maker) if gist.prep == prep)
    wrong = replace(read_case(kept.body), per_kg=Fraction(999))
    store.write_gists(CASE.name, CASE.maker, [replace(kept, body=write_case(wrong))])


def most_dose(audit: Audit) -> str:
    return audit.spreads[0].most


def add_note(store: SqliteStore, prep: str) -> None:
    """An addendum after closing, by a program that keeps no gists."""
    kept = read_kept(store, prep)
    stamp = Stamp("RA", kept.state.last.at, "desk")
    state = read_on(store, prep, kept.state)
    assert write_decision(store, prep, state, lambda _: (AddendumWritten("looked at again"),), stamp).refusal == ""


@given(CASES)
def test_a_case_is_kept_exactly_and_read_back_whole(case: Case) -> None:
    assert read_case(write_case(case)) == case


@pytest.mark.parametrize(
    "text", ["", "{}", "[]", "[1]", "null", '["r",1,1,"1/0",1,[],1,1,[],1]', '["r",1,1,[],1,1,1,1,1,1]']
)
def test_what_is_no_case_is_said_to_be_none(text: str) -> None:
    with pytest.raises(ValueError, match=r"."):
        read_case(text)


def test_what_a_preparation_adds_is_kept_when_it_ends(store: SqliteStore) -> None:
    ended = {head.prep for head in store.read_ended(9)}
    assert len(ended) == 3
    for sort in SORTS:
        assert {gist.prep for gist in store.read_gists(sort.name, sort.maker)} == ended
        assert store.read_wanting(sort.name, sort.maker) == ()


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
    assert store.read_wanting(CASE.name, CASE.maker) == ()


def test_what_other_code_made_counts_no_more(store: SqliteStore, closed: str, monkeypatch: pytest.MonkeyPatch) -> None:
    right = make_ward_audit(store, None, None)
    forge(store, closed)
    monkeypatch.setattr(gists_module, "compute_maker", lambda *_: "later code")
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
    opened = Desk(store, Files(WARD, None), who="RA").start("surfactant-supraglottic", "Cot 5")
    assert not isinstance(opened, str)
    change("UPDATE head SET ended = last WHERE prep = ?", opened.prep)
    assert store.read_open() == ()
    done = run("verify")
    assert done.code == 4
    assert f"preparation '{opened.prep}' is kept as ended" in done.out
    assert store.read_open() == (opened.prep,)
    change("DELETE FROM head WHERE prep = ?", opened.prep)
    assert verify_store(store).kept
    assert store.read_open() == (opened.prep,)
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

    monkeypatch.setattr(store, "write_gists", refuse)
    assert make_ward_audit(store, None, None) == right


def test_of_a_preparation_in_progress_nothing_is_kept(store: SqliteStore) -> None:
    opened = Desk(store, Files(WARD, None), who="RA").start("surfactant-supraglottic", "Cot 5")
    assert not isinstance(opened, str)
    assert [kept.prep for kept in find_kept(store, "COT  5")] == [opened.prep]
    assert store.read_wanting(LABEL.name, LABEL.maker) == (opened.prep,)


def test_what_is_found_by_a_label_has_that_label_whatever_was_kept(store: SqliteStore, closed: str) -> None:
    (kept,) = (gist for gist in find_gists(store, LABEL).gists if gist.prep == closed)
    store.write_gists(LABEL.name, LABEL.maker, [Gist(closed, kept.hash, "cot 2", "")])
    assert closed not in {each.prep for each in find_kept(store, "Cot 2")}
    assert verify_store(store).kept
    assert [each.prep for each in find_kept(store, "Cot 4")] == [closed]


LOADED = """
import sys
import prepkit.documents.audit, prepkit.documents.case_text, prepkit.documents.mine
import prepkit.preparation.recompute, prepkit.preparation.codec
print(*sorted(name.removeprefix("prepkit.") for name in sys.modules if name.startswith("prepkit.")))
"""
NOT_MAKING = frozenset({"documents", "errors"})
"""A package's empty top, the names of errors."""


def test_every_module_that_a_gist_is_made_with_is_in_its_fingerprint() -> None:
    told = subprocess.run([sys.executable, "-c", LOADED], capture_output=True, text=True, check=True)
    sources = {source.removesuffix(".py").replace("/", ".") for source in (*CASE.sources, *PART.sources)}
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
    prints = {compute_print(iter(each)) for each in [files, *changed]}
    assert len(prints) == len(changed) + 1
    assert compute_maker("quantities") != compute_maker("quantities", "kit")


def test_of_many_with_one_label_the_last_begun_are_named(
    store: SqliteStore, closed: str, monkeypatch: pytest.MonkeyPatch, run: Run
) -> None:
    later = Desk(store, Files(WARD, None), who="RA").start("surfactant-supraglottic", "Cot 4")
    assert not isinstance(later, str)
    assert [kept.prep for kept in find_kept(store, "Cot 4")] == [closed, later.prep]
    monkeypatch.setattr("prepkit.desk.papers.MOST_FOUND", 1)
    assert [kept.prep for kept in find_kept(store, "Cot 4")] == [later.prep]
    monkeypatch.setattr("prepkit.desk.papers.MOST_FOUND", 2)
    monkeypatch.setattr("prepkit.cli.record_command.MOST_FOUND", 2)
    assert "these and perhaps older ones have the label" in run("record", "Cot 4").err


def test_a_head_without_records_keeps_nobody_from_finding_the_others(
    store: SqliteStore, closed: str, change: Callable[..., None], run: Run
) -> None:
    change("INSERT INTO head VALUES ('ghost', 1, 1, 'ff', NULL)")
    (found,) = find_kept(store, "cot 4")
    assert found.prep == closed
    assert any('"ghost" cannot be read' in words for words in find_gists(store, LABEL).left)
    assert run("record", "cot 4").code == 0
