"""Every hash that a store or a paper holds: of values made by hand, and over the kept store.

Were one to come out otherwise, no tick, check or signature in any store would count: none of these is made anew.
"""

import shutil
from collections.abc import Iterable
from hashlib import sha256
from pathlib import Path

import pytest
from make_kept import STORE
from msgspec.structs import replace

from prepkit.app.eventlog.repository import StoredPreparation, list_preparation_ids, read_stored_preparation
from prepkit.canonical import compute_fingerprint
from prepkit.documents.audit import make_audit_row, write_audit_row
from prepkit.documents.logbook import make_team_roles, write_team_roles
from prepkit.list.lines import TrayList, compute_line_fingerprint
from prepkit.preparation.baby.suitability import compute_suitability_fingerprint
from prepkit.preparation.bedside.afterwards import compute_record_fingerprint
from prepkit.preparation.bedside.events import FollowUpSet
from prepkit.preparation.codec import encode_payload
from prepkit.preparation.evolve import fold
from prepkit.preparation.readiness import compute_ready_fingerprint
from prepkit.preparation.recompute import work_out_as_listed
from prepkit.store import Record, compute_hash, open_sqlite

TEXT = 'a "b" \\ / \b\f\n\r\t\x00\x1f\x7f\x80é\u2028\ufeff𝄞'
RECORD = Record(7, "p-1", 3, "ticked", 1, "2026-11-25T03:12:00.000+01:00", "RA", 1, TEXT, '{"line":"é"}', "0" * 64, "")


@pytest.fixture(scope="module")
def kept(tmp_path_factory: pytest.TempPathFactory) -> tuple[StoredPreparation, ...]:
    path = Path(shutil.copyfile(STORE, tmp_path_factory.mktemp("kept") / STORE.name))
    with open_sqlite(path) as store:
        return tuple(read_stored_preparation(store, prep) for prep in sorted(list_preparation_ids(store)))


def list_trays(kept: Iterable[StoredPreparation]) -> list[TrayList]:
    worked = [work_out_as_listed(each.events) for each in kept]
    return [each.tray for each in worked if each is not None and each.tray is not None]


def join(texts: Iterable[str]) -> str:
    return sha256("\n".join(texts).encode()).hexdigest()


@pytest.mark.parametrize(
    ("value", "fingerprint"),
    [
        (None, "74234e98afe7498fb5daf1f36ac2d78acc339464f950703b8c019892f982b90b"),
        ([], "4f53cda18c2baa0c0354bb5f9a3ecbe5ed12ab4d8e11ba873c2f11161202b945"),
        ([True, False, 0, -1, 2**63, 10**30], "60b2fb9226a0845e3ddeb76c0930f6bd0211f5e07e895b4ee27d0b236112b39b"),
        (TEXT, "2ffe75e0ca52d7aa7e137d47ab8adf0cbd0162ccd1a9eca77fcefc85ffe5f57c"),
        (
            {"b": [], "a": (1, ["x", None]), "é": {}, "𝄞": "", "\uffff": "", "": TEXT, "A": {"b": 1, "a": 2}},
            "0420bf18da4c0fce71c5093850a266118cb8468ce20de2b4ac6340a398e7d968",
        ),
    ],
)
def test_a_value_made_by_hand_has_the_fingerprint_that_it_always_had(value: object, fingerprint: str) -> None:
    assert compute_fingerprint(value) == fingerprint


def test_a_payload_made_by_hand_is_stored_as_it_always_was() -> None:
    payload = FollowUpSet(TEXT, "é", "2026-11-25T03:12:00+01:00", ("𝄞", ""))
    assert join(map(str, encode_payload(payload))) == "76358a7e0f986f725b7e5d4ce43023d5ef212a02750f61897375705d10d44c07"


@pytest.mark.parametrize(
    ("record", "hash_"),
    [
        (RECORD, "79e595c099151793a599b3c5bc19f838c515affa8f8607baf859bb24dd272d2f"),
        (
            replace(RECORD, verified=0, where="", body=""),
            "d199efb60be0994c09546d33fea382f1a77547c54a8fd4625f755207242086fa",
        ),
        (
            replace(RECORD, where="no UTF-8: \udcff", who="\ud834"),
            "23f4eacd516495425480a078bae50bfb8c72ee30eff186489eebbd4ff137dacd",
        ),
    ],
)
def test_a_record_made_by_hand_has_the_hash_that_it_always_had(record: Record, hash_: str) -> None:
    assert compute_hash(record) == hash_


def test_each_line_of_the_kept_store_has_the_fingerprint_that_it_always_had(
    kept: tuple[StoredPreparation, ...],
) -> None:
    lines = [line for tray in list_trays(kept) for line in tray.lines]
    assert len(lines) == 160
    assert (
        join(compute_line_fingerprint(line) for line in lines)
        == "08c74c8da571cd424307688d20db3c40a9e9a36ac251e9838fa6fcdbca59a948"
    )


def test_what_was_read_aloud_agreed_and_signed_has_the_fingerprint_that_it_always_had(
    kept: tuple[StoredPreparation, ...],
) -> None:
    states = [fold(each.events[:end]) for each in kept for end in range(1, len(each.events) + 1)]
    assert (
        join(compute_ready_fingerprint(each) for each in states)
        == "2c1c5d0a2b1f98240f8b18391bd601194dc07058bfe7b79041dc9c39a38070cb"
    )
    assert (
        join(compute_record_fingerprint(each) for each in states)
        == "9cdb146abace88b982de8f9439787913ed70f622d2944eee54cbe0e65a9578a1"
    )
    assert (
        join(compute_suitability_fingerprint(tray) for tray in list_trays(kept))
        == "1ec68d6e3e59c5d5a8daa007ac80eaa91313572fba6bc9375b5a5c2b7642842d"
    )


def test_what_is_kept_of_each_preparation_for_audit_and_logbook_is_written_as_it_always_was(
    kept: tuple[StoredPreparation, ...],
) -> None:
    assert (
        join(write_team_roles(make_team_roles(each.events, each.state)) for each in kept)
        == "837c28c8caf528d828e1f017ff672c4b05798d460e930ba6b020062c0720ea93"
    )
    closed = [(each, work_out_as_listed(each.events)) for each in kept if each.state.cot_record.closed]
    rows = [make_audit_row(each.events, each.state, worked) for each, worked in closed if worked is not None]
    assert (
        join(write_audit_row(row) for row in rows) == "5121b177d3363bf3c056f660cd062b69c5c67fbe836fa89d4963c8c46107119f"
    )


def test_each_event_of_the_kept_store_is_written_as_it_stands_there(tmp_path: Path) -> None:
    with open_sqlite(Path(shutil.copyfile(STORE, tmp_path / STORE.name))) as store:
        for prep in list_preparation_ids(store):
            events = read_stored_preparation(store, prep).events
            stored = [(each.kind, each.form, each.body) for each in store.read(prep)]
            assert [encode_payload(each.payload) for each in events] == stored
