"""Free text, initials and the cot label."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from prepkit.preparation.text import Refusal, check_cot, check_initials, check_text


@pytest.mark.parametrize("typed", ["", "   ", "\u00a0", "...", "-"])
def test_a_cot_label_without_a_letter_or_digit_is_refused(typed: str) -> None:
    assert isinstance(check_cot(typed), Refusal)


@pytest.mark.parametrize(
    ("typed", "label"), [("3", "3"), ("  Cot  3 ", "Cot 3"), ("x" * 20, "x" * 20), ("a\u00a0b", "a b")]
)
def test_a_cot_label_is_stripped_and_kept(typed: str, label: str) -> None:
    assert check_cot(typed) == label


def test_a_cot_label_of_twenty_one_characters_is_refused() -> None:
    refusal = check_cot("x" * 21)
    assert isinstance(refusal, Refusal)
    assert "at most 20" in refusal.reason


HIDDEN = {
    "escape": "\x1b",
    "null": "\x00",
    "line break": "\n",
    "tab": "\t",
    "C1 control sequence introducer": "\x9b",
    "delete": "\x7f",
    "right-to-left override": "\u202e",
    "isolate": "\u2066",
    "right-to-left mark": "\u200f",
    "zero-width space": "\u200b",
    "byte order mark": "\ufeff",
    "line separator": "\u2028",
    "half a surrogate pair": "\ud800",
    "private use": "\ue000",
    "hangul filler": "\u3164",
    "variation selector": "\ufe0f",
    "tag": "\U000e0041",
}


@pytest.mark.parametrize("character", HIDDEN.values(), ids=HIDDEN.keys())
def test_a_hidden_character_is_refused_by_its_number_and_not_repeated(character: str) -> None:
    for refusal in (check_text(f"ab{character}cd", "reason"), check_cot(f"a{character}b")):
        assert isinstance(refusal, Refusal)
        assert f"U+{ord(character):04X}" in refusal.reason
        assert character not in refusal.reason


def test_accents_and_other_scripts_are_kept_and_composed() -> None:
    assert check_text("re\u0301fuse\u0301e", "note") == "r\u00e9fus\u00e9e"
    assert check_text("\u0441\u0435\u0441\u0442\u0440\u0430", "note") == "\u0441\u0435\u0441\u0442\u0440\u0430"


def test_a_reason_is_measured_after_cleaning() -> None:
    assert isinstance(check_text("  ab  ", "reason", least=3), Refusal)
    assert check_text(" a  b ", "reason", least=3) == "a b"
    assert check_text("x" * 200, "reason") == "x" * 200
    assert isinstance(check_text("x" * 201, "reason"), Refusal)
    assert isinstance(check_text("x" * 2_000_000, "reason"), Refusal)


@pytest.mark.parametrize(
    ("typed", "initials"), [("ab", "AB"), (" abCd ", "ABCD"), ("\u00e9a", "\u00c9A"), ("e\u0301a", "\u00c9A")]
)
def test_initials_are_two_to_four_letters_in_upper_case(typed: str, initials: str) -> None:
    assert check_initials(typed) == initials


@pytest.mark.parametrize(
    "typed", ["", " ", "a", "abcde", "a1", "a b", "a.b", "a\x1b", "a\u202eb", "\u00df\u00df\u00df"]
)
def test_anything_else_is_not_initials(typed: str) -> None:
    refusal = check_initials(typed)
    assert isinstance(refusal, Refusal)
    assert "2 to 4 letters" in refusal.reason


@given(st.text(max_size=40))
def test_what_was_cleaned_once_is_clean_and_can_be_stored(typed: str) -> None:
    for check in (lambda text: check_text(text, "note"), check_cot, check_initials):
        once = check(typed)
        if isinstance(once, str):
            assert check(once) == once
            assert once.isprintable()
            once.encode()
        else:
            assert once.reason.isprintable()
