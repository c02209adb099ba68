"""A kit, a ward file and an approval say which weight and which gestation they mean, or are refused with the keys."""

import re

import pytest
from kit_files import KIT_TEXT, WARD_TEXT, read_ward_beside, take_kit

from prepkit.kit.axes import Axis
from prepkit.kit.check_spans import check_domain
from prepkit.kit.kit import Domain
from prepkit.kit.problems import Problem
from prepkit.kit.read import read_kit
from prepkit.kit.spans import AgeSpan, GestationSpan, WeightSpan
from prepkit.quantities.amount import make_amount
from prepkit.quantities.gestation import read_gestation

WHICH = {
    "weight": "say which weight it is: birth_weight, weight_now or greater_weight",
    "gestation": "say which gestation it is: birth_gestation or gestation_today",
}
APPROVED = 'where = { weight_now = { at_least = "1200 g", below = "2000 g" }, birth_gestation = { at_least = "28+0" } }'


def find_problems(old: str, new: str) -> tuple[Problem, ...]:
    assert KIT_TEXT.count(old) == 1, KIT_TEXT.count(old)
    kit, problems = read_kit(KIT_TEXT.replace(old, new), "x.toml")
    assert kit is None
    return problems


def find_ward_problems(old: str, new: str) -> tuple[Problem, ...]:
    assert WARD_TEXT.count(old) == 1
    return read_ward_beside(WARD_TEXT.replace(old, new), take_kit())


@pytest.mark.parametrize(
    "old",
    [
        # A criterion, a product's label, a device's label, a supply's size, the domain.
        'where = { weight_now = { at_least = "1200 g" } }',
        'where = { weight_now = { at_least = "3000 g" } }',
        'weight_now = { above = "5000 g", at_most = "10000 g" }',
        '[[fragment.stomach.line.size.band]]\nsize = ["8 Fr"]\nweight_now = { at_least = "1000 g" }',
        'weight_now = { at_least = "680 g", at_most = "5000 g" }',
        'where = { birth_gestation = { at_least = "28+0" } }',
        'birth_gestation = { at_least = "28+0", at_most = "42+0" }',
        '{ gestation_today = { at_least = "41+0", below = "44+0" }, depth = "9 cm" }',
    ],
)
def test_a_span_that_does_not_say_which_it_means_is_refused_with_the_keys_that_do(old: str) -> None:
    new, key = re.sub(r"(birth_|greater_)?(weight|gestation)(_now|_today)?", r"\2", old), ""
    key = next(word for word in WHICH if f"{word} = " in new)
    problems = find_problems(old, new)
    assert [(problem.wrong, problem.hint) for problem in problems] == [(f'unknown key "{key}"', WHICH[key])]
    assert f"{key} = " in problems[0].excerpt


def test_an_approval_and_a_wards_own_label_are_told_to_say_it_within_where() -> None:
    old = 'weight = { at_least = "1200 g", below = "2000 g" }\ngestation = { at_least = "28+0" }'
    said = {problem.wrong: problem.hint for problem in find_ward_problems(APPROVED, old)}
    assert said == {
        'key "where" is missing': "",
        **{f'unknown key "{key}"': f"write where = {{ ... }}, and in it {hint}" for key, hint in WHICH.items()},
    }
    inside = APPROVED.replace("weight_now", "weight")
    assert [problem.hint for problem in find_ward_problems(APPROVED, inside)] == [WHICH["weight"]]
    label = 'once_warm = "24 h"\nweight = { at_least = "700 g" }\nhandling = [\n    "Warm in'
    found = find_problems('once_warm = "24 h"\nhandling = [\n    "Warm in', label)
    assert [problem.hint for problem in found] == [f"write where = {{ ... }}, and in it {WHICH['weight']}"]


def test_where_neither_a_weight_nor_a_condition_may_stand_nothing_is_suggested_of_it() -> None:
    problems = find_problems('name = "Gas flow"', 'name = "Gas flow"\ngestation = "28+0"')
    assert problems[0].hint.startswith("keys that may stand here: ")


DOSE = 'route = "tracheal"\nweight = "birth"\n'


@pytest.mark.parametrize(
    ("new", "wrong"),
    [
        ('route = "tracheal"\n', 'key "weight" is missing'),
        ('route = "tracheal"\nweight = "today"\n', 'weight must be "birth", "now" or "greater" (got "today")'),
        (
            'route = "tracheal"\nweight = { at_least = "1200 g" }\n',
            'weight must be "birth", "now" or "greater" (got a table)',
        ),
    ],
)
def test_a_dose_says_of_which_weight_it_is(new: str, wrong: str) -> None:
    assert [problem.wrong for problem in find_problems(DOSE, new)] == [wrong]


FORMULA = 'per_kg = "3 cm/kg"\nweight = "now"\nplus = "12 cm"'


@pytest.mark.parametrize(("old", "new"), [('weight = "now"\n', ""), ('per_kg = "3 cm/kg"\n', "")])
def test_a_length_per_kg_says_of_which_weight_it_is_and_no_other_length_does(old: str, new: str) -> None:
    found = find_problems(FORMULA, FORMULA.replace(old, new))
    assert ("per_kg and weight stand together", 'say of which weight: weight = "now"') in [
        (problem.wrong, problem.hint) for problem in found
    ]


@pytest.mark.parametrize(
    ("old", "new", "named"),
    [
        # A formula beside a table; a table beside a table; a label beside its dose; two gestations.
        (FORMULA, FORMULA.replace("now", "birth"), "birth weight and by weight now"),
        (FORMULA, FORMULA.replace("now", "greater"), "weight now and by the greater of birth weight and weight now"),
        (
            'where = { weight_now = { at_least = "3000 g" } }',
            'where = { birth_weight = { at_least = "3000 g" } }',
            "birth weight and by weight now",
        ),
        (
            'gestation_today = { at_least = "38+0" }\nlow = "0.1 mL"',
            'birth_gestation = { at_least = "38+0" }\nlow = "0.1 mL"',
            "gestation at birth and by gestation today",
        ),
    ],
)
def test_one_line_goes_by_one_weight_and_one_gestation(old: str, new: str, named: str) -> None:
    assert [(problem.wrong, problem.hint) for problem in find_problems(old, new)] == [
        (f"goes by {named}", "let one line go by one of them")
    ]


@pytest.mark.parametrize(
    ("axis", "lines"),
    [
        ("birth_weight", "surfactant enteral-syringe"),
        ("weight_now", "airway-device atropine tracheal-tube tracheal-tube-depth co2-detector face-mask gastric-tube"),
        ("birth_gestation", "t-piece-pip spo2-target"),
        ("gestation_today", "blade tracheal-tube tracheal-tube-depth face-mask sucrose"),
    ],
)
def test_what_lines_go_by_is_in_the_domain(axis: str, lines: str) -> None:
    row = next(row for row in KIT_TEXT.split("\n") if row.startswith(f"{axis} = ") and "at_most" in row)
    problems = [each for each in find_problems(f"{row}\n", "") if "of which [domain] has no span" in each.wrong]
    assert sorted(each.where.split('"')[1] for each in problems) == sorted(lines.split())
    assert {each.hint for each in problems} == {f"write in [domain] from which to which: {axis} = {{ ... }}"}


WEIGHTS = WeightSpan(at_least=make_amount(500, "g"), at_most=make_amount(5000, "g"))
GESTATIONS = GestationSpan(at_least=read_gestation("23+0"), at_most=read_gestation("42+0"))
AGES = AgeSpan(at_most=make_amount(72, "h"))


def test_a_domain_is_one_of_weights_and_gestations_that_are_given() -> None:
    whole = Domain(birth_weight=WEIGHTS, birth_gestation=GESTATIONS)
    assert list(check_domain(whole)) == []
    assert list(check_domain(Domain(weight_now=WEIGHTS, gestation_today=GESTATIONS))) == []
    for extra, axis in (({"greater_weight": WEIGHTS}, Axis.GREATER_WEIGHT), ({"age": AGES}, Axis.AGE)):
        found = list(check_domain(Domain(birth_weight=WEIGHTS, birth_gestation=GESTATIONS, **extra)))
        assert [(each.path, each.wrong) for each in found] == [(("domain", axis), "stands in conditions only")]
    assert [each.wrong for each in check_domain(Domain(birth_weight=WEIGHTS))] == ["the domain has no gestation"]
    found = list(check_domain(Domain(gestation_today=GESTATIONS, greater_weight=WEIGHTS)))
    assert [each.wrong for each in found] == ["stands in conditions only", "the domain has no weight"]


@pytest.mark.parametrize(
    ("birth", "now", "words"),
    [
        # From the greater of the lower edges to the greater of the upper ones.
        ((500, 5000), (400, 4000), "at least 500 g and at most 5000 g"),
        ((500, 4000), (600, 5000), "at least 600 g and at most 5000 g"),
        ((500, 5000), (500, 5000), "at least 500 g and at most 5000 g"),
    ],
)
def test_the_greater_weight_of_a_domain_lies_within_both(
    birth: tuple[int, int], now: tuple[int, int], words: str
) -> None:
    spans = (WeightSpan(at_least=make_amount(a, "g"), at_most=make_amount(b, "g")) for a, b in (birth, now))
    found = Domain(**dict(zip(("birth_weight", "weight_now"), spans, strict=True))).find_span(Axis.GREATER_WEIGHT)
    assert found is not None
    assert found.words() == words
    assert Domain(birth_weight=WEIGHTS).find_span(Axis.GREATER_WEIGHT) is None


@pytest.mark.parametrize(
    ("where", "wrong"),
    [
        ('{ weight_now = { at_least = "1200 g" } }', "has no gestation"),
        ('{ birth_gestation = { at_least = "28+0" } }', "has no weight"),
        (
            '{ weight_now = { at_least = "1200 g" }, birth_gestation = { at_least = "28+0" }, facts = { cpap = "x" } }',
            "goes by weight, gestation and age alone",
        ),
        (
            '{ birth_weight = { at_least = "1200 g" }, birth_gestation = { at_least = "28+0" } }',
            'line "airway-device" of kit "surfactant-supraglottic" goes by birth weight and by weight now',
        ),
        (
            "{ weight_now.above = '1 kg', birth_gestation.above = '28+0', gestation_today.above = '28+0' }",
            'line "airway-device" of kit "surfactant-supraglottic" goes by gestation at birth and by gestation today',
        ),
    ],
)
def test_an_approval_says_which_weight_and_which_gestation_as_its_line_does(where: str, wrong: str) -> None:
    assert wrong in [problem.wrong for problem in find_ward_problems(APPROVED, f"where = {where}")]


PRODUCT = """
[[product]]
id = "atropine-600"
name = "Atropine"
strength = "600 microgram/mL"
container = "ampoule"
holds = ["1 mL"]
where = {where}
basis = "local"

[[syringe]]
"""


@pytest.mark.parametrize(
    ("where", "wrong"),
    [
        ('{ weight_now = { at_least = "1 kg" } }', []),
        ('{ facts = { cpap = { above = "5 cmH2O" } } }', ["goes by weight, gestation and age alone"]),
        (
            '{ greater_weight = { at_least = "1 kg" } }',
            [
                (
                    'line "atropine" of kit "surfactant-supraglottic" goes by weight now'
                    " and by the greater of birth weight and weight now"
                )
            ],
        ),
    ],
)
def test_a_wards_own_product_is_for_whom_its_label_says_by_the_weight_of_its_line(where: str, wrong: list[str]) -> None:
    text = WARD_TEXT.replace("[[syringe]]\n", PRODUCT.replace("{where}", where), 1)
    assert [problem.wrong for problem in read_ward_beside(text, take_kit())] == wrong


def test_a_kits_product_that_goes_by_facts_is_refused() -> None:
    found = find_problems(
        'where = { weight_now = { at_least = "3000 g" } }',
        'where = { weight_now = { at_least = "3000 g" }, facts = { line_patent = "yes" } }',
    )
    assert [problem.wrong for problem in found] == ["goes by weight, gestation and age alone"]
