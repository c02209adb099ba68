"""`prepkit verify`: a whole store passes; a changed event and a changed list are named, the first first."""

import sqlite3
from collections.abc import Iterator
from contextlib import closing
from datetime import UTC, datetime, timedelta
from pathlib import Path

from papers_scene import KIT, KIT_TEXT, WARD, Run, copy_beginning

from prepkit.app.eventlog.repository import read_events
from prepkit.app.files import WorkstationFiles
from prepkit.app.reports import find_stored_preparations
from prepkit.app.verification import verify_store
from prepkit.app.workstation import Workstation
from prepkit.preparation.codec import read_payload
from prepkit.preparation.lines.events import LineSnapshot, Listed
from prepkit.preparation.recompute import recompute_lists
from prepkit.store import Record, SqliteStore, open_sqlite


def test_a_store_as_it_was_written_passes(run: Run, store: SqliteStore) -> None:
    done = run("verify")
    assert done.code == 0
    found = verify_store(store)
    assert found.lists > 20
    assert done.out.splitlines()[-1] == f"Last event: {found.last_hash}"
    assert f"{found.events} events" in done.out


def test_a_changed_event_breaks_the_chain_and_is_named(run: Run, kept: Path) -> None:
    with closing(sqlite3.connect(kept, isolation_level=None)) as other:
        other.execute("DROP TRIGGER record_no_update")
        other.execute("UPDATE record SET who = 'ZZ' WHERE position = 7")
    done = run("verify")
    assert done.code == 4
    assert "CHAIN BROKEN" in done.out.splitlines()[0]
    assert "record 7 " in done.out.splitlines()[0]


def spoil(store: SqliteStore, target: Path, kind: str, number: int, old: str, new: str) -> Record:
    """Copy the store with the `number`-th event of a kind that holds `old` changed; the chain is whole."""
    found = [each for each in store.read_all() if each.kind == kind and old in each.body][number]

    def change(record: Record) -> str:
        return record.body.replace(old, new) if record == found else record.body

    with open_sqlite(target) as copied:
        copy_beginning(store, copied, found.prep, change)
    return found


def list_snapshots(store: SqliteStore) -> Iterator[LineSnapshot]:
    for each in store.read_all():
        payload = read_payload(each.seq, each.kind, each.form, each.body)
        yield from payload.lines if isinstance(payload, Listed) else ()


def test_a_list_that_was_not_what_the_facts_give_is_named_with_its_line(
    store: SqliteStore, tmp_path: Path, run: Run
) -> None:
    target = tmp_path / "spoilt.sqlite"
    fingerprints = {each.name: each.fingerprint for each in list_snapshots(store) if each.show == "3.6 mL"}
    found = spoil(store, target, "listed", 2, fingerprints["Surfactant"], "0" * 64)
    done = run("verify", "--store", str(target))
    rows = done.out.splitlines()
    assert done.code == 4
    assert rows[0].startswith("Chain: "), "the chain is whole: whoever wrote it wrote it so"
    assert f'preparation "{found.prep}", event {found.seq} ' in rows[1]
    assert 'line "surfactant": the store has "Surfactant: 3.6 mL" (fingerprint 000000000000)' in rows[1]
    assert f'worked out again "Surfactant: 3.6 mL" (fingerprint {fingerprints["Surfactant"][:12]})' in rows[1]


def test_what_a_list_showed_in_other_words_is_no_difference(store: SqliteStore, tmp_path: Path) -> None:
    target = tmp_path / "reworded.sqlite"
    spoil(store, target, "listed", 2, '"show":"3.6 mL"', '"show":"three point six"')
    with open_sqlite(target) as copied:
        assert verify_store(copied).wrong == ()


def test_a_changed_fact_shows_in_the_list_made_from_it(store: SqliteStore, tmp_path: Path) -> None:
    target = tmp_path / "spoilt.sqlite"
    spoil(store, target, "fact-given", 0, '"value":"1450"', '"value":"1540"')
    with open_sqlite(target) as copied:
        found = verify_store(copied)
    assert found.chain == ()
    assert len(found.wrong) == 1, "the first list of the preparation alone is named"
    assert "the store has" in found.wrong[0]


def test_a_stored_kit_text_that_cannot_be_read_says_so(store: SqliteStore, tmp_path: Path) -> None:
    spoil(store, tmp_path / "spoilt.sqlite", "started", 0, 'least = \\"0/min\\"', 'least = \\"0/mim\\"')
    with open_sqlite(tmp_path / "spoilt.sqlite") as copied:
        assert "text stored with it cannot be read" in verify_store(copied).wrong[0]


def test_a_record_made_under_an_older_kit_edition_still_recomputes(store: SqliteStore, tmp_path: Path) -> None:
    kits = tmp_path / "kits"
    kits.mkdir()
    older = KIT_TEXT.replace('edition = "2026-11"', 'edition = "2025-01"').replace('"16 cm"', '"17 cm"')
    assert older.count('"17 cm"') >= 1
    (kits / f"{KIT}.toml").write_text(older, "utf-8")
    opened = Workstation(store, WorkstationFiles(WARD, kits), who="RA").start(KIT, "Cot 5")
    assert not isinstance(opened, str)
    assert opened.baby.give_fact("birth_weight", "1450") == opened.baby.give_fact("birth_gestation", "30+2") == ""
    assert "14–17 cm" in [line.show for line in opened.session.state.lines]
    # From here on the kit is the newer one, and one more list is made from it.
    (kits / f"{KIT}.toml").write_text(KIT_TEXT, "utf-8")
    again = Workstation(store, WorkstationFiles(WARD, kits), who="RA").resume(opened.session.prep)
    assert not isinstance(again, str)
    assert again.lines.take_news() == ""
    assert "14–16 cm" in [line.show for line in again.session.state.lines]
    (kept,) = find_stored_preparations(store, "Cot 5")
    lists = list(recompute_lists(kept.events))
    assert [each.wrong for each in lists] == [""] * len(lists)
    assert verify_store(store).wrong == ()


def test_an_event_that_cannot_be_read_is_named_and_the_others_are_verified(store: SqliteStore, tmp_path: Path) -> None:
    target = tmp_path / "spoilt.sqlite"
    spoil(store, target, "answered", 0, '"answer":"no"', '"answer":"perhaps"')
    with open_sqlite(target) as copied:
        found = verify_store(copied)
    assert "perhaps" in found.wrong[0]


def test_an_approval_that_ran_out_while_the_list_was_written_is_no_difference(tmp_path: Path) -> None:
    # The demo ward's approval HW-27 is to be reviewed by 1 March 2027: after that day the device is blocked.
    midnight = datetime(2027, 3, 2, 0, 0, tzinfo=UTC)
    calls = iter(())

    def say_time() -> datetime:
        return next(calls, midnight + timedelta(milliseconds=1))

    split = 0
    with open_sqlite(tmp_path / "store.sqlite") as store:
        for before in range(1, 9):
            calls = iter([midnight - timedelta(hours=1)] * 99)
            opened = Workstation(store, WorkstationFiles(WARD, None), who="RA", clock=say_time).start(
                KIT, f"Cot {before}"
            )
            assert not isinstance(opened, str)
            assert opened.baby.give_fact("birth_weight", "1450") == ""
            # The stamp is taken, the list worked out: midnight falls before, between or after the two.
            calls = iter([midnight - timedelta(milliseconds=1)] * before)
            assert opened.baby.give_fact("birth_gestation", "30+2") == ""
            for each in read_events(store, opened.session.prep):
                if isinstance(each.payload, Listed) and each.stamp.at < midnight:
                    split += any(line.blocked for line in each.payload.lines if line.id == "airway-device")
        assert split > 0, "it never fell between the two"
        assert verify_store(store).wrong == ()
