"""PINs: their form, which are too easy, and that none is ever shown."""

import logging
import traceback

import pytest
from argon2 import extract_parameters, profiles
from argon2.exceptions import InvalidHashError
from hypothesis import given
from hypothesis import strategies as st
from rich.pretty import pretty_repr

from prepkit.people.pin import NOBODYS, Pin, hash_pin, is_pin, read_new_pin, read_pin
from prepkit.preparation.text import Refusal

DIGITS = st.text("0123456789", min_size=4, max_size=8)


@given(DIGITS)
def test_four_to_eight_digits_are_a_pin(typed: str) -> None:
    assert read_pin(typed) == Pin(typed)


@pytest.mark.parametrize(
    "typed", ["", "123", "123456789", "12a4", " 1357", "1357 ", "1357\n", "13.57", "-1357", "١٣٥٧", "1\0357"]
)
def test_anything_else_is_refused_without_quoting_it(typed: str) -> None:
    for refusal in (read_pin(typed), read_new_pin(typed)):
        assert isinstance(refusal, Refusal)
        assert refusal.reason in {"Enter the PIN.", "A PIN is 4 to 8 digits."}


@pytest.mark.parametrize("typed", ["0000", "11111111", "1234", "9876", "23456789", "7890", "2109"])
def test_what_people_try_first_is_no_new_pin_but_may_be_typed_when_signing_in(typed: str) -> None:
    refusal = read_new_pin(typed)
    assert isinstance(refusal, Refusal)
    assert "choose another" in refusal.reason
    assert read_pin(typed) == Pin(typed)


@pytest.mark.parametrize("typed", ["1357", "1235", "1122", "2468", "9875", "12321", "00001"])
def test_other_pins_may_be_chosen(typed: str) -> None:
    assert read_new_pin(typed) == Pin(typed)


@given(st.integers(0, 9), st.integers(4, 8), st.sampled_from([-1, 0, 1]))
def test_no_run_in_either_direction_from_any_digit_is_taken(first: int, length: int, step: int) -> None:
    assert isinstance(read_new_pin("".join(str((first + step * at) % 10) for at in range(length))), Refusal)


def stumble(pin: Pin) -> None:
    raise ValueError(pin)


def test_a_pin_shows_itself_to_nobody(caplog: pytest.LogCaptureFixture) -> None:
    pin = Pin("73914625")
    logging.getLogger("prepkit").error("%s %r %s", pin, pin, [pin])
    shown = [repr(pin), str(pin), f"{pin}", f"{pin!a}", f"{pin}", pretty_repr([pin]), caplog.text]
    try:
        stumble(pin)
    except ValueError as error:
        caught = traceback.TracebackException.from_exception(error, capture_locals=True)
        # This test's own texts hold it, not what the PIN shows of itself.
        shown += [
            str(error),
            repr(error),
            *(frame.locals["pin"] for frame in caught.stack if frame.locals and "pin" in frame.locals),
        ]
    assert all("73914625" not in text for text in shown)
    assert repr(pin) == "Pin(...)"
    assert "Pin(...)" in shown[-1]


def test_a_hash_is_argon2id_with_the_low_memory_profile_of_rfc_9106_and_a_salt_of_its_own() -> None:
    """RFC 9106, section 4, second recommended option: t=3, p=4, m=2^16 KiB, 128-bit salt, 256-bit tag."""
    first, second = hash_pin(Pin("1357")), hash_pin(Pin("1357"))
    assert first != second
    assert first.startswith("$argon2id$v=19$m=65536,t=3,p=4$")
    assert extract_parameters(first) == profiles.RFC_9106_LOW_MEMORY
    assert "1357" not in first.split("$", 4)[3]
    assert is_pin(Pin("1357"), first)
    assert not is_pin(Pin("1358"), first)


def test_the_hash_for_unknown_initials_costs_the_same_as_a_real_one() -> None:
    assert extract_parameters(NOBODYS) == profiles.RFC_9106_LOW_MEMORY
    assert not is_pin(Pin("1357"), NOBODYS)


def test_a_damaged_hash_takes_no_pin() -> None:
    assert not is_pin(Pin("1357"), "$argon2id$v=19$m=65536,t=3,p=4$rubbish")
    with pytest.raises(InvalidHashError):
        is_pin(Pin("1357"), "rubbish")
