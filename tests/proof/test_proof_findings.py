"""Each finding of a proof, on a kit made to show it and on one made not to. Figures are invented."""

import pytest
from proof_kits import DOSE, FINE, STOCK, prove_small, say, write_line, write_syringe

from prepkit.documents.proof_words import say_situation
from prepkit.proof.findings import NoteKind

NEVER = NoteKind.UNUSED
CHOICE = """
[[fact]]
kind = "choice"
id = "in_place"
label = "One in place"
ask = "Is one in place?"
options = ["yes", "no"]
default = "no"
"""
AMOUNT = """
[[fact]]
kind = "amount"
id = "given"
label = "Given"
ask = "How much was given?"
least = "0 mg/kg"
most = "20 mg/kg"
default = "0 mg/kg"

[[fact]]
kind = "doses"
id = "before"
label = "Given before"
ask = "What was given before?"
"""
REPEAT = DOSE.replace(
    "[[line]]", 'repeat = { dose = "1 mg/kg", interval = "6 h", most_in_all = "4 mg/kg" }\n\n[[line]]'
).replace('dose = "2 mg/kg"', 'dose = "2 mg/kg"\nearlier = "before"')


def write_sizes(*bands: str, by: str = "weight", rest: str = "") -> str:
    rows = ", ".join(f"{{ {band} }}" for band in bands)
    return write_line("size", f'{rest}method = [{{ by = "{by}", band = [{rows}] }}]\n')


SMALL = 'size = ["1"], birth_weight = { below = "1050 g" }'
LARGE = 'size = ["2"], birth_weight = { at_least = "1050 g" }'


def test_a_line_is_blocked_where_no_band_holds_the_baby_and_that_is_a_gap() -> None:
    proof = prove_small(write_sizes(SMALL))
    assert [words.partition(":")[0] for words in say(proof, NoteKind.BLOCKED)] == ["birth weight 1050–1100 g"]
    assert [note.about for note in proof.gaps] == ["it"]
    whole = prove_small(write_sizes(SMALL, LARGE))
    assert (say(whole, NoteKind.BLOCKED), whole.gaps) == ([], ())


def test_a_block_in_one_situation_or_for_some_gestations_says_which() -> None:
    facts = 'count = [{ count = 1, facts = { in_place = "yes" } }]\n'
    (words,) = say(prove_small(CHOICE + write_line("supply", facts)), NoteKind.BLOCKED)
    assert words.endswith("(in place no)")
    bands = 'band = [{ value = "1 mL", birth_gestation = { below = "30+3" } }]\n'
    (words,) = say(prove_small(write_line("setting", bands)), NoteKind.BLOCKED)
    assert words.endswith("(gestation at birth 30+3 to 31+0)")


def test_babies_that_a_criterion_rules_out_are_blocked_but_no_gap() -> None:
    criterion = """
[[criterion]]
id = "light"
text = "Weight is under 1050 g"
where = { birth_weight = { below = "1050 g" } }
otherwise = "not suitable"
basis = "common practice"
"""
    proof = prove_small(criterion + write_sizes(SMALL))
    (words,) = say(proof, NoteKind.BLOCKED)
    assert words.startswith("birth weight 1050–1100 g: ")
    assert words.endswith("[the criteria rule these babies out]")
    assert proof.gaps == ()
    assert prove_small(criterion.replace("not suitable", "advice") + write_sizes(SMALL)).gaps != ()


def test_a_criterion_on_a_fact_that_stands_at_its_default_excuses_no_gap() -> None:
    criterion = """
[[criterion]]
id = "placed"
text = "One is in place"
where = { facts = { in_place = "yes" } }
otherwise = "not suitable"
basis = "common practice"
"""
    assert prove_small(CHOICE + criterion + write_sizes(SMALL)).gaps != ()


def test_a_volume_that_no_syringe_measures_is_told_apart_from_a_block() -> None:
    coarse = STOCK + write_syringe("5", "0.1", "0.21")
    proof = prove_small(DOSE, coarse)  # 0.2 mL at 1000 g, 0.22 mL at 1100 g
    (words,) = say(proof, NoteKind.UNMEASURED)
    assert words.startswith("birth weight 1000–1100 g: ")
    assert "is under the 0.21 mL that a 5 mL syringe measures" in words
    assert say(proof, NoteKind.BLOCKED) == []
    assert proof.gaps != ()
    assert say(prove_small(DOSE), NoteKind.UNMEASURED) == []
    assert say(prove_small(DOSE, None), NoteKind.UNMEASURED) == []
    assert len(say(prove_small(DOSE, None), NoteKind.BLOCKED)) == 1


def test_an_amount_by_mouth_that_no_syringe_measures_is_told_too() -> None:
    text = write_line("amount", 'route = "enteral"\nband = [{ value = "0.25 mL" }]\n')
    assert say(prove_small(text, write_syringe("1", "0.1", "0.1", "enteral")), NoteKind.UNMEASURED) != []
    assert say(prove_small(text, write_syringe("1", "0.01", "0.1", "enteral")), NoteKind.UNMEASURED) == []


def test_the_largest_rounding_is_said_with_where_it_is() -> None:
    # 0.2 mL a kg at 0.01 mL: 0.205 mL at 1025 g is half way, and goes up by 2.44 %.
    assert say(prove_small(DOSE), NoteKind.ROUNDING) == ["+2.44 % at birth weight 1025 g"]
    assert say(prove_small(DOSE, grams=(1000, 1000)), NoteKind.ROUNDING) == ["0 % at birth weight 1000 g"]


def test_the_largest_rounding_of_a_length_is_said_in_its_unit() -> None:
    method = (
        'method = [{ by = "f", per_kg = "1 cm/kg", weight = "birth", basis = "common practice" }]\nstep = "0.5 cm"\n'
    )
    assert say(prove_small(write_line("depth", method)), NoteKind.ROUNDING) == ["−0.1 cm at birth weight 1100 g"]
    assert say(prove_small(write_line("depth", method), grams=(1000, 1000)), NoteKind.ROUNDING) == []


def test_a_step_over_the_mark_is_said_where_one_more_gram_makes_it() -> None:
    # The label lets the stronger product be used from 1050 g.
    strong = DOSE.replace(
        "[[line]]",
        DOSE.partition("[[line]]")[0].replace('"drug"', '"strong"').replace("10 mg/mL", "40 mg/mL")
        + 'where = { birth_weight = { at_least = "1050 g" } }\n\n[[line]]',
    ).replace('products = ["drug"]', 'products = ["strong", "drug"]')
    stock = STOCK.replace("drug", "strong") + STOCK + FINE
    assert say(prove_small(strong, stock, deviation="20 %"), NoteKind.STEP) == [
        "0.21 mL at birth weight 1049 g, 0.05 mL at 1050 g"
    ]
    assert say(prove_small(DOSE), NoteKind.STEP) == []


def test_steps_over_the_mark_at_every_gram_are_said_once() -> None:
    weak = DOSE.replace('strength = "10 mg/mL"', 'strength = "0.1 mg/mL"')  # 0.02 mL a gram, marks of 0.01 mL
    words = say(prove_small(weak, grams=(1000, 1010)), NoteKind.STEP)
    assert words == ["at every gram from 20 mL at birth weight 1000 g to 20.2 mL at 1010 g"]


def test_the_most_in_one_dose_is_said_where_it_bites() -> None:
    capped = DOSE.replace('dose = "2 mg/kg"', 'dose = "2 mg/kg"\nmost = "2.1 mg"')
    words = "the most in one dose, 2.1 mg, bites at birth weight 1051–1100 g"
    assert say(prove_small(capped), NoteKind.CEILING) == [words]
    assert say(prove_small(capped, grams=(1000, 1050)), NoteKind.CEILING) == []
    assert say(prove_small(capped, grams=(1080, 1080)), NoteKind.CEILING) == [words.replace("1051–1100", "1080")]


def test_the_total_of_a_course_is_said_where_it_bites() -> None:
    found = say(prove_small(AMOUNT + REPEAT, deviation="20 %"), NoteKind.CEILING)
    assert "the course's total, 4 mg/kg, bites: no further dose once more than 3 mg/kg was given" in found
    # 0.1 mL a kg, marks of 0.01 mL: from 0.105 mL at 1050 g on, half up would pass 1 mg/kg.
    mark = "rounding up would pass what may be given: the mark below"
    held = [words for words in found if "the mark below is taken" in words]
    assert held == [f"{mark} is taken at 50 weights (birth weight 1050–1099 g) (last dose of a course, after 3 mg/kg)"]
    assert say(prove_small(AMOUNT + DOSE), NoteKind.CEILING) == []


def test_a_mark_that_brings_a_course_over_its_total_is_a_caution_and_no_gap() -> None:
    # From 0.105 mL at 1050 g on the mark below, 0.1 mL, is 4.8 % off and soon over 5 %; 0.11 mL is the nearest.
    proof = prove_small(AMOUNT + REPEAT, deviation="5 %")
    assert proof.gaps == ()
    over = "the mark brings the course a little over its total at 47 weights (birth weight 1053–1099 g)"
    most = "the most, 4.04 mg/kg, at 1053 g (last dose of a course, after 3 mg/kg)"
    assert say(proof, NoteKind.CAUTION) == [f"{over}; {most}"]
    never = "the caution that the mark brings a course over its total can never fire"
    assert never not in say(proof, NoteKind.UNUSED)
    wide = prove_small(AMOUNT + REPEAT, deviation="20 %")
    assert say(wide, NoteKind.CAUTION) == []
    assert never in say(wide, NoteKind.UNUSED)
    assert never not in say(prove_small(DOSE), NoteKind.UNUSED)


def test_a_course_whose_first_dose_leaves_no_room_is_a_gap_for_further_doses() -> None:
    tight = REPEAT.replace('most_in_all = "4 mg/kg"', 'most_in_all = "2.5 mg/kg"')
    proof = prove_small(AMOUNT + tight)
    (words,) = say(proof, NoteKind.BLOCKED)
    assert "past 2.5 mg/kg in all" in words
    assert words.endswith("(further dose after 2 mg/kg)")
    assert prove_small(AMOUNT + REPEAT, deviation="20 %").gaps == ()


def test_situations_that_are_walked_are_named_for_their_line_and_a_trial_is_not_walked() -> None:
    trial = write_line("trial", 'of = ["it"]\nhow = ["Try it."]\n', "try")
    lines = {line.id: tuple(map(say_situation, line.situations)) for line in prove_small(AMOUNT + REPEAT + trial).lines}
    names = ("first dose", "further dose after 2 mg/kg", "last dose of a course, after 3 mg/kg")
    assert lines == {"it": names, "try": ()}
    plain = {line.id: tuple(map(say_situation, line.situations)) for line in prove_small(DOSE).lines}
    assert plain == {"it": ("",)}


LABEL = write_sizes('size = ["1"], birth_weight = { at_least = "1050 g" }', rest="label = true\n")
APPROVAL = """
[[approval]]
line = "it"
size = "1"
where = { birth_weight = { at_least = "1000 g", below = "1050 g" }, birth_gestation = { at_least = "30+3" } }
reference = "A-1"
approver = "lead consultant"
approved_on = 2026-03-02
review_by = 2027-03-01
"""


def test_an_approval_is_said_where_it_cuts_in() -> None:
    proof = prove_small(LABEL, APPROVAL)
    assert say(proof, NoteKind.CHANGE) == [
        "from birth weight 1050 g label, size 1 (gestation at birth 30+0 to 30+2)",
        "from birth weight 1000 g approval A-1, size 1; from 1050 g label, size 1 (gestation at birth 30+3 to 31+0)",
    ]
    assert [words.partition(":")[0] for words in say(proof, NoteKind.BLOCKED)] == ["birth weight 1000–1049 g"]
    assert say(proof, NEVER) == []
    assert say(prove_small(LABEL, "", grams=(1050, 1100)), NoteKind.CHANGE) == []


def test_an_approval_that_no_baby_needs_can_never_fire() -> None:
    words = "the approval A-1 is never used, and its caution can never fire"
    assert words in say(prove_small(LABEL, APPROVAL, grams=(1050, 1100)), NEVER)
    assert words in say(prove_small(LABEL, APPROVAL.replace("2027-03-01", "2026-11-24")), NEVER)
    assert "no approval is on file: the caution that it is used outside its label can never fire" in say(
        prove_small(LABEL, ""), NEVER
    )


def write_criterion(where: str) -> str:
    return (
        f'[[criterion]]\nid = "rule"\ntext = "A rule"\nwhere = {{ {where} }}\notherwise = "ask a senior"\n'
        'basis = "common practice"\n'
    )


@pytest.mark.parametrize(
    ("where", "kind", "words"),
    [
        ('birth_weight = { at_least = "1020 g" }', NoteKind.CRITERION, "ask a senior: birth weight 1000–1019 g"),
        ('birth_gestation = { below = "30+5" }', NoteKind.CRITERION, "ask a senior: gestation at birth 30+5 to 31+0"),
        ('facts = { in_place = "yes" }', NoteKind.CRITERION, "ask a senior: in place no"),
        ('facts = { given = { above = "3 mg/kg" } }', NoteKind.CRITERION, "ask a senior: given not over 3 mg/kg"),
        ('birth_weight = { at_least = "1000 g" }', NEVER, "met by every baby of the domain: it can never fire"),
        ('facts = { given = { at_most = "20 mg/kg" } }', NEVER, "met by every baby of the domain: it can never fire"),
        ('birth_weight = { above = "1100 g" }', NEVER, "met by no baby of the domain: ask a senior for every one"),
        (
            'facts = { given = { above = "20 mg/kg" } }',
            NEVER,
            "met by no baby of the domain: ask a senior for every one",
        ),
    ],
)
def test_a_criterion_is_said_where_it_cuts_in_or_that_it_never_does(where: str, kind: NoteKind, words: str) -> None:
    proof = prove_small(CHOICE + AMOUNT + write_criterion(where) + write_sizes(SMALL, LARGE))
    assert say(proof, kind, "rule") == [words]


def test_a_band_that_no_baby_meets_or_that_another_always_comes_before_is_named() -> None:
    far = prove_small(write_sizes(SMALL, LARGE), grams=(1060, 1100))
    assert say(far, NEVER) == ["no baby of the domain meets the band: birth weight under 1050 g"]
    bands = (
        'band = [{ value = "1 cmH2O", facts = { in_place = "yes" } }, { value = "2 cmH2O" }, { value = "3 cmH2O" }]\n'
    )
    assert say(prove_small(CHOICE + write_line("setting", bands)), NEVER) == [
        "an earlier band always comes first: any baby"
    ]
    assert say(prove_small(write_sizes(SMALL, LARGE)), NEVER) == []


def test_a_band_by_another_lines_size_that_is_never_given_is_named() -> None:
    follower = write_line(
        "size",
        'method = [{ by = "it", follows = "it", band = ['
        '{ when_size = "1", size = ["a"] }, { when_size = "2", size = ["b"] }] }]\n',
        "next",
    )
    assert say(prove_small(write_sizes(SMALL, LARGE) + follower), NEVER, "next") == []
    low = prove_small(write_sizes(SMALL, LARGE) + follower, grams=(1000, 1040))
    assert say(low, NEVER, "next") == ["no baby of the domain meets the band: 2"]


TWO = """
choose = "one"
method = [
    { by = "weight", band = [
        { size = ["1"], birth_weight = { below = "1050 g" } },
        { size = ["2"], birth_weight = { at_least = "1050 g" } },
    ] },
    { by = "gestation", band = [
        { size = ["1"], birth_gestation = { below = "40+0" } },
        { size = ["2"], birth_gestation = { at_least = "40+0" } },
    ] },
]
"""


def test_methods_of_a_size_that_never_differ_are_said() -> None:
    words = "the caution that its methods differ can never fire"
    assert words in say(prove_small(write_line("size", TWO), grams=(1000, 1040)), NEVER)
    assert words not in say(prove_small(write_line("size", TWO)), NEVER)


def write_depths(differ: str, plus: str = "5 cm") -> str:
    return write_line(
        "depth",
        f'''step = "0.5 cm"
differ = "{differ}"
method = [
    {{ by = "formula", per_kg = "2 cm/kg", weight = "birth", plus = "{plus}", basis = "common practice" }},
    {{ by = "table", basis = "common practice", band = [{{ depth = "7 cm", birth_weight = {{ above = "500 g" }} }}] }},
]
''',
    )


def test_methods_of_a_depth_that_never_differ_are_said() -> None:
    words = ["the caution that its methods differ can never fire"]
    assert say(prove_small(write_depths("0.2 cm")), NEVER) == words  # 7.2 cm at 1100 g is as far off as is allowed
    assert say(prove_small(write_depths("0.2 cm"), grams=(1000, 1101)), NEVER) == []


def test_a_measured_length_that_the_ward_does_not_have_is_a_method_that_serves_no_baby() -> None:
    methods = (
        'step = "0.5 cm"\nmethod = [{ by = "hand", measured = true, basis = "local" },'
        ' { by = "range", low = "1 cm", high = "2 cm", basis = "common practice" }]\n'
    )
    row = (
        '[[measured]]\nline = "it"\ndevice = "D"\nlength = "16 cm"\nclearance = "1 cm"\nmeasured_by = "lead nurse"\n'
        "measured_on = 2026-03-02\n"
    )
    without = say(prove_small(write_line("depth", methods), ""), NEVER)
    assert without == ["the method by hand serves no baby: the ward has measured none"]
    held = say(prove_small(write_line("depth", methods), row), NEVER)
    assert held == ["the method by range is never the mark: another always comes before it"]


def test_a_table_that_serves_no_baby_is_said_once() -> None:
    light = write_sizes(
        'size = ["0"], birth_weight = { below = "900 g" }',
        'size = ["1"], birth_weight = { at_least = "900 g", below = "950 g" }',
    )
    words = say(prove_small(light), NEVER)
    assert words == ["no baby of the domain meets a band of the table by weight"]


RANGED = DOSE.replace('dose = "2 mg/kg"\n', "").replace(
    "[[line]]", 'dose = "2 mg/kg"\ndose_range = { least = "1 mg/kg", most = "2 mg/kg" }\n\n[[line]]'
)


def test_the_caution_over_the_labels_range_is_named_where_it_can_never_fire() -> None:
    words = "the caution that the mark passes the 2 mg/kg of the label's range can never fire (drug)"
    assert words in say(prove_small(RANGED, grams=(1000, 1024)), NEVER)  # all go down, from 1025 g on half up
    assert words not in say(prove_small(RANGED, grams=(1000, 1025)), NEVER)


def test_the_caution_on_a_wide_deviation_is_named_where_it_can_never_fire() -> None:
    words = "the caution that the mark is over 5 % from exact can never fire"
    coarse = STOCK + write_syringe("5", "0.1", "0.1")
    assert words in say(prove_small(DOSE, grams=(1000, 1050), deviation="20 %"), NEVER)
    assert words not in say(prove_small(DOSE, coarse, grams=(1000, 1100), deviation="20 %"), NEVER)
    assert words not in say(prove_small(DOSE), NEVER)


def test_products_that_never_serve_are_named_with_why() -> None:
    other = DOSE.partition("[[line]]")[0].replace('"drug"', '"other"')
    text = (other + DOSE).replace('products = ["drug"]', 'products = ["drug", "other"]')
    both = STOCK + STOCK.replace("drug", "other") + FINE
    assert say(prove_small(text), NEVER, "other") == ["not in the ward's stock: its cautions can never fire"]
    assert say(prove_small(text, both), NEVER, "other") == [
        "in stock, but never what serves: its cautions can never fire"
    ]
    assert say(prove_small(text, both), NEVER, "drug") == []
