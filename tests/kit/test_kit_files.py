"""The shipped files read without a problem; whatever is done to them gives a model, or problems with a place."""

import hashlib
import random  # noqa: TID251  (seeded: the same changes at every run)

import pytest
from hypothesis import given
from hypothesis import strategies as st
from kit_files import KIT_PATH, KIT_TEXT, WARD_PATH, WARD_TEXT, read_ward_beside, take_kit, take_ward

from prepkit.app.kit_files import load_kit, load_ward
from prepkit.errors import FileUnreadable
from prepkit.kit.problems import Problem
from prepkit.kit.read import check_beside, read_kit, read_text, read_ward

KIT = take_kit()


def test_the_shipped_kit_reads_without_a_problem() -> None:
    kit, problems = load_kit(KIT_PATH)
    assert problems == ()
    assert kit is not None
    assert kit.model.id == KIT_PATH.stem
    assert kit.text == KIT_TEXT
    assert kit.sha256 == hashlib.sha256(KIT_TEXT.encode()).hexdigest()


def test_the_demo_ward_reads_without_a_problem_and_fits_the_shipped_kit() -> None:
    ward, problems = load_ward(WARD_PATH)
    assert problems == ()
    assert ward is not None
    assert check_beside(ward, (KIT,)) == ()


# The lines of the tray, group by group.
LINES = {
    "airway": ["drape", "airway-device"],
    "breathing": [
        "t-piece-circuit", "gas-flow", "t-piece-fio2", "t-piece-pip", "t-piece-peep", "face-mask", "suction",
    ],
    "medicines": ["surfactant", "surfactant-catheter", "catheter-depth", "atropine", "flush", "sucrose"],
    "stomach": ["gastric-tube", "enteral-syringe"],
    "watching": ["monitor", "co2-detector", "spo2-target", "heart-rate-floor", "spo2-floor"],
    "rescue": ["tracheal-tube", "tracheal-tube-depth", "blade", "tube-suction"],
    "trials": [
        "line-flushed", "t-piece-pressures-checked", "device-inspected", "catheter-passes-port", "team-briefed",
        "surfactant-drawn-up",
    ],
}  # fmt: skip


def test_the_shipped_kit_has_every_line_of_the_tray_in_its_group() -> None:
    found = {group.id: [line.id for line in KIT.model.line if line.group == group.id] for group in KIT.model.group}
    assert found == LINES


def test_a_file_that_is_not_there_stops_with_where_and_what_to_do() -> None:
    with pytest.raises(FileUnreadable, match=r'"nowhere/ward\.toml" cannot be read: no such file or directory\. Check'):
        load_ward(WARD_PATH.__class__("nowhere/ward.toml"))


def test_a_folder_in_place_of_a_file_stops_with_where_and_what_to_do() -> None:
    with pytest.raises(FileUnreadable, match="is a directory"):
        load_kit(KIT_PATH.parent)


def check_places(problems: tuple[Problem, ...], text: str) -> None:
    for problem in problems:
        assert 0 <= problem.line <= text.count("\n") + 1
        assert problem.wrong
        assert problem.words().isprintable() or "\n" in problem.words()
        assert not set(problem.words()) & set(map(chr, range(32))) - {"\n"}


def check_kit_text(text: str) -> None:
    kit, problems = read_kit(text, "x.toml")
    assert (kit is None) == bool(problems)
    check_places(problems, text)


def check_ward_text(text: str) -> None:
    ward, problems = read_ward(text, "x.toml")
    assert (ward is None) == bool(problems)
    if ward is not None:
        problems = check_beside(ward, (KIT,))
    check_places(problems, text)


ODD = (
    "",
    "0",
    "-1",
    "5",
    "0.5",
    "true",
    "nan",
    "inf",
    "[]",
    "{}",
    "[[]]",
    '""',
    '"x"',
    '"5 mg"',
    '"5 mg/kg"',
    '"30+2"',
    '"\\u0000"',
    '"\\u001b[31m"',
    '"\u202e"',
    "2026-13-01",
    "2026-11-25",
    "02:10:00",
    "0x" + "f" * 9000,
    "9" * 5000,
    "=",
    '"""',
    "'",
    "[",
    "{",
    "\\",
    "#",
    "\0",
    "\r",
    "\ufeff",
    "\u2028",
    "\U0001f476",
    "[[line]]\n",
    "[kit]\n",
    'id = "drape"\n',
    "[" * 300 + "]" * 300,
    '"' + "x" * 2000 + '"',
    '"1,5 mL"',
    '"100/min"',
    '{ at_least = "5 g" }',
    '["a", 1]',
)


def spoil(text: str, chance: random.Random) -> str:
    """One to three small changes: a line gone or twice, a value swapped, a piece cut out, odd text put in."""
    for _ in range(chance.randint(1, 3)):
        rows = text.split("\n")
        at = chance.randrange(len(rows))
        match chance.randrange(6):
            case 0:
                del rows[at]
            case 1:
                rows.insert(chance.randrange(len(rows)), rows[at])
            case 2:
                key, equals, _value = rows[at].partition("=")
                rows[at] = f"{key}{equals} {chance.choice(ODD)}" if equals else chance.choice(ODD)
            case 3:
                other = chance.choice([row for row in rows if "=" in row] or [""])
                key, equals, _value = rows[at].partition("=")
                rows[at] = key + equals + other.partition("=")[2]
            case 4:
                column = chance.randint(0, len(rows[at]))
                rows[at] = rows[at][:column] + chance.choice(ODD) + rows[at][column:]
            case 5:
                rows[at] = rows[at][: chance.randint(0, len(rows[at]))]
        text = "\n".join(rows) or "\n"
    return text


@pytest.mark.parametrize("seed", range(12))
def test_a_kit_spoilt_by_chance_gives_a_model_or_problems_with_a_place(seed: int) -> None:
    chance = random.Random(seed)  # noqa: S311  (as above)
    for _ in range(40):
        check_kit_text(spoil(KIT_TEXT, chance))


@pytest.mark.parametrize("seed", range(12))
def test_a_ward_file_spoilt_by_chance_gives_a_model_or_problems_with_a_place(seed: int) -> None:
    chance = random.Random(seed)  # noqa: S311  (as above)
    for _ in range(40):
        check_ward_text(spoil(WARD_TEXT, chance))


def test_a_ward_file_cut_off_anywhere_gives_a_model_or_problems_with_a_place() -> None:
    for end in range(0, len(WARD_TEXT), 7):
        check_ward_text(WARD_TEXT[:end])


def test_a_kit_cut_off_anywhere_gives_a_model_or_problems_with_a_place() -> None:
    for end in range(0, len(KIT_TEXT), 331):
        check_kit_text(KIT_TEXT[:end])


@given(st.binary(max_size=60), st.integers(0, len(WARD_TEXT)))
def test_bytes_put_in_anywhere_give_a_text_or_a_problem(odd: bytes, at: int) -> None:
    raw = WARD_TEXT.encode()
    text, problems = read_text(raw[:at] + odd + raw[at:], "x.toml")
    assert not (text and problems)
    check_places(problems, raw.decode() + odd.decode("latin-1"))
    if not problems:
        check_ward_text(text)


@given(st.text(max_size=200))
def test_any_text_is_a_kit_or_gives_problems_with_a_place(text: str) -> None:
    check_kit_text(text)


@pytest.mark.parametrize("at", range(len(WARD_TEXT.split("\n"))))
def test_a_ward_file_without_one_of_its_lines_is_read_or_refused(at: int) -> None:
    rows = WARD_TEXT.split("\n")
    check_ward_text("\n".join(rows[:at] + rows[at + 1 :]))


def test_the_samples_of_these_tests_fit_each_other() -> None:
    assert read_ward_beside(WARD_TEXT, KIT) == ()
    assert take_ward().sha256 == hashlib.sha256(WARD_PATH.read_bytes()).hexdigest()


def test_a_number_that_is_too_large_is_told_of_in_a_placed_row_too() -> None:
    text = KIT_TEXT.replace('id = "drape"\nfragment', f"id = 0x{'f' * 4000}\nfragment", 1)
    _, problems = read_kit(text, "x.toml")
    assert [problem.wrong for problem in problems] == ["holds a whole number that is too large"]
