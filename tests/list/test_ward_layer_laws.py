"""Laws of a ward file laid over a kit. Figures are invented."""

from hypothesis import given, settings
from hypothesis import strategies as st
from layer_scene import ADDED, BARE, CRITERION, DEVICE, DOSE, LOCAL, QUESTION, SETTING, SMALL, list_tray, make
from trays import DEMO_TEXT, KIT, NOW, make_small_ward, make_tray, make_ward, write_widening

from prepkit.kit.baby import make_baby
from prepkit.list.compute import compute_list

laws = settings(max_examples=40)
GRAMS = st.integers(300, 6000)
NARROWER = make(
    DOSE.format(dose="7 mg/kg"),
    DEVICE.format(least=2400),
    SETTING.format(band='value = "7 cmH2O"'),
    CRITERION.format(least=1500),
)


@laws
@given(grams=GRAMS)
def test_what_is_narrower_never_unblocks_and_never_gives_more(grams: int) -> None:
    own, ward = list_tray(grams, BARE), list_tray(grams, NARROWER)
    for before, after in zip(own.lines, ward.lines, strict=True):
        assert after.blocked or not before.blocked, after.id
        assert before.blocked or "wider" not in after.blocked
        if after.due is not None and before.due is not None:
            assert after.due <= before.due
    for one, two in zip(own.reasons, ward.reasons, strict=True):
        assert two.verdict in {"not suitable", one.verdict}


@laws
@given(grams=GRAMS, dose=st.integers(1, 300), least=st.integers(500, 4000), milder=st.integers(300, 3000))
def test_without_an_approval_no_ward_file_gives_more_than_the_kit(
    grams: int, dose: int, least: int, milder: int
) -> None:
    text = DOSE.format(dose=f"{dose / 10:g} mg/kg"), DEVICE.format(least=least), CRITERION.format(least=milder)
    own, ward = list_tray(grams, BARE), list_tray(grams, make(*text))
    for before, after in zip(own.lines, ward.lines, strict=True):
        assert after.blocked or not before.blocked, after.id
        if after.amount is not None and before.amount is not None:
            assert after.amount <= before.amount
    for one, two in zip(own.reasons, ward.reasons, strict=True):
        assert two.verdict != "met" or one.verdict == "met"


@laws
@given(grams=GRAMS, days=st.integers(22 * 7, 44 * 7 + 6))
def test_a_ward_file_that_says_nothing_of_this_kit_leaves_its_list_alone(grams: int, days: int) -> None:
    gestation = f"{days // 7}+{days % 7}"
    elsewhere = make_ward(DEMO_TEXT + LOCAL + ADDED + QUESTION + write_widening("dose"), KIT, SMALL)
    plain, beside = make_tray(grams, gestation), make_tray(grams, gestation, ward=elsewhere)
    assert (plain.lines, plain.reasons, plain.overdue) == (beside.lines, beside.reasons, beside.overdue)


@laws
@given(grams=GRAMS)
def test_a_line_stated_word_for_word_like_the_kits_is_the_kits(grams: int) -> None:
    text = DOSE.format(dose="10 mg/kg").replace('dose = "10 mg/kg"\n', "").replace('how = ["Slowly."]\n', "")
    same = make(text + 'how = ["Slowly."]\naloud = true\ncautions = ["The kit\'s own caution."]\n')
    assert list_tray(grams, same).lines == list_tray(grams, BARE).lines


def test_a_stored_text_gives_the_same_list_again() -> None:
    ward = make(DOSE.format(dose="8 mg/kg"), CRITERION.format(least=1300))
    baby, _ = make_baby(SMALL.model, {"birth_weight": "2000", "birth_gestation": "30+2"}, NOW)
    assert baby is not None
    again = make_small_ward(ward.text, SMALL, head="")
    assert compute_list(SMALL, ward, baby, {}, NOW).lines == compute_list(SMALL, again, baby, {}, NOW).lines
