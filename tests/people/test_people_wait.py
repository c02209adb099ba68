"""How long no PIN is taken after too many refusals in a row."""

from datetime import datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st
from people_samples import HASH, KM, START, fold, refuse

from prepkit.people.decide import decide_wait, refuse_if_waiting
from prepkit.people.events import PersonAdded, PersonRemoved, PinRefused, PinReset, SignedIn, StaffPayload, WaitBegun
from prepkit.people.staff import FIRST_WAIT, LONGEST_WAIT, TRIES_BEFORE_WAIT, Staff, compute_wait, compute_wait_left

NOTHING = timedelta(0)
COUNTS = st.integers(0, 10**9)
MOMENTS = st.timedeltas(timedelta(days=-4000), timedelta(days=4000)).map(lambda step: START + step)


@pytest.mark.parametrize(
    ("refusals", "minutes"), [(0, 0), (4, 0), (5, 1), (6, 2), (7, 4), (8, 8), (9, 15), (10, 15), (10**12, 15)]
)
def test_the_wait_is_one_minute_after_five_refusals_and_doubles_up_to_fifteen(refusals: int, minutes: int) -> None:
    """Our own rule, as the module and the README state it."""
    assert compute_wait(refusals) == timedelta(minutes=minutes)


@given(COUNTS)
def test_a_further_refusal_never_shortens_the_wait_and_none_is_longer_than_the_longest(refusals: int) -> None:
    assert NOTHING <= compute_wait(refusals) <= compute_wait(refusals + 1) <= LONGEST_WAIT
    assert (compute_wait(refusals) > NOTHING) == (refusals >= TRIES_BEFORE_WAIT)


@given(st.integers(0, 20), MOMENTS)
def test_whatever_the_clock_says_no_more_than_the_longest_wait_is_left_from_now(refusals: int, now: datetime) -> None:
    assert NOTHING <= compute_wait_left(refuse(refusals), "KM", now) <= compute_wait(refusals) <= LONGEST_WAIT


@given(st.integers(TRIES_BEFORE_WAIT, 20), MOMENTS)
def test_a_wait_ends_only_once_all_of_it_has_passed_since_the_last_refusal(refusals: int, now: datetime) -> None:
    is_open = compute_wait_left(refuse(refusals), "KM", now) == NOTHING
    assert is_open == (now - START >= compute_wait(refusals))


@given(st.integers(TRIES_BEFORE_WAIT, 20), st.timedeltas(timedelta(microseconds=1), timedelta(days=4000)))
def test_a_clock_put_back_opens_nothing_early_and_locks_for_no_longer_than_the_wait_from_then(
    refusals: int, back: timedelta
) -> None:
    staff, now = refuse(refusals), START - back
    wait = compute_wait(refusals)
    assert compute_wait_left(staff, "KM", now) == wait
    assert decide_wait(staff, "KM", now) == (WaitBegun("KM"),)
    begun = fold(WaitBegun("KM"), staff=staff, at=now)
    assert decide_wait(begun, "KM", now) == ()
    assert compute_wait_left(begun, "KM", now + wait - timedelta(microseconds=1)) > NOTHING
    assert compute_wait_left(begun, "KM", now + wait) == NOTHING


def test_a_wait_that_stands_is_not_begun_again() -> None:
    assert decide_wait(refuse(TRIES_BEFORE_WAIT), "KM", START) == ()
    assert decide_wait(Staff(), "KM", START) == ()


def test_the_fifth_refusal_locks_and_the_fourth_does_not() -> None:
    assert refuse_if_waiting(refuse(TRIES_BEFORE_WAIT - 1), "KM", START) is None
    wait = refuse_if_waiting(refuse(TRIES_BEFORE_WAIT), "KM", START)
    assert wait is not None
    assert "none is taken for 1 min." in wait.reason
    assert "prepkit staff reset KM" in wait.reason


@pytest.mark.parametrize(("passed", "words"), [(0, "1 min"), (1, "59 s"), (59, "1 s"), (59.9, "1 s")])
def test_what_is_left_is_never_said_as_less_than_it_is(passed: float, words: str) -> None:
    wait = refuse_if_waiting(refuse(TRIES_BEFORE_WAIT), "KM", START + timedelta(seconds=passed))
    assert wait is not None
    assert f"for {words}." in wait.reason
    longer = refuse_if_waiting(refuse(TRIES_BEFORE_WAIT + 1), "KM", START + timedelta(seconds=1))
    assert longer is not None
    assert "for 2 min." in longer.reason


@pytest.mark.parametrize("ending", [SignedIn("KM"), PinReset("KM", HASH)])
def test_a_success_and_a_reset_end_the_count(ending: StaffPayload) -> None:
    staff = fold(ending, staff=refuse(TRIES_BEFORE_WAIT + 3))
    assert compute_wait_left(staff, "KM", START) == NOTHING
    assert refuse_if_waiting(fold(*[PinRefused("KM")] * (TRIES_BEFORE_WAIT - 1), staff=staff), "KM", START) is None


def test_initials_that_nobody_has_wait_like_any_others_and_nobody_else_does() -> None:
    staff = refuse(TRIES_BEFORE_WAIT, "ZZ")
    assert compute_wait_left(staff, "ZZ", START) == FIRST_WAIT
    assert compute_wait_left(staff, "KM", START) == NOTHING


def test_being_put_on_the_list_ends_the_count_and_being_taken_off_does_not() -> None:
    assert (
        compute_wait_left(fold(PersonAdded("ZZ", "nurse", HASH), staff=refuse(TRIES_BEFORE_WAIT, "ZZ")), "ZZ", START)
        == NOTHING
    )
    assert compute_wait_left(fold(PersonRemoved("KM"), staff=refuse(TRIES_BEFORE_WAIT)), "KM", START) == FIRST_WAIT


def test_a_reset_of_somebody_who_is_not_on_the_list_adds_nobody() -> None:
    assert fold(PinReset("ZZ", HASH), KM).people.keys() == {"KM"}
