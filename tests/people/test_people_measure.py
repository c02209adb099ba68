"""What compares the times of refused sign-ins sees a difference where there is one, and none where there is none."""

import pytest
from measure_pins import GROUPS, compare, rank_sum

NAMES = [name for ways in GROUPS.values() for name in ways]


def test_the_rank_sum_is_what_its_formula_gives_by_hand() -> None:
    """4 of 5 and 4 values: 17 of 20 pairs in order, mean 10, deviation sqrt(5 * 4 * 10 / 12) = 4.082: z = 1.7146."""
    assert rank_sum([19, 22, 16, 29, 24], [20, 11, 17, 12]) == pytest.approx(0.0864, abs=0.0001)


def test_times_of_the_same_thing_do_not_differ_and_a_way_without_a_comparison_does() -> None:
    same = {name: [100 + (at * 37 % 101) / 10 for at in range(at_, at_ + 60)] for at_, name in enumerate(NAMES)}
    assert not any(compare(name, same)["differs"] for name in NAMES)
    shorter = same | {"unknown": [1 + (at * 37 % 101) / 10 for at in range(60)]}
    assert [name for name in NAMES if compare(name, shorter)["differs"]] == ["unknown"]


def test_a_difference_of_a_hundredth_part_is_seen_in_two_hundred_tries() -> None:
    times = {name: [100 + (at * 37 % 101) / 50 for at in range(200)] for name in NAMES}
    slower = times | {"unknown": [each * 1.01 for each in times["unknown"]]}
    assert compare("unknown", slower)["differs"]
