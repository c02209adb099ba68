"""The factors that are kept are pint's own, for these very definitions, and are not used for any others."""

import json
from fractions import Fraction
from importlib.resources import files
from itertools import product

import pytest

from prepkit.quantities import amount
from prepkit.quantities.amount import DimensionMismatchError, ask_factor, compute_definitions, convert, make_amount
from prepkit.quantities.units import UNITS

KEPT = json.loads(files("prepkit.quantities").joinpath("factors.json").read_text("utf-8"))


@pytest.fixture(autouse=True)
def forget() -> None:
    amount.read_factors.cache_clear()
    amount._find_factor.cache_clear()


def test_they_were_made_from_the_definitions_as_they_are() -> None:
    assert KEPT["units"] == compute_definitions(), "run docs/make_factors.py"
    assert amount.read_factors() == KEPT["factors"]


def test_each_one_is_what_pint_gives() -> None:
    for pairing, factor in KEPT["factors"].items():
        source, target = pairing.split(" -> ")
        assert ask_factor(source, target) == Fraction(factor), pairing


def test_every_conversion_within_a_dimension_is_kept() -> None:
    for left, right in product(UNITS.values(), UNITS.values()):
        assert (f"{left.pint} -> {right.pint}" in KEPT["factors"]) == (left.dimension is right.dimension), (left, right)


def test_once_the_definitions_differ_none_is_used(monkeypatch: pytest.MonkeyPatch) -> None:
    wrong = json.dumps({"units": "of other definitions", "factors": {"milligram -> microgram": "999"}})

    class Folder:
        def joinpath(self, name: str) -> "Folder":
            self.name = name
            return self

        def read_text(self, encoding: str) -> str:  # noqa: ARG002  (as the library has it)
            return wrong if self.name == "factors.json" else files("prepkit.quantities").joinpath(self.name).read_text()

    monkeypatch.setattr(amount, "files", lambda _: Folder())
    assert convert(make_amount(1, "mg"), "microgram").value == 1000


def test_what_is_not_kept_is_asked_of_pint() -> None:
    with pytest.raises(DimensionMismatchError):
        convert(make_amount(1, "mg"), "mL")
