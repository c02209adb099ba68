"""Fragments on the disk: where they are looked for, what is told of them and where, and what a kit's text is then."""

import hashlib
import json
import shutil
from functools import reduce
from pathlib import Path

import pytest
import tomli
from hypothesis import given
from hypothesis import strategies as st
from kit_files import HERE, KIT_TEXT, WARD_TEXT, take_kit, take_ward
from shipped import KIT_IDS, read_kit_text

from prepkit.app.kit_files import load_fragment, load_kit
from prepkit.cli.main import main
from prepkit.kit.fragments import FragmentFile, list_wanted
from prepkit.kit.layer import lay_over
from prepkit.kit.parts import TextPart, join_texts
from prepkit.kit.placing import PLACED
from prepkit.kit.problems import Problem
from prepkit.kit.read import check_beside, read_fragment, read_kit
from prepkit.paths import find_kits, find_shipped

SHIPPED = find_shipped("kits")
HEAD = """\
form = 1
id = "small"
edition = "1"
name = "Small"
short = "Small"
review_by = 2027-11-30
fragments = ["watch"]

[domain]
birth_weight = { at_least = "500 g", at_most = "5000 g" }
birth_gestation = { at_least = "23+0", at_most = "42+0" }

[[group]]
id = "watching"
name = "Watching"

"""
KIT = f"""\
{HEAD}[[line]]
kind = "supply"
id = "drape"
group = "watching"
name = "Clean drape"
basis = "local"

[[line]]
id = "spo2"
fragment = "watch"
"""
WATCH = """\
# What the baby is watched with.

[fragment.watch.sources.example]
title = "A guideline"
reference = "its chapter"
read = "whole"
written_for = "invented babies"

[[fragment.watch.line]]
kind = "setting"
id = "spo2"
group = "watching"
name = "SpO2 target"
basis = "published"
source = ["example"]

[[fragment.watch.line.band]]
low = "91 %"
high = "95 %"

[[fragment.watch.line]]
kind = "supply"
id = "probe"
group = "watching"
name = "Probe"
basis = "local"
"""


@pytest.fixture
def kits(tmp_path: Path) -> Path:
    """A folder with a kit and its fragment."""
    (tmp_path / "kits" / "fragments").mkdir(parents=True)
    write(tmp_path / "kits" / "small.toml", KIT)
    write(tmp_path / "kits" / "fragments" / "watch.toml", WATCH)
    return tmp_path / "kits"


def write(path: Path, text: str) -> None:
    path.write_text(text, "utf-8")


def change(path: Path, old: str, new: str) -> int:
    """Change a file at one place; the line of the mark in it."""
    text = path.read_text("utf-8")
    assert text.count(old) == 1
    marked = text.replace(old, new)
    write(path, marked.replace(HERE, ""))
    return marked[: marked.index(HERE)].count("\n") + 1


def find(kits: Path) -> tuple[Problem, ...]:
    kit, problems = load_kit(kits / "small.toml")
    assert (kit is None) == bool(problems)
    return problems


def test_a_row_stands_where_the_kit_places_it_and_nothing_else_of_the_fragment_does(kits: Path) -> None:
    kit, problems = load_kit(kits / "small.toml")
    assert kit is not None, problems
    assert [line.id for line in kit.model.line] == ["drape", "spo2"]
    assert list(kit.model.sources) == ["example"]
    assert kit.model.fragment == {}


def test_the_text_of_a_kit_is_its_own_with_those_of_its_fragments_behind_it(kits: Path) -> None:
    kit, _ = load_kit(kits / "small.toml")
    assert kit is not None
    assert kit.text == KIT + WATCH
    assert kit.sha256 == hashlib.sha256((KIT + WATCH).encode()).hexdigest()


@pytest.mark.parametrize("kit", KIT_IDS)
def test_what_is_stored_reads_to_the_same_kit_with_no_other_file_at_hand(kit: str) -> None:
    loaded, _ = load_kit(SHIPPED / f"{kit}.toml")
    assert loaded is not None
    assert tomli.loads(loaded.text)
    stored = take_kit(loaded.text)
    assert (stored.model, stored.text, stored.sha256) == (loaded.model, loaded.text, loaded.sha256)


def test_a_stored_text_saved_as_a_file_holds_its_fragments_and_takes_no_others(kits: Path) -> None:
    write(kits / "small.toml", KIT + WATCH)
    change(kits / "fragments" / "watch.toml", '"95 %"', f'{HERE}"94 %"')
    kit, problems = load_kit(kits / "small.toml")
    assert kit is not None, problems
    assert kit.text == KIT + WATCH


def test_a_changed_fragment_changes_the_hash_of_every_kit_that_names_it(kits: Path) -> None:
    before, _ = load_kit(kits / "small.toml")
    change(kits / "fragments" / "watch.toml", "# What", f"{HERE}# Whatever")
    after, _ = load_kit(kits / "small.toml")
    assert before is not None
    assert after is not None
    assert (before.model == after.model, before.sha256 == after.sha256) == (True, False)


@given(st.lists(st.text("ab\n", max_size=5), min_size=1, max_size=4))
def test_joined_texts_each_begin_on_a_line_of_their_own(texts: list[str]) -> None:
    joined = join_texts(texts)
    assert joined.split("\n") == [row for text in texts for row in text.removesuffix("\n").split("\n")] + (
        [""] if texts[-1].endswith("\n") else []
    )


def test_a_fragment_beside_the_kit_stands_over_the_shipped_one_of_its_name(kits: Path) -> None:
    change(kits / "small.toml", '["watch"]', f'{HERE}["watch", "tray"]')
    change(
        kits / "small.toml",
        '[[line]]\nid = "spo2"',
        f'{HERE}[[line]]\nid = "team-briefed"\nfragment = "tray"\n\n[[line]]\nid = "spo2"',
    )
    write(
        kits / "small.toml",
        (kits / "small.toml")
        .read_text("utf-8")
        .replace("[[line]]", '[[group]]\nid = "trials"\nname = "Trials"\n\n[[line]]', 1),
    )
    kit, problems = load_kit(kits / "small.toml")
    assert kit is not None, problems
    assert kit.model.line[1].name == "Team briefed"
    write(
        kits / "fragments" / "tray.toml",
        (SHIPPED / "fragments" / "tray.toml").read_text("utf-8").replace("Team briefed", "All know"),
    )
    kit, problems = load_kit(kits / "small.toml")
    assert kit is not None, problems
    assert kit.model.line[1].name == "All know"


def test_no_fragment_is_listed_as_a_kit(kits: Path) -> None:
    assert {file.id for file in find_kits(kits)} == {*KIT_IDS, "small"}


INSIDE = {
    "an unknown key": ('name = "Probe"', 'name = "Probe"\n‡colour = "red"', 'unknown key "colour"', 'line "probe"'),
    "a comma": ('"95 %"', '"95,5 %"', "has a comma", 'line "spo2"'),
    "no TOML": ('name = "Probe"', "‡name = Probe", "is not TOML", ""),
    "an id twice": ('id = "probe"', '‡id = "spo2"', 'id "spo2" stands twice', 'line "spo2"'),
    "another's table": ("[[fragment.watch.line]]\nkind = \"supply\"", "‡[[fragment.other.line]]\nkind = \"supply\"",
                        'table "fragment.other" does not stand under the name of its file', ""),
    "a kit's table": ("[[fragment.watch.line]]\nkind = \"supply\"", "‡[[line]]\nkind = \"supply\"",
                      'table "line" does not stand under the name of its file', ""),
    "a key of no table": ("# What", '‡edition = "1"\n# What', "stands before the first header", ""),
}  # fmt: skip


@pytest.mark.parametrize("case", INSIDE.values(), ids=INSIDE.keys())
def test_a_mistake_inside_a_fragment_is_told_in_its_file_at_its_line(kits: Path, case: tuple[str, ...]) -> None:
    old, new, wrong, where = case
    fragment = kits / "fragments" / "watch.toml"
    line = change(fragment, old, new if HERE in new else f"{HERE}{new}")
    for problems in (find(kits), read_fragment("watch", load_fragment(fragment))):
        told = [problem for problem in problems if wrong in problem.wrong]
        assert [(problem.file, problem.line, problem.where) for problem in told] == [(str(fragment), line, where)], [
            problem.words() for problem in problems
        ]
        assert told[0].excerpt == fragment.read_text("utf-8").split("\n")[line - 1].strip()


def test_a_fragment_that_cannot_be_read_is_told_of_by_its_own_name(kits: Path) -> None:
    fragment = kits / "fragments" / "watch.toml"
    fragment.write_bytes(b"# \xe9")
    assert [(problem.file, problem.wrong) for problem in find(kits)] == [(str(fragment), "is not UTF-8")]
    write(fragment, "# nothing yet\n")
    assert [(problem.file, problem.wrong) for problem in find(kits)] == [(str(fragment), "holds nothing")]
    fragment.unlink()
    fragment.mkdir()
    assert "is a directory" in find(kits)[0].wrong


def test_what_a_kit_leaves_open_is_told_in_the_kit(kits: Path) -> None:
    change(kits / "small.toml", 'name = "Clean drape"', f'{HERE}name = """Clean drape')
    assert find(kits)[0].file == str(kits / "small.toml")


def test_a_fragment_that_is_not_there_is_told_with_the_closest_that_is(kits: Path) -> None:
    line = change(kits / "small.toml", '["watch"]', f'{HERE}["wach"]')
    problems = find(kits)
    assert (problems[0].line, problems[0].wrong, problems[0].hint) == (
        line, 'there is no fragment "wach"', 'did you mean "watch"?',
    )  # fmt: skip


def test_a_fragment_named_and_not_used_is_told_unless_one_of_its_sources_is_cited(kits: Path) -> None:
    change(kits / "small.toml", '\n[[line]]\nid = "spo2"\nfragment = "watch"\n', f"{HERE}\n")
    line = HEAD[: HEAD.index("fragments")].count("\n") + 1
    problems = find(kits)
    assert [(problem.line, problem.wrong) for problem in problems] == [(line, 'fragment "watch" is named and not used')]
    change(kits / "small.toml", 'basis = "local"', f'{HERE}basis = "published"\nsource = ["example"]')
    assert find(kits) == ()


def test_a_fragment_in_a_text_that_does_not_name_it_is_refused() -> None:
    _, problems = read_kit(KIT.replace('fragments = ["watch"]\n', "") + WATCH, "x.toml")
    assert {problem.wrong for problem in problems} == {'fragment "watch" is not named in fragments'}


def test_what_is_wrong_beside_one_kit_alone_names_that_kit(kits: Path) -> None:
    change(kits / "small.toml", 'id = "watching"', f'{HERE}id = "seeing"')
    placed = next(problem for problem in find(kits) if problem.file.endswith("watch.toml"))
    assert placed.where == 'line "spo2" as kit "small" places it'
    assert placed.wrong == 'no group "watching" is declared'


def test_one_source_in_two_fragments_is_refused(kits: Path) -> None:
    write(kits / "fragments" / "more.toml", WATCH.replace("fragment.watch", "fragment.more").replace("spo2", "so2"))
    change(kits / "small.toml", '["watch"]', f'{HERE}["watch", "more"]')
    problem = find(kits)[0]
    assert (problem.file, problem.line) == (str(kits / "fragments" / "more.toml"), 3)
    assert problem.wrong == 'source "example" stands in fragment "watch" too'


def test_check_of_a_folder_tells_a_mistake_in_a_fragment_once_whatever_kits_use_it(
    kits: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    write(kits / "other.toml", KIT.replace('id = "small"', 'id = "other"'))
    change(kits / "fragments" / "watch.toml", 'source = ["example"]', f'{HERE}source = ["exmple"]')
    assert main(["check", str(kits), "--format", "json"]) == 3
    said = capsys.readouterr()
    assert [problem["wrong"] for problem in json.loads(said.out)] == ['no source "exmple" is declared']
    assert said.err == "prepkit: 1 problem in 3 files\n"


def test_check_of_a_fragment_alone_tells_what_no_kit_is_needed_for(
    kits: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = kits / "fragments" / "watch.toml"
    assert main(["check", str(path)]) == 0
    change(path, 'group = "watching"\nname = "Probe"', f'{HERE}name = "Probe"')
    assert main(["check", str(path)]) == 3
    assert 'line "probe": key "group" is missing' in capsys.readouterr().out


def test_the_shipped_fragments_are_each_used_and_hold_nothing_that_no_kit_places() -> None:
    files = {path.stem: tomli.loads(path.read_text("utf-8")) for path in (SHIPPED / "fragments").glob("*.toml")}
    kits = [tomli.loads((SHIPPED / f"{kit}.toml").read_text("utf-8")) for kit in KIT_IDS]
    placed = {
        (row["fragment"], table, row["id"])
        for kit in kits
        for table, path in PLACED.items()
        for row in reduce(lambda inside, key: inside.get(key, {}), path, kit)
        if "fragment" in row
    }
    held = {
        (name, table, row["id"])
        for name, tables in files.items()
        for table, rows in tables["fragment"][name].items()
        if table != "sources"
        for row in rows
    }
    assert held == placed


def test_a_wards_own_line_replaces_one_from_a_fragment_as_any_other() -> None:
    kit = take_kit()
    own = """
[[local]]
kits = ["surfactant-supraglottic"]

[[local.line]]
kind = "supply"
id = "drape"
group = "airway"
name = "Warm drape"
basis = "local"
"""
    ward = take_ward(WARD_TEXT + own)
    assert check_beside(ward, (kit,)) == ()
    lines = {line.id: line.name for line in lay_over(kit.model, ward.model).kit.line}
    assert list(lines) == [line.id for line in kit.model.line]
    assert lines["drape"] == "Warm drape"


def test_a_text_names_the_fragments_that_it_wants_and_does_not_hold() -> None:
    own = (SHIPPED / "surfactant-supraglottic.toml").read_text("utf-8")
    assert set(list_wanted(own)) == {path.stem for path in (SHIPPED / "fragments").glob("*.toml")}
    assert list_wanted(KIT_TEXT) == ()
    assert list_wanted('fragments = ["../up", 3, "a-b", "a-b"]') == ("a-b",)
    assert list_wanted('name = "Heron"\n[people]\n') == ()


def test_a_fragment_named_and_never_asked_for_may_be_as_broken_as_it_likes() -> None:
    shelf = {"watch": FragmentFile(TextPart("watch.toml", WATCH)), "bad": FragmentFile(TextPart("bad.toml", "[["))}
    kit, problems = read_kit(KIT, "small.toml", shelf)
    assert kit is not None, problems


def test_a_folder_of_kits_needs_no_folder_of_fragments(tmp_path: Path) -> None:
    shutil.copyfile(SHIPPED / "surfactant-thin-catheter.toml", tmp_path / "surfactant-thin-catheter.toml")
    kit, problems = load_kit(tmp_path / "surfactant-thin-catheter.toml")
    assert kit is not None, problems
    assert kit.text == read_kit_text("surfactant-thin-catheter")
