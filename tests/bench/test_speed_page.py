"""docs/speed.md is what its runs gave, and nobody typed a figure into it; how a figure is judged."""

from tests.bench import page
from tests.bench.__main__ import LONG, choose, list_names
from tests.bench.figure import alternate, find_percentile, make_bound, make_ratio


def test_the_page_is_what_the_figures_of_the_runs_give() -> None:
    assert page.make_page() == page.PAGE.read_text("utf-8"), "run python -m tests.bench"


def test_each_target_that_is_missed_has_its_reason() -> None:
    missed = [figure["name"] for run in page.read_kept().values() for figure in run["figures"] if not figure["met"]]
    reasons = " ".join(page.MISSED.read_text("utf-8").split())
    assert [name for name in missed if f"**{name}**" not in reasons] == []


def test_a_ratio_is_met_up_to_its_multiple_and_no_further() -> None:
    assert make_ratio("start", 125, "ms", "an empty app", 100, 1.25).met
    figure = make_ratio("start", 126, "ms", "an empty app", 100, 1.25)
    assert not figure.met
    assert [figure.target, figure.ratio] == ["<= 1.25x", 1.26]


def test_a_bound_is_a_number_of_its_own_unit_whatever_the_floor() -> None:
    assert make_bound("tick", 5, "ms", "a commit", 1, 5).met
    assert not make_bound("tick", 5.1, "ms", "a commit", 40, 5).met


def test_of_a_hundred_values_the_ninety_ninth_is_the_99_in_100() -> None:
    assert [find_percentile(range(1, 101), 99), find_percentile([3, 1, 2], 99)] == [99, 3]


def test_what_is_measured_in_turn_is_measured_in_turn() -> None:
    order: list[str] = []
    alternate(2, {"a": lambda: order.append("a") or 1.0, "b": lambda: order.append("b") or 2.0})
    assert order == ["a", "b", "a", "b"]


def test_what_takes_long_runs_only_where_it_is_named() -> None:
    assert set(choose(())) == set(list_names()) - {"postgres", "store"}
    assert set(LONG) <= set(list_names())
    assert choose(["store"]) == ["store"]


def test_each_benchmark_is_in_the_page_for_developers() -> None:
    text = (page.DOCS.parent / "DEVELOPERS.md").read_text("utf-8")
    assert [name for name in list_names() if f"| `{name}` |" not in text] == []
