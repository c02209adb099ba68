"""Three hundred bad files and more, one slip each: every one gives its own problem at its own line, and nothing else.

The written ones stand in kit_changes.txt and ward_changes.txt; here the same few slips are made all over the demo ward
and the shipped kit. The place and the problem follow from the slip, not from the reader.
"""

import re
from collections.abc import Iterator
from dataclasses import dataclass

import pytest
from kit_files import KIT_TEXT, WARD_TEXT, read_changes, read_ward_beside, take_kit
from msgspec.structs import fields

from prepkit.kit.kit import Kit
from prepkit.kit.problems import Problem
from prepkit.kit.read import read_kit
from prepkit.kit.ward import Ward

KIT = take_kit()
_AMOUNT = re.compile(r'^(\w+) = "([0-9.]+)( ?)([A-Za-z/%][A-Za-z0-9/%]*)"$')
_SPAN = re.compile(r'\b(at_least|at_most|above|below) = "([0-9.]+) (g|kg)"')
_TEXT = re.compile(r'^(name|label|ask|text|by) = "([^"]+)"$')
_KEY = re.compile(r"^([a-z_]+)( = .+)$")
# Sizes are texts to a kit; what looks like an amount in them is compared, not read.
_NO_AMOUNTS = {"size", "when_size", "says", "diluent"}
# Needed in every table where they stand, so that a slip in the key gives a second problem: the key is missing. Without
# the list of its fragments each of them is one that the kit does not name.
_IS_NEEDED = {"id", "group", "basis", "kind", "fragments"}


@dataclass(frozen=True)
class Bad:
    """A bad file: its text, and what has to be said of which line of it."""

    slip: str
    text: str
    line: int
    wrong: str
    hint: str = ""


def write_bad(text: str) -> Iterator[Bad]:
    """Every slip at every line where it can be made."""
    rows = text.split("\n")
    for at, row in enumerate(rows):
        for slip, bad, wrong, hint in (*spoil_amount(row), *spoil_span(row), *spoil_text(row), *spoil_key(row)):
            yield Bad(slip, "\n".join([*rows[:at], bad, *rows[at + 1 :]]), at + 1, wrong, hint)


def spoil_amount(row: str) -> Iterator[tuple[str, str, str, str]]:
    found = _AMOUNT.match(row)
    if not found or found[1] in _NO_AMOUNTS:
        return
    key, number, _, unit = found.groups()
    bare = f"{key} is a bare number where an amount with its unit is due"
    yield "a bare number", f"{key} = {number}", bare, ""
    yield "nan", f"{key} = nan", bare, ""
    yield "inf", f"{key} = -inf", bare, ""
    yield "no unit", f'{key} = "{number}"', f'{key} "{number}" has no unit', ""
    yield "a decimal comma", f'{key} = "{number},5 {unit}"', f'{key} "{number},5 {unit}" has a comma', ""
    yield "a sign", f'{key} = "-{number} {unit}"', f'{key} "-{number} {unit}" has a sign', ""
    if not unit.startswith("/"):
        yield (
            "no space",
            f'{key} = "{number}{unit}"',
            f'exactly one space between the number and the unit: "{number}',
            "",
        )
    yield "a unit of its own", f'{key} = "{number} drop"', f'{key} "{number} drop" has an unknown unit "drop"', ""
    yield "a boolean", f"{key} = true", f"{key} is not an amount: write it as text", ""


def spoil_span(row: str) -> Iterator[tuple[str, str, str, str]]:
    found = _SPAN.search(row)
    if found is None or row.startswith("#"):
        return
    key, number, unit = found.groups()

    def change(into: str) -> str:
        return row[: found.start()] + into + row[found.end() :]

    yield "an edge in mg", change(f'{key} = "{number} mg"'), "is a mass, where a body weight is due", ""
    yield "a bare edge", change(f"{key} = {number}"), f"{key} is a bare number where an amount", ""
    yield "an edge with a comma", change(f'{key} = "1,{number} {unit}"'), "has a comma: write a decimal point", ""
    yield "an edge misspelt", change(f'{key}t = "{number} {unit}"'), f'unknown key "{key}t"', f'did you mean "{key}"?'


def spoil_text(row: str) -> Iterator[tuple[str, str, str, str]]:
    found = _TEXT.match(row)
    if found is None:
        return
    key, said = found.groups()
    yield "a number for a text", f"{key} = 5", f"{key} must be text in quotes (got 5)", ""
    yield "an empty text", f'{key} = ""', f"{key} must not be empty", ""
    yield "a space at its end", f'{key} = "{said} "', f"{key} has a form that is not allowed", "end with a space"
    yield "no quotes", f"{key} = {said}", "is not TOML", "quotes"


def spoil_key(row: str) -> Iterator[tuple[str, str, str, str]]:
    found = _KEY.match(row)
    if found is None or found[2].endswith(("[", "{")) or len(found[1]) < 4:
        return
    key, rest = found.groups()
    if key not in _IS_NEEDED:
        yield "a key misspelt", f"{key}e{rest}", f'unknown key "{key}e"', f'did you mean "{key}"?'


# Of the kit's places every third: each file is read as a whole.
KIT_FILES = tuple(write_bad(KIT_TEXT))[::3]
WARD_FILES = tuple(write_bad(WARD_TEXT))


def check(bad: Bad, problems: tuple[Problem, ...]) -> None:
    said = "\n".join(problem.words() for problem in problems)
    found = [problem for problem in problems if problem.line == bad.line and bad.wrong in problem.wrong]
    assert len(found) == 1, f"{bad.slip} on line {bad.line}: {said}"
    assert bad.hint in found[0].hint, said
    assert found[0].excerpt == bad.text.split("\n")[bad.line - 1].strip()[:120]
    # A misspelt key may be one that is needed, which is a second problem of the same table; nothing else is said.
    others = [problem for problem in problems if problem is not found[0]]
    key = re.search(r'^unknown key "(\w+)[a-z]"$', found[0].wrong)
    assert [problem.wrong for problem in others] in ([], [f'key "{key[1]}" is missing'] if key else []), said


@pytest.mark.parametrize("slip", sorted({bad.slip for bad in KIT_FILES}))
def test_every_bad_kit_gives_its_own_problem_at_its_own_line(slip: str) -> None:
    for bad in KIT_FILES:
        if bad.slip == slip:
            kit, problems = read_kit(bad.text, "x.toml")
            assert kit is None, f"{slip} on line {bad.line}"
            check(bad, problems)


@pytest.mark.parametrize("slip", sorted({bad.slip for bad in WARD_FILES}))
def test_every_bad_ward_file_gives_its_own_problem_at_its_own_line(slip: str) -> None:
    for bad in WARD_FILES:
        if bad.slip == slip:
            check(bad, read_ward_beside(bad.text, KIT))


def test_there_are_three_hundred_bad_kits_and_no_two_are_alike() -> None:
    written = {change.apply(KIT_TEXT)[0] for change in read_changes("kit_changes.txt").values()}
    assert len(written) > 120
    assert len({bad.text for bad in KIT_FILES} | written) > 450
    assert len({bad.text for bad in WARD_FILES}) > 200
    assert KIT_TEXT not in {bad.text for bad in KIT_FILES} | written


# What the written files have to hold at least, by their names.
WRITTEN = (
    "an unknown key", "a bare number", "nan", "inf", "a decimal comma", "a dose without per kg",
    "a mass where a volume is due", "a dose per kg where a mass is due", "an id twice", "a product twice", "a gap",
    "an overlap", "bands that both hold their edge", "bands that neither hold their edge", "sizes out of order",
    "a size twice", "no basis", "published without source", "an unknown source",
)  # fmt: skip
WRITTEN_FOR_WARDS = ("a recipe that does not give its strength", "no basis for a recipe", "no source for a recipe")


@pytest.mark.parametrize("name", WRITTEN)
def test_the_written_bad_kits_hold_each_kind_of_slip(name: str) -> None:
    assert name in read_changes("kit_changes.txt")


@pytest.mark.parametrize("name", WRITTEN_FOR_WARDS)
def test_the_written_bad_ward_files_hold_each_kind_of_slip(name: str) -> None:
    assert name in read_changes("ward_changes.txt")


def test_a_table_without_one_of_its_needed_keys_says_which() -> None:
    """Each needed key of each table of the top, taken out of the file as a whole."""
    for text, model in ((KIT_TEXT, Kit), (WARD_TEXT, Ward)):
        for key in ("form", "edition", "name", "review_by"):
            assert key in {field.name for field in fields(model) if field.required}
            spoilt = re.sub(rf"^{key} = .*\n", "", text, count=1, flags=re.MULTILINE)
            problems = read_kit(spoilt, "x.toml")[1] if model is Kit else read_ward_beside(spoilt, KIT)
            assert [problem.wrong for problem in problems] == [f'key "{key}" is missing']
