"""A file that is asked after at every redraw: nothing stale is told of it for longer than a moment."""

import os
from pathlib import Path

import pytest
from workstation_scene import MakeDesk, start

from prepkit.app.files import AGAIN_AFTER, FileCache
from prepkit.app.list_cache import ListCache
from prepkit.app.workstation import Workstation
from prepkit.preparation.listing import make_listed, work_out


class Seconds:
    """A clock that the test moves."""

    def __init__(self) -> None:
        self.now = 100.0

    def __call__(self) -> float:
        return self.now


@pytest.fixture
def path(tmp_path: Path) -> Path:
    found = tmp_path / "ward.toml"
    found.write_bytes(b"dose = 20")
    return found


def write_unseen(path: Path, raw: bytes) -> None:
    """As a program might that puts the times back: nothing about the file tells that it changed."""
    before = path.stat()
    path.write_bytes(raw)
    os.utime(path, ns=(before.st_atime_ns, before.st_mtime_ns))


def test_a_file_that_did_not_change_is_not_read_again(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    watched = FileCache(Seconds())
    assert watched.read(path) == b"dose = 20"
    monkeypatch.setattr(Path, "read_bytes", lambda _: pytest.fail("read again"))
    assert watched.read(path) == b"dose = 20"


@pytest.mark.parametrize("raw", [b"dose = 30", b"dose = 2", b""])
def test_a_changed_file_is_seen_at_once(path: Path, raw: bytes) -> None:
    watched = FileCache(Seconds())
    watched.read(path)
    path.write_bytes(raw)
    os.utime(path, ns=(1, 1))
    assert watched.read(path) == raw


def test_another_file_put_in_its_place_with_the_same_size_and_times_is_seen_at_once(path: Path) -> None:
    watched = FileCache(Seconds())
    watched.read(path)
    other = path.with_name("other.toml")
    other.write_bytes(b"dose = 30")
    os.utime(other, ns=(path.stat().st_atime_ns, path.stat().st_mtime_ns))
    other.rename(path)
    assert watched.read(path) == b"dose = 30"


def test_a_change_that_nothing_tells_of_is_seen_a_moment_later_or_where_it_is_asked_for(path: Path) -> None:
    clock = Seconds()
    watched = FileCache(clock)
    watched.read(path)
    write_unseen(path, b"dose = 30")
    assert watched.read(path, again=True) == b"dose = 30"
    write_unseen(path, b"dose = 40")
    clock.now += AGAIN_AFTER
    assert watched.read(path) == b"dose = 40"


def test_a_clock_that_went_back_keeps_nothing(path: Path) -> None:
    clock = Seconds()
    watched = FileCache(clock)
    watched.read(path)
    write_unseen(path, b"dose = 30")
    clock.now -= 1
    assert watched.read(path) == b"dose = 30"


def test_a_file_that_went_away_is_not_answered_for(path: Path) -> None:
    watched = FileCache(Seconds())
    watched.read(path)
    path.unlink()
    assert watched.read(path) is None


def test_the_gate_reads_the_files_whatever_their_times_say(make_desk: MakeDesk, ward_file: Path) -> None:
    desk = make_desk()
    opened = start(desk)
    assert opened.ready.show_ready().missing is not None
    files, state = desk.files, opened.session.state
    assert files.find_news(state.kit, state.kit_text, state.ward_text) == ""
    write_unseen(ward_file, ward_file.read_bytes()[:-1] + b"#")
    assert "ward file" in files.find_news(state.kit, state.kit_text, state.ward_text, again=True)


def test_home_reads_on_where_another_device_wrote(make_desk: MakeDesk, monkeypatch: pytest.MonkeyPatch) -> None:
    here, there = make_desk(), make_desk("KM")
    opened = start(there)
    before = here.show_home().rows[0].left
    read: list[int] = []
    plain = here.store.read
    monkeypatch.setattr(here.store, "read", lambda prep, after=0: (read.append(after), plain(prep, after))[1])
    line = opened.lines.show_list().groups[0].lines[0].id
    assert opened.lines.tick(line) == ""
    row = here.show_home().rows[0]
    assert row.left != before
    assert "KM" in row.who
    assert read == [opened.session.state.seq - 1]


def test_home_shows_the_newest_and_says_how_many_more_there_are(make_desk: MakeDesk) -> None:
    desk = make_desk()
    for _ in range(3):
        start(desk)
    view = desk.show_home(2)
    assert [len(view.rows), view.more] == [2, "1 more, begun before these"]
    assert desk.show_home().more == ""
    assert desk.show_home().rows[:2] == view.rows


def test_the_list_recorded_is_the_one_worked_out_of_these_facts_now(desk: Workstation) -> None:
    opened, kept = start(desk), ListCache()
    now = desk.clock()
    before = kept.make_listed(opened.session.state, now)
    assert kept.make_listed(opened.session.state, now) is before
    assert opened.baby.give_fact("birth_weight", "2100") == ""
    after = kept.make_listed(opened.session.state, now)
    assert after == make_listed(work_out(opened.session.state, now), "time")
    assert after.lines != before.lines


def test_an_act_or_a_redraw_looks_at_the_ward_file_once(
    make_desk: MakeDesk, ward_file: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    desk = make_desk()
    opened = start(desk)
    looks: list[Path] = []
    plain = FileCache.read

    def look(cache: FileCache, path: Path, *, again: bool = False) -> bytes | None:
        looks.append(path)
        return plain(cache, path, again=again)

    monkeypatch.setattr(FileCache, "read", look)
    acts = {
        "home": desk.show_home,
        "list": opened.lines.show_list,
        "gate": opened.ready.show_ready,
        "start": lambda: desk.start("surfactant-supraglottic", "Cot 7"),
        "tick": lambda: opened.lines.tick("drape"),
        "birth_weight": lambda: opened.baby.confirm_weight("1450", "TO"),
        "read aloud": opened.ready.read_aloud,
        "news": opened.lines.take_news,
        "check": lambda: opened.check.begin("TO"),
        "checked weight": lambda: opened.check.enter_fact("birth_weight", "1450"),
        "stop": lambda: opened.check.stop("TO"),
    }
    counts = {}
    for name, act in acts.items():
        looks.clear()
        act()
        counts[name] = looks.count(ward_file)
    assert counts == dict.fromkeys(acts, 1)
