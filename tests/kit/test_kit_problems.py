"""Problems of a kit's file: each at its line, with the line itself, what was expected, and a hint."""

import pytest
from kit_files import HERE, KIT_TEXT, Change, check_change, read_changes

from prepkit.app.kit_files import load_kit
from prepkit.kit.read import MOST_BYTES, read_kit, read_text

CHANGES = read_changes("kit_changes.txt") | {
    "a year of twenty thousand digits": Change(
        "year = 1979", f"{HERE}year = 0x{'f' * 20_000}", "holds a whole number that is too large"
    ),
    "a very long text": Change(
        'name = "Gas flow"', f'{HERE}name = "{"x" * 700}"', "name must have at most 600 characters"
    ),
    "a NUL": Change('name = "Gas flow"', f'{HERE}name = "Gas\0flow"', "is not TOML"),
}


@pytest.mark.parametrize("change", CHANGES.values(), ids=CHANGES.keys())
def test_what_is_wrong_in_a_kit_is_told_at_its_line(change: Change) -> None:
    text, line = change.apply(KIT_TEXT)
    kit, problems = read_kit(text, "kits/x.toml")
    assert kit is None
    if "\0" in text:
        problems = tuple(problem for problem in problems if "\N{REPLACEMENT CHARACTER}" in problem.excerpt)
        text = text.replace("\0", "\N{REPLACEMENT CHARACTER}")
    check_change(change, text, problems, "kits/x.toml", line)


def test_every_problem_of_a_file_is_told_at_once_in_the_order_of_its_lines() -> None:
    text = KIT_TEXT.replace('"600 microgram"', "600").replace('"12 cm"', '"12,5 cm"').replace('"1 L/min"', '"1 l/min"')
    _, problems = read_kit(text.replace('name = "Clean drape"', 'nam = "Clean drape"'), "x.toml")
    assert [problem.wrong.split(":")[0] for problem in problems] == [
        "most is a bare number where an amount with its unit is due",
        'least "1 l/min" has an unknown unit "l/min"',
        'plus "12,5 cm" has a comma',
        'key "name" is missing',
        'unknown key "nam"',
    ]
    assert [problem.line for problem in problems] == sorted(problem.line for problem in problems)


def test_every_problem_that_only_the_whole_shows_is_told_at_once() -> None:
    text = KIT_TEXT.replace('group = "stomach"', 'group = "tummy"').replace(
        'source = ["ncie-qs193"]', 'source = ["nice"]'
    )
    _, problems = read_kit(text.replace('id = "flush"', 'id = "drape"'), "x.toml")
    assert [problem.wrong for problem in problems] == ['id "drape" stands twice', *['no group "tummy" is declared'] * 2]


def test_a_problem_is_printed_with_its_place_its_line_and_its_hint() -> None:
    written = 'fragment = "tracheal-tube"\ngroup = "rescue"'
    _, problems = read_kit(KIT_TEXT.replace(written, written.replace("rescue", "rescu")), "kits/x.toml")
    line = KIT_TEXT[: KIT_TEXT.index(written)].count("\n") + 2
    assert problems[0].words() == (
        f'kits/x.toml:{line}: line "blade": no group "rescu" is declared\n'
        '    group = "rescu"\n'
        '    hint: did you mean "rescue"?'
    )


def test_an_empty_file_is_told_everything_that_it_lacks() -> None:
    kit, problems = read_kit("", "x.toml")
    assert kit is None
    needed = ["domain", "edition", "form", "group", "id", "line", "name", "review_by", "short"]
    assert [problem.wrong for problem in problems] == [f'key "{key}" is missing' for key in needed]
    assert {problem.line for problem in problems} == {1}


@pytest.mark.parametrize(
    "text",
    [
        "a = " + "[" * 100_000,
        "a = " + "[" * 600 + "]" * 600,
        ".".join("b" * 3000) + " = 1",
        "a = " + "{b = " * 600 + "1" + "}" * 600,
    ],
)
def test_deep_nesting_is_refused(text: str) -> None:
    kit, problems = read_kit(text, "x.toml")
    assert kit is None
    assert [problem.wrong for problem in problems] == ["is nested too deeply to be read"]


def test_nesting_that_the_parser_takes_is_told_apart_like_any_other_value() -> None:
    nested = "a = " + "[" * 300 + "]" * 300 + "\nname = " + "[" * 300 + "]" * 300 + f"\n[{'.'.join('b' * 900)}]\n"
    kit, problems = read_kit(nested, "x.toml")
    assert kit is None
    assert "name must be text in quotes (got an array)" in [problem.wrong for problem in problems]
    assert all(1 <= problem.line <= 3 for problem in problems)


def test_a_number_too_long_to_be_read_is_refused() -> None:
    kit, problems = read_kit(f"year = {'9' * 5000}", "x.toml")
    assert kit is None
    assert [problem.wrong for problem in problems] == ["holds a whole number that is too large"]


def test_a_file_of_more_than_1_mb_is_not_read() -> None:
    text, problems = read_text(b"#" * (MOST_BYTES + 1), "x.toml")
    assert text == ""
    assert [problem.words() for problem in problems] == ["x.toml: is larger than 1 MB: not read"]
    assert read_text(b"#" * MOST_BYTES, "x.toml")[1] == ()


def test_a_file_that_is_not_utf_8_is_refused_at_the_line_of_the_first_wrong_byte() -> None:
    _, problems = read_text('a = 1\n# 2.5 µg\nname = "M\xfcller"\n'.encode().replace(b"\xc3\xbc", b"\xfc"), "x.toml")
    assert [problem.words() for problem in problems] == ["x.toml:3: is not UTF-8\n    hint: save the file as UTF-8"]
    assert read_text('a = "µ"'.encode("utf-16"), "x.toml")[1][0].line == 1


def test_a_byte_order_mark_is_no_problem() -> None:
    text, problems = read_text(b"\xef\xbb\xbf" + KIT_TEXT.encode(), "x.toml")
    assert (text, problems) == (KIT_TEXT, ())


def test_line_ends_of_another_system_are_no_problem() -> None:
    kit, problems = read_kit(KIT_TEXT.replace("\n", "\r\n"), "x.toml")
    assert kit is not None, problems


def test_a_file_too_large_is_not_even_read_from_the_disk(tmp_path_factory: pytest.TempPathFactory) -> None:
    path = tmp_path_factory.mktemp("kits") / "x.toml"
    path.write_bytes(KIT_TEXT.encode() + b"#" * MOST_BYTES)
    kit, problems = load_kit(path)
    assert kit is None
    assert "larger than 1 MB" in problems[0].wrong


def test_the_mark_of_these_tests_stands_in_no_file() -> None:
    assert HERE not in KIT_TEXT
