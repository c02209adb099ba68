"""The store out of reach: the screen can be read, nothing is called done that is not, and it goes on after."""

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from hands import Hands, move_to, place, read_screen, row_of, run, see, settle, touch_row, type_in
from pg_cut import run_network
from workstation_scene import WARD, Clock, start

from prepkit.app.files import WorkstationFiles
from prepkit.app.open_preparation import OpenPreparation
from prepkit.app.workstation import Workstation
from prepkit.errors import StoreLost, StoreUnsure
from prepkit.store import SqliteStore, open_sqlite, open_store
from prepkit.store.records import list_contents
from prepkit.tui.screens.base import NEWS_EVERY
from prepkit.view.models import Sign

AWAY = 'ward "store" cannot be reached: nothing is written until the connection is back'
LOST = "No connection to the store since 03:00"


class Away:
    """A store that can be taken out of reach, or lost in the middle of the next append."""

    def __init__(self, store: SqliteStore) -> None:
        self._store = store
        self.is_away = False
        self.loses = ""
        """Where the next append is broken off: "before" it is kept, or "after"."""

    def __getattr__(self, name: str) -> Any:  # noqa: ANN401  (whatever the store has)
        if self.is_away and name in {"append", "read", "read_open", "read_ended", "has_news", "read_projections"}:
            raise StoreLost(AWAY)
        return getattr(self._store, name)

    def append(self, prep: str, expected_seq: int, drafts: Any, attribution: Any) -> Any:  # noqa: ANN401  (as the store's)
        if self.is_away:
            raise StoreLost(AWAY)
        if not self.loses:
            return self._store.append(prep, expected_seq, drafts, attribution)
        if self.loses == "after":
            self._store.append(prep, expected_seq, drafts, attribution)
        self.loses, self.is_away = "", True
        raise StoreUnsure(AWAY, prep, expected_seq, list_contents(drafts, attribution))


@pytest.fixture
def store(store_path: Path) -> Iterator[Away]:
    with open_sqlite(store_path) as opened:
        yield Away(opened)


@pytest.fixture
def desk(store: Away, clock: Clock) -> Workstation:
    return Workstation(store, WorkstationFiles(WARD, None), who="RA", clock=clock)


@pytest.fixture
def begun(desk: Workstation) -> OpenPreparation:
    return start(desk)


async def look_again(pilot: Hands) -> None:
    for _ in range(3):
        await pilot.pause(NEWS_EVERY)
    await settle(pilot)


def words(pilot: Hands) -> str:
    return " ".join(see(pilot).replace("│", " ").split())


@pytest.mark.parametrize("size", [(40, 20), pytest.param((80, 24), marks=pytest.mark.thorough)])
async def test_a_lost_store_is_said_on_the_screen_the_list_is_read_and_a_tick_is_not_taken(
    store: Away, desk: Workstation, begun: OpenPreparation, size: tuple[int, int]
) -> None:
    async with run(desk, size) as pilot:
        await type_in(pilot, "", "enter")
        await move_to(pilot, "line drape")
        before = [line for line in read_screen(pilot) if "rape" in line]
        store.is_away = True
        await look_again(pilot)
        assert LOST in words(pilot)
        assert place(pilot) == "list", "no message stands in the way of reading"
        assert [line for line in read_screen(pilot) if "rape" in line] == before
        await type_in(pilot, "", "space")
        assert "Not saved" in words(pilot)
        await type_in(pilot, "", "enter")
        assert row_of(pilot, "line drape").text.sign == Sign.TO_DO
        await type_in(pilot, "", "enter")
        assert place(pilot) == "line", "another line can be opened and read"
        assert LOST in words(pilot)
        store.is_away = False
        await look_again(pilot)
        assert "No connection" not in words(pilot)
        await type_in(pilot, "", "escape", "space")
        assert row_of(pilot, "line drape").text.sign == Sign.DONE


@pytest.mark.thorough
async def test_what_others_did_meanwhile_is_shown_when_the_store_is_back(
    store: Away, desk: Workstation, begun: OpenPreparation, other_desk: Workstation
) -> None:
    async with run(desk, (80, 24)) as pilot:
        await type_in(pilot, "", "enter")
        await move_to(pilot, "line drape")
        store.is_away = True
        await look_again(pilot)
        elsewhere = other_desk.resume(begun.session.prep)
        assert not isinstance(elsewhere, str)
        assert elsewhere.lines.tick("drape") == ""
        await look_again(pilot)
        assert row_of(pilot, "line drape").text.sign == Sign.TO_DO
        store.is_away = False
        await look_again(pilot)
        assert row_of(pilot, "line drape").text.sign == Sign.DONE


@pytest.mark.parametrize(
    ("loses", "said"),
    [("before", "was not saved: do it again"), pytest.param("after", "was saved.", marks=pytest.mark.thorough)],
)
async def test_a_tick_that_was_being_saved_is_said_to_be_saved_or_not_once_that_is_known(
    store: Away, desk: Workstation, begun: OpenPreparation, monkeypatch: pytest.MonkeyPatch, loses: str, said: str
) -> None:
    async with run(desk, (40, 20)) as pilot:
        await type_in(pilot, "", "enter")
        await move_to(pilot, "line drape")
        store.loses = loses
        await type_in(pilot, "", "space")
        assert "Perhaps saved" in words(pilot)
        assert "Not saved" not in words(pilot)
        await type_in(pilot, "", "enter")
        assert LOST in words(pilot)
        store.is_away = False
        await look_again(pilot)
        assert "Whether the last touch was saved is said in a moment" in words(pilot)
        monkeypatch.setattr("prepkit.app.connectivity.SETTLED_AFTER", 0.0)
        await look_again(pilot)
        assert said in words(pilot)
        await type_in(pilot, "", "enter")
        assert place(pilot) == "list"
        assert row_of(pilot, "line drape").text.sign == (Sign.DONE if loses == "after" else Sign.TO_DO)
        await look_again(pilot)
        assert place(pilot) == "list", "it is said once"


@pytest.mark.thorough
async def test_no_key_and_no_touch_stops_the_app_while_the_store_is_away(
    store: Away, desk: Workstation, begun: OpenPreparation
) -> None:
    """Every key of home and of the list, each followed by what leads back."""
    async with run(desk, (80, 24)) as pilot:
        store.is_away = True
        await look_again(pilot)
        assert LOST in words(pilot)
        for key in "abcdefghijklmnoprstuvwxyz1?":
            await type_in(pilot, key, "enter", "escape", "escape", "escape")
        assert pilot.app.is_running
        store.is_away = False
        await look_again(pilot)
    async with run(desk, (80, 24)) as pilot:
        await type_in(pilot, "", "enter")
        assert place(pilot) == "list"
        store.is_away = True
        for key in "abcdefghijklmnoprstuvwxyz1?":
            await type_in(pilot, key, "enter", "escape", "escape")
            if place(pilot) == "home":
                break
        assert pilot.app.is_running
        assert LOST in words(pilot)


@pytest.mark.thorough
async def test_a_real_server_cut_off_and_back_again(pg_server: Any, clock: Clock) -> None:  # noqa: ANN401  (a fixture)
    login = pg_server.make_ward()
    with (
        run_network(pg_server.port) as network,
        open_store(pg_server.address(login, network.port)) as store,
        open_store(pg_server.address(login)) as near,
    ):
        here = Workstation(store, WorkstationFiles(WARD, None), who="RA", clock=clock)
        opened = start(here)
        elsewhere = Workstation(near, WorkstationFiles(WARD, None), who="KM", clock=clock).resume(opened.session.prep)
        assert not isinstance(elsewhere, str)
        async with run(here, (80, 24)) as pilot:
            await type_in(pilot, "", "enter")
            await move_to(pilot, "line drape")
            network.cut()
            await look_again(pilot)
            assert LOST in words(pilot)
            elsewhere.session.refresh()
            assert elsewhere.lines.tick("drape") == ""
            network.mend()
            for _ in range(40):
                await look_again(pilot)
                if "No connection" not in words(pilot):
                    break
            assert row_of(pilot, "line drape").text.sign == Sign.DONE


async def test_with_pins_a_touch_on_home_while_the_store_is_away_is_refused_in_words(
    pins_desk: Workstation, begun_with_pins: OpenPreparation
) -> None:
    desk = pins_desk
    away = Away(desk.store)  # type: ignore[arg-type]
    desk.store = desk.connectivity._store = desk._state_cache._store = desk.identity._staff._store = (
        desk.identity._store
    ) = away  # type: ignore[assignment]
    async with run(desk, (40, 20)) as pilot:
        away.is_away = True
        await look_again(pilot)
        assert LOST in words(pilot)
        await touch_row(pilot, begun_with_pins.session.prep)
        await settle(pilot)
        assert pilot.app.is_running
        assert pilot.app._exception is None
        assert "cannot be reached" in words(pilot)
