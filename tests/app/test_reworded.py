"""Every sentence of ours reads differently: no tick, check, agreement or summary read aloud falls, no list differs."""

from collections.abc import Callable, Iterator, Mapping
from contextlib import ExitStack, contextmanager
from hashlib import sha256
from types import ModuleType
from typing import Any
from unittest.mock import patch

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from workstation_scene import KIT, WARD, Clock, MakeDesk, answer_all, check_all, list_lines, start, tick, tick_all

from prepkit.app.kit_files import load_kit, load_ward
from prepkit.app.open_preparation import OpenPreparation
from prepkit.app.verification import verify_store
from prepkit.app.workstation import Workstation
from prepkit.kit.baby import make_baby
from prepkit.list.compute import compute_list
from prepkit.list.lines import TrayList
from prepkit.paths import find_shipped
from prepkit.preparation import listing, state
from prepkit.preparation.baby.suitability import compute_suitability_fingerprint
from prepkit.preparation.readiness import compute_ready_fingerprint
from prepkit.wording import say as saying
from prepkit.wording import things

KITS = sorted((find_shipped("kits")).glob("*.toml"))
WARD_READ = load_ward(WARD)[0]
NOW = Clock().now
SEEDS = ("", "one", "another")
"""The empty one turns every sentence into the same."""

Words = Callable[..., Any]


def change(words: Words, seed: str) -> Words:
    """The same function, whose sentences are others: what they said still decides which."""

    def reword(said: str) -> str:
        return f"{seed}{sha256((seed + said).encode()).hexdigest()[:8]}" if seed else "so"

    def say(*values: object, **named: object) -> object:
        said = words(*values, **named)
        return reword(said) if isinstance(said, str) else tuple(map(reword, said))

    return say


def list_changed(seed: str) -> Iterator[tuple[ModuleType, str, object]]:
    """Where sentences are made that a list, a line or a reason may hold, and what makes them instead."""
    for table in ("WORDS", "NESTED", "STEPS"):
        rows: Mapping[object, Words] = getattr(saying, table)
        yield saying, table, {kind: change(words, seed) for kind, words in rows.items()}
    for module, name in (
        *((saying, "say_citation"), (things, "say_citation")),
        *((listing, "say_weight"), (listing, "_say_needed"), (listing, "_say_dispute")),
    ):
        yield module, name, change(getattr(module, name), seed)
    for name in ("NO_LIST_YET", "LIST_IS_OLD"):
        yield state, name, f"{seed} {name}"


@contextmanager
def reword(seed: str) -> Iterator[None]:
    """Say everything differently; nothing that was prepared or said before is kept."""
    with ExitStack() as stack:
        for module, name, other in list_changed(seed):
            stack.enter_context(patch.object(module, name, other))
        stack.enter_context(patch.object(saying, "_SAID", {}))
        listing.prepare_texts.cache_clear()
        yield
    listing.prepare_texts.cache_clear()


def make_tray(path: int, facts: Mapping[str, str], *, ward: bool) -> TrayList:
    kit, _ = load_kit(KITS[path])
    assert kit is not None
    baby, problems = make_baby(kit.model, facts, NOW)
    assert baby is not None, problems
    return compute_list(kit, WARD_READ if ward else None, baby, {}, NOW)


def list_words(tray: TrayList) -> list[str]:
    return [saying.say(each) for line in tray.lines for each in (line.outcome.show, line.outcome.blocked) if each]


@settings(max_examples=30, deadline=None)
@given(
    seed=st.sampled_from(SEEDS),
    kit=st.integers(0, len(KITS) - 1),
    grams=st.integers(500, 4500),
    days=st.integers(25 * 7, 41 * 7),
    ward=st.booleans(),
)
def test_a_reworded_line_and_verdict_have_the_fingerprints_that_they_had(
    *, seed: str, kit: int, grams: int, days: int, ward: bool
) -> None:
    facts = {"birth_weight": str(grams), "birth_gestation": f"{days // 7}+{days % 7}"}
    before = make_tray(kit, facts, ward=ward)
    words = list_words(before)
    with reword(seed):
        after = make_tray(kit, facts, ward=ward)
        assert set(words).isdisjoint(list_words(after)), "nothing was reworded"
        assert after.fingerprints == before.fingerprints
        assert compute_suitability_fingerprint(after) == compute_suitability_fingerprint(before)


@pytest.mark.parametrize("seed", SEEDS)
def test_a_changed_value_changes_them_though_every_sentence_stays_the_same(seed: str) -> None:
    with reword(seed):
        trays = [
            make_tray(0, {"birth_weight": grams, "birth_gestation": "30+2"}, ward=True) for grams in ("1450", "1460")
        ]
        changed = {
            line.id
            for line, one, two in zip(trays[0].lines, trays[0].fingerprints, trays[1].fingerprints, strict=True)
            if one != two
        }
        assert "surfactant" in changed
        assert len(changed) < len(trays[0].lines)
        assert len({compute_suitability_fingerprint(tray) for tray in trays}) == 2


def prepare(desk: Workstation) -> OpenPreparation:
    """A preparation read aloud: a line set aside, a senior's agreement, every other line ticked, a second check."""
    opened = start(desk)
    answer_all(opened)
    assert opened.baby.answer("malformation", "unsure") == ""
    assert opened.baby.agree_senior("CW", "seen with the film, go on") == ""
    assert opened.lines.set_aside("drape", "lies in the pack") == ""
    for line in list_lines(opened):
        assert line == "drape" or tick(opened, line) == ""
    check_all(opened)
    assert opened.ready.read_aloud() == ""
    return opened


def leave_withheld(desk: Workstation) -> list[str]:
    """Three preparations without a list: nothing given, an unlikely weight, two weights against each other."""
    bare = desk.start(KIT, "Cot 5")
    assert not isinstance(bare, str)
    unlikely = start(desk, weight="3900", cot="Cot 6")
    disputed = start(desk, cot="Cot 7")
    tick_all(disputed)
    assert disputed.check.begin("TO") == ""
    assert disputed.check.enter_fact("birth_weight", "1540") == ""
    assert [each.session.state.why for each in (bare, unlikely, disputed)] == ["facts", "weight", "dispute"]
    return [each.session.prep for each in (bare, unlikely, disputed)]


def list_marks(opened: OpenPreparation) -> tuple[object, ...]:
    now, tray = opened.session.state, opened.session.work_out().tray
    return (
        {line.id: (now.is_ticked(line.id), now.is_set_aside(line.id), now.is_checked(line.id)) for line in now.lines},
        dict(now.changes),
        tray is not None and now.is_senior_agreed(compute_suitability_fingerprint(tray)),
        now.is_read_aloud(compute_ready_fingerprint(now)),
    )


@pytest.mark.parametrize("seed", SEEDS)
def test_a_stored_preparation_keeps_every_mark_and_gets_no_list_when_it_is_reworded(
    make_desk: MakeDesk, clock: Clock, seed: str
) -> None:
    desk = make_desk()
    opened = prepare(desk)
    preps = [opened.session.prep, *leave_withheld(desk)]
    before = {prep: list_marks(resume(desk, prep)) for prep in preps}
    marks, changes, is_agreed, is_read_aloud = before[opened.session.prep]
    assert isinstance(marks, dict)
    assert {each for marked in marks.values() for each in marked} == {True, False}
    assert (changes, is_agreed, is_read_aloud) == ({}, True, True)
    last = desk.store.read_last()
    clock.move(minutes=1)
    with reword(seed):
        for prep in preps:
            again = resume(make_desk(), prep)
            again.session.refresh()
            again.lines.show_list()
            again.ready.show_ready()
            assert again.session.act(lambda _: ()) == "", "a list that time changed would be recorded first"
            assert list_marks(again) == before[prep]
        assert desk.store.read_last() == last
        found = verify_store(desk.store)
        assert (found.chain, found.wrong) == ((), ())
        assert found.lists > len(preps)


def resume(desk: Workstation, prep: str) -> OpenPreparation:
    opened = desk.resume(prep)
    assert not isinstance(opened, str), opened
    return opened


def test_another_weight_still_takes_the_marks_whatever_the_words(make_desk: MakeDesk) -> None:
    opened = start(make_desk())
    answer_all(opened)
    tick_all(opened)
    with reword(""):
        again = resume(make_desk(), opened.session.prep)
        assert again.baby.give_fact("birth_weight", "1550") == ""
        assert {"surfactant", "atropine"} <= again.session.state.changes.keys()
        assert again.session.state.is_ticked("face-mask")
