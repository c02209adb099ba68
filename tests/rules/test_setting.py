"""Settings and amounts by facts, and the syringe that measures them. Figures are invented."""

import pytest
from trays import BOOK, find_line, make_small_kit, make_small_ward

from prepkit.kit.kit import Kit
from prepkit.kit.read import ParsedFile
from prepkit.list.lines import ListLine
from prepkit.quantities.amount import make_amount

FACT = """
[[fact]]
kind = "amount"
id = "pressure"
label = "Pressure now"
ask = "What pressure?"
least = "3 cmH2O"
most = "12 cmH2O"
{default}
"""
SETTING = '[[line]]\nkind = "setting"\nid = "it"\ngroup = "all"\nname = "It"\nbasis = "common practice"\n'
BANDS = """
[[line.band]]
birth_weight = { below = "1000 g" }
value = "5 L/min"

[[line.band]]
birth_weight = { at_least = "1000 g", below = "2000 g" }
low = "8 L/min"
high = "10 L/min"
basis = "published"
source = ["book"]

[[line.band]]
birth_weight = { at_least = "2000 g", at_most = "3000 g" }
floor = "9 L/min"
"""


@pytest.mark.parametrize(
    ("weight", "show"),
    [
        (999, "5 L/min"),
        (1000, "8–10 L/min"),
        (1999, "8–10 L/min"),
        (2000, "9 L/min or more"),
        (3000, "9 L/min or more"),
    ],
)
def test_a_setting_by_band(weight: int, show: str) -> None:
    line = find_line("it", weight, kit=make_small_kit(SETTING + BANDS), ward=None)
    assert (line.show, line.blocked) == (show, "")


def test_a_band_may_have_a_ground_of_its_own() -> None:
    kit = make_small_kit(SETTING + BANDS)
    own, lines = (find_line("it", weight, kit=kit, ward=None) for weight in (1450, 999))
    assert (own.basis, own.source) == ("published", BOOK)
    assert own.working == (
        "For birth weight at least 1000 g and under 2000 g: 8–10 L/min. [published: Invented book 2020]",
    )
    assert lines.basis == "common practice"


def test_a_baby_in_no_band_blocks() -> None:
    line = find_line("it", 3001, kit=make_small_kit(SETTING + BANDS), ward=None)
    assert line.blocked == "nothing is stated for 3001 g · 30+2"
    assert (line.amount, line.low, line.show) == (None, None, "")


COPY = SETTING + '[[line.band]]\ncopies = "pressure"\n'


def test_a_fact_is_taken_over_as_it_was_given() -> None:
    kit = make_small_kit(FACT.format(default='default = "6 cmH2O"') + COPY)
    line = find_line("it", 1450, kit=kit, ward=None, pressure="7.5")
    assert (line.show, line.amount) == ("7.5 cmH2O", make_amount("7.5", "cmH2O"))
    assert line.working == ("7.5 cmH2O, the same as Pressure now. [common practice]",)
    assert line.cautions == ()


def test_a_fact_that_was_only_assumed_says_so() -> None:
    kit = make_small_kit(FACT.format(default='default = "6 cmH2O"') + COPY)
    line = find_line("it", 1450, kit=kit, ward=None)
    assert line.show == "6 cmH2O"
    assert line.cautions == ("Pressure now is the default, not confirmed: the baby may be on another.",)
    assert line.how == ("Look at what the baby is on, and enter it under Pressure now.",)
    assert "(default, not confirmed)" in line.working[0]


def test_a_fact_that_nobody_wrote_down_is_taken_over_as_it_is_and_blocks_nothing() -> None:
    line = find_line("it", 1450, kit=make_small_kit(FACT.format(default="") + COPY), ward=None)
    assert (line.blocked, line.show, line.amount) == ("", "as it is now", None)
    assert line.working[0].startswith("Pressure now is not known.")


def make_amounts(band: str, route: str = "enteral") -> ParsedFile[Kit]:
    head = SETTING.replace("setting", "amount") + f'route = "{route}"\n'
    return make_small_kit(f"{head}[[line.band]]\n{band}\n")


def find_amount(band: str, route: str = "enteral") -> ListLine:
    kit = make_amounts(band, route)
    rows = [("enteral", "1 mL", "0.05 mL", "0.1 mL"), ("enteral", "2.5 mL", "0.1 mL", "0.2 mL"),
            ("intravenous", "5 mL", "0.2 mL", "1 mL")]  # fmt: skip
    keys = ("route", "holds", "marks", "least")
    text = "".join(
        "[[syringe]]\n" + "".join(f'{key} = "{value}"\n' for key, value in zip(keys, row, strict=True)) for row in rows
    )
    return find_line("it", 1450, kit=kit, ward=make_small_ward(text, kit))


@pytest.mark.parametrize(
    ("band", "holds"),
    [
        ('value = "0.1 mL"', "1"),
        ('value = "0.15 mL"', "1"),
        ('value = "1 mL"', "1"),
        ('value = "1.1 mL"', "2.5"),
        ('low = "0.5 mL"\nhigh = "1 mL"', "1"),
        ('low = "0.5 mL"\nhigh = "2 mL"', "2.5"),
    ],
)
def test_the_smallest_syringe_that_measures_all_of_it_is_named(band: str, holds: str) -> None:
    line = find_amount(band)
    assert line.syringe is not None
    assert (line.syringe.route, line.syringe.holds) == ("enteral", make_amount(holds, "mL"))
    assert line.details == (f"{holds} mL enteral syringe",)
    assert line.working[-2].endswith("the smallest in stock that measures it. [local]")
    parts = (f"{holds} mL enteral syringe", 'syringe label, "not for injection"', "cap for the syringe")
    assert (line.parts, line.cautions) == (parts, ("Not for injection.",))


@pytest.mark.parametrize(
    ("band", "said"),
    [
        ('value = "0.05 mL"', "0.05 mL"),  # under the least
        ('value = "3 mL"', "3 mL"),  # too much
        ('value = "1.15 mL"', "1.15 mL"),  # between two marks
        ('low = "0.25 mL"\nhigh = "2 mL"', "0.25–2 mL"),  # the lower end between two marks
        ('low = "0.1 mL"\nhigh = "2 mL"', "0.1–2 mL"),  # no one syringe measures both ends
    ],
)
def test_an_amount_that_no_syringe_measures_blocks_and_shows_nothing(band: str, said: str) -> None:
    line = find_amount(band)
    assert line.blocked == f"no enteral syringe in stock measures {said}"
    assert (line.amount, line.exact, line.low, line.high, line.show, line.syringe) == (None, None, None, None, "", None)


def test_a_syringe_of_another_route_never_serves() -> None:
    line = find_amount('value = "2 mL"', "intravenous")
    assert (line.details, line.parts) == (("5 mL intravenous syringe",), ("5 mL luer syringe", "syringe label"))
    assert "no tracheal syringe in stock measures 1 mL" in find_amount('value = "1 mL"', "tracheal").blocked


def test_without_a_ward_the_amount_stands_and_the_syringe_is_not_known() -> None:
    line = find_line("it", 1450, kit=make_amounts('value = "0.5 mL"'), ward=None)
    assert (line.show, line.blocked, line.syringe) == ("0.5 mL", "", None)
    assert line.cautions == ("No ward file: which syringe to use is not known.",)
