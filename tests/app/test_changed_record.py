"""A record that was changed by other means: nothing made from it is shown, and what was not changed still opens."""

import sqlite3
from contextlib import closing
from pathlib import Path

import pytest
from workstation_scene import MakeDesk, start

from prepkit.app.open_preparation import OpenPreparation
from prepkit.errors import StoreDamaged


@pytest.fixture
def store_path(tmp_path: Path) -> Path:
    return tmp_path / "store" / "preparations.sqlite"


def change(path: Path, sql: str, prep: str) -> None:
    with closing(sqlite3.connect(path, isolation_level=None)) as client:
        client.execute("DROP TRIGGER record_no_update")
        assert client.execute(sql, (prep,)).rowcount == 1


@pytest.mark.parametrize(
    "sql",
    [
        "UPDATE record SET who = 'ZZ' WHERE prep = ? AND kind = 'ticked'",
        "UPDATE record SET body = replace(body, '1450', '1540') WHERE prep = ? AND kind = 'fact-given' AND seq = 3",
        "UPDATE record SET at = replace(at, ':00:', ':01:') WHERE prep = ? AND seq = 1",
    ],
    ids=["who", "weight", "when"],
)
def test_what_was_changed_is_said_at_once_and_the_others_still_open(
    make_desk: MakeDesk, store_path: Path, sql: str
) -> None:
    desk = make_desk()
    changed, other = start(desk, cot="Cot 4"), start(desk, cot="Cot 2")
    assert changed.lines.tick("drape") == ""
    assert [record.kind for record in desk.store.read(changed.session.prep)][2] == "fact-given"
    change(store_path, sql, changed.session.prep)
    view = make_desk().show_home()
    assert [row.cot for row in view.rows] == ["Cot 2"]
    (said,) = (notice for notice in view.notices if changed.session.prep in notice)
    assert said.endswith("it is not what was written. Begin it anew; prepkit verify looks the whole store through.")
    assert isinstance(make_desk().resume(other.session.prep), OpenPreparation)
    with pytest.raises(StoreDamaged, match="it is not what was written"):
        make_desk().resume(changed.session.prep)


def test_a_device_that_takes_a_changed_record_in_says_so_instead_of_showing_it(
    make_desk: MakeDesk, store_path: Path
) -> None:
    opened = start(make_desk())
    elsewhere = make_desk().resume(opened.session.prep)
    assert isinstance(elsewhere, OpenPreparation)
    assert elsewhere.lines.tick("drape") == ""
    change(store_path, "UPDATE record SET who = 'ZZ' WHERE prep = ? AND kind = 'ticked'", opened.session.prep)
    with pytest.raises(StoreDamaged, match="it is not what was written"):
        opened.session.refresh()
    assert not opened.session.state.is_ticked("drape")
