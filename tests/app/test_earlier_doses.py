"""Doses given before: said, added, taken off, named as people call them; those of others are asked about."""

from pathlib import Path

from workstation_scene import Clock, MakeDesk, answer_all, check_all, find_row, start, tick_all

from prepkit.app.open_preparation import OpenPreparation
from prepkit.app.reports import find_stored_preparations
from prepkit.app.workstation import Workstation
from prepkit.documents.timeline import make_timeline
from prepkit.view.models import Sign

FACT = "earlier_surfactant"
FULL, PART, NOTHING = "3.6", "1.8", ""


def find_fact(opened: OpenPreparation) -> tuple[str, str]:
    row = next(row for row in opened.baby.show_baby().facts if row.id == FACT)
    return row.value, row.note


def test_no_dose_before_is_a_default_until_somebody_says_so(desk: Workstation) -> None:
    opened = start(desk)
    assert find_fact(opened) == ("none", "default, not confirmed")
    assert opened.doses.say_none(FACT) == ""
    assert find_fact(opened) == ("none", "")
    assert opened.doses.show(FACT).is_said


def test_a_dose_is_added_named_as_it_is_called_and_taken_off_again(desk: Workstation) -> None:
    opened = start(desk)
    assert opened.doses.add(FACT, "poractant-alfa", "250 mg", "2026-11-25 01:00") == ""
    assert opened.doses.add(FACT, "not known", "not known", "not known") == ""
    both = ("product not known, amount not known, time not known", "Poractant alfa, 250 mg, 25 Nov 01:00")
    view = opened.doses.show(FACT)
    assert tuple(words for _, words in view.doses) == both
    assert find_fact(opened) == ("; ".join(both), "")
    assert opened.doses.take_off(FACT, view.doses[0][0]) == ""
    assert find_fact(opened) == (both[1], "")
    assert opened.doses.take_off(FACT, opened.doses.show(FACT).doses[0][0]) == ""
    assert find_fact(opened) == ("none", "")


def test_of_two_doses_alike_one_is_taken_off_and_one_that_changed_meanwhile_is_not(desk: Workstation) -> None:
    opened = start(desk)
    for _ in range(2):
        assert opened.doses.add(FACT, "poractant-alfa", "not known", "not known") == ""
    (first, _), (second, _) = opened.doses.show(FACT).doses
    assert first != second
    assert opened.doses.take_off(FACT, second) == ""
    assert opened.session.state.facts[FACT] == "poractant-alfa, not known, not known"
    assert opened.doses.take_off(FACT, second) == ""
    assert opened.session.state.facts[FACT] == "poractant-alfa, not known, not known"


def test_what_cannot_have_been_given_is_refused_and_nothing_is_kept(desk: Workstation) -> None:
    opened = start(desk)
    for product, amount, at in (
        ("atropine-of-nobody", "250 mg", "01:00"),
        ("poractant-alfa", "0 mg", "01:00"),
        ("poractant-alfa", "250 L/min", "01:00"),
        ("poractant-alfa", "250 mg", "03:01"),
    ):
        assert opened.doses.add(FACT, product, amount, at) != "", (product, amount, at)
    assert FACT not in opened.session.state.facts


def test_the_products_offered_are_those_of_the_line_by_name_the_wards_own_among_them(
    desk: Workstation, ward_file: Path
) -> None:
    own = """
[[product]]
id = "heron-alfa"
name = "Heron alfa"
strength = "80 mg/mL"
container = "vial"
holds = ["1.5 mL"]
dose = "200 mg/kg"
basis = "local"

[[local]]
kits = ["surfactant-supraglottic"]
[[local.line]]
kind = "dose"
id = "surfactant"
group = "medicines"
name = "Surfactant"
route = "tracheal"
weight = "birth"
products = ["poractant-alfa", "beractant", "calfactant", "heron-alfa"]
earlier = "earlier_surfactant"
air = true
basis = "local"
"""
    ward_file.write_text(ward_file.read_text("utf-8") + own, "utf-8")
    opened = start(desk)
    names = [name for _, name in opened.doses.show(FACT).products]
    assert names == ["Poractant alfa", "Beractant", "Calfactant", "Heron alfa", "Not known"]
    assert opened.doses.add(FACT, "heron-alfa", "200 mg/kg", "01:00") == ""
    assert find_fact(opened)[0] == "Heron alfa, 200 mg/kg, 25 Nov 01:00"
    assert not opened.lines.show_list().withheld


def go_to_the_cot(opened: OpenPreparation, clock: Clock) -> None:
    answer_all(opened)
    tick_all(opened)
    check_all(opened)
    clock.move(minutes=5)
    assert opened.ready.read_aloud() == ""


def give(opened: OpenPreparation, clock: Clock, volume: str) -> None:
    """Do every step at the cot, and say how much was given; nobody says it where `volume` is empty."""
    go_to_the_cot(opened, clock)
    while (step := opened.bedside.show_cot().next_step) is not None:
        clock.move(minutes=1)
        assert opened.bedside.do_step(step.step) == ""
        if step.step == "catheter-out" and volume:
            entry = next(row.entry for row in opened.bedside.show_cot().steps if row.step == step.step)
            assert opened.bedside.give_reading(entry, "volume_given", volume) == ""


def list_options(opened: OpenPreparation) -> dict[str, str]:
    view = opened.lines.show_options("surfactant")
    assert view is not None
    return dict(view.choices)


def test_a_dose_given_in_part_is_an_earlier_dose_and_its_rest_can_be_ordered_at_once(
    desk: Workstation, clock: Clock
) -> None:
    opened = start(desk)
    give(opened, clock, "1.8")
    assert opened.bedside.come_back("the catheter came out") == ""
    assert find_fact(opened) == ("Poractant alfa, 1.8 mL, 25 Nov 03:17, part of 290 mg", "")
    row = find_row(opened, "surfactant")
    assert row.sign is Sign.BLOCKED
    assert "may be given from 15:17 on 25 Nov" in row.note
    assert opened.lines.order("surfactant", "poractant-alfa rest", "KM") == ""
    row = find_row(opened, "surfactant")
    # 290 mg were due and 1.8 mL hold 144 mg: 146 mg are left, 1.825 mL.
    assert (row.sign, row.show) == (Sign.TO_DO, "1.8 mL")
    assert row.details[0] == "144 mg, 99.3 mg/kg (due 101)"
    assert "ordered by KM: the rest of the last dose" in row.details


def test_a_dose_given_in_full_waits_for_its_interval_and_a_senior_may_order_it_early(
    desk: Workstation, clock: Clock
) -> None:
    opened = start(desk)
    give(opened, clock, "3.6")
    assert opened.bedside.come_back("given, and more is wanted") == ""
    assert "may be given from 15:17 on 25 Nov" in find_row(opened, "surfactant").note
    assert "poractant-alfa rest" not in list_options(opened)
    assert "reason" in opened.lines.order("surfactant", "poractant-alfa early", "KM")
    assert opened.lines.order("surfactant", "poractant-alfa early", "KM", "worse again on CPAP") == ""
    row = find_row(opened, "surfactant")
    assert (row.sign, row.show) == (Sign.TO_DO, "1.8 mL")


def test_a_dose_whose_volume_nobody_entered_is_one_of_an_unknown_amount_and_asks_a_senior(
    desk: Workstation, clock: Clock
) -> None:
    opened = start(desk)
    give(opened, clock, "")
    assert opened.bedside.come_back("the line was lost") == ""
    assert find_fact(opened) == ("Poractant alfa, amount not known, 25 Nov 03:17", "")
    assert "senior" in " ".join([*opened.baby.show_suitability().words, *opened.ready.show_ready().missing])


def test_nothing_given_leaves_no_dose_behind(desk: Workstation, clock: Clock) -> None:
    opened = start(desk)
    go_to_the_cot(opened, clock)
    assert opened.bedside.do_step("t-piece-on") == ""
    assert opened.bedside.come_back("the device did not go in") == ""
    assert find_fact(opened)[0] == "none"


ASKED = "Poractant alfa, 3.6 mL at 03:17 under Cot 4. The same baby?"


def begin_anew(desk: Workstation, clock: Clock, weight: str = "1450") -> OpenPreparation:
    """A preparation under a cot label where another one has given a dose."""
    before = start(desk)
    give(before, clock, "3.6")
    clock.move(minutes=30)
    return start(desk, weight)


def test_what_was_given_under_the_same_cot_label_is_asked_and_never_assumed(desk: Workstation, clock: Clock) -> None:
    opened = begin_anew(desk, clock)
    assert opened.lines.show_list().same_baby == ASKED
    assert find_fact(opened) == ("none", "default, not confirmed")
    assert ASKED in opened.ready.show_ready().missing
    assert ASKED in opened.handover.show_handover().left


def test_the_defaults_cannot_be_confirmed_past_the_question(desk: Workstation, clock: Clock) -> None:
    opened = begin_anew(desk, clock)
    assert opened.baby.confirm_facts() == f"{ASKED} Answer that on the list."
    assert find_fact(opened) == ("none", "default, not confirmed")
    assumed = [row.id for row in opened.baby.show_baby().facts if row.note == "default, not confirmed"]
    assert assumed == ["sex", FACT]


def test_yes_counts_the_dose_and_another_baby_had_none(desk: Workstation, clock: Clock) -> None:
    opened = begin_anew(desk, clock)
    assert opened.doses.answer_same_baby(is_same=True) == ""
    assert find_fact(opened) == ("Poractant alfa, 3.6 mL, 25 Nov 03:17", "")
    assert "may be given from 15:17 on 25 Nov" in find_row(opened, "surfactant").note
    assert opened.lines.show_list().same_baby == ""
    other = start(desk, "1300")
    assert other.doses.answer_same_baby(is_same=False) == ""
    assert find_fact(other) == ("none", "")
    assert find_row(other, "surfactant").show == "3.2 mL"
    assert not [words for words in other.ready.show_ready().missing if "same baby" in words]


def test_a_dose_given_meanwhile_keeps_the_gate_shut_though_no_screen_has_asked_yet(
    make_desk: MakeDesk, clock: Clock
) -> None:
    first, second = start(make_desk()), start(make_desk())
    go_to_the_cot(first, clock)
    assert second.lines.show_list().same_baby == ""
    assert first.bedside.do_step("surfactant-begun") == ""
    assert second.lines.show_list().same_baby == "", "the screen looked a moment ago"
    assert "Poractant alfa, amount not known at 03:05 under Cot 4. The same baby?" in second.ready.read_aloud()


def test_a_dose_given_after_the_answer_is_asked_about_at_the_gate_and_the_old_ones_are_not(
    make_desk: MakeDesk, clock: Clock
) -> None:
    opened, third = begin_anew(make_desk(), clock), start(make_desk())
    for each in (opened, third):
        assert each.doses.answer_same_baby(is_same=False) == ""
    assert opened.ready.show_ready().missing.count(ASKED) == 0
    give(third, clock, "1.8")
    clock.move(minutes=2)
    asked = "Poractant alfa, 1.8 mL at 04:08 under Cot 4. Of this baby, and not counted yet?"
    assert asked in opened.ready.show_ready().missing
    assert opened.lines.show_list().same_baby == asked
    assert opened.doses.answer_same_baby(is_same=True) == ""
    assert find_fact(opened)[0].startswith("Poractant alfa, 1.8 mL, 25 Nov 04:08")
    assert "under Cot 4" not in "".join(map(str, opened.ready.show_ready().missing))


def test_the_answer_stands_in_the_record_with_what_was_asked(desk: Workstation, clock: Clock) -> None:
    opened = begin_anew(desk, clock)
    assert opened.doses.answer_same_baby(is_same=False) == ""
    (stored,) = [each for each in find_stored_preparations(desk.store, "Cot 4") if each.prep == opened.session.prep]
    told = [entry.words for entry in make_timeline(stored.events, stored.state, None)]
    assert (
        "Given under this cot label: Poractant alfa, 3.6 mL, 25 Nov 03:17: another baby's, or counted already" in told
    )


def test_a_dose_that_was_entered_with_its_moment_is_not_asked_about(desk: Workstation, clock: Clock) -> None:
    opened = begin_anew(desk, clock)
    assert opened.doses.add(FACT, "poractant-alfa", "290 mg", "2026-11-25 03:17") == ""
    assert not [words for words in opened.ready.show_ready().missing if "under Cot 4" in words]
    assert opened.doses.take_off(FACT, opened.doses.show(FACT).doses[0][0]) == ""
    assert [words for words in opened.ready.show_ready().missing if "under Cot 4" in words]


def test_two_desks_that_answer_at_once_count_a_dose_once(make_desk: MakeDesk, clock: Clock) -> None:
    opened = begin_anew(make_desk(), clock)
    other = make_desk(who="KM").resume(opened.session.prep)
    assert not isinstance(other, str)
    assert opened.lines.show_list().same_baby == other.lines.show_list().same_baby == ASKED
    assert opened.doses.answer_same_baby(is_same=True) == ""
    assert other.doses.answer_same_baby(is_same=True) == ""
    other.session.refresh()
    assert find_fact(other)[0].count("Poractant") == 1


def test_practice_counts_for_practice_alone(desk: Workstation, clock: Clock) -> None:
    begin_anew(desk, clock)
    practice = desk.start("surfactant-supraglottic", "Cot 4", practice=True)
    assert isinstance(practice, OpenPreparation)
    assert practice.lines.show_list().same_baby == ""


def test_the_rest_and_an_early_dose_are_never_taken_for_each_other(desk: Workstation, clock: Clock) -> None:
    opened = start(desk)
    give(opened, clock, "1.8")
    assert opened.bedside.come_back("the catheter came out") == ""
    options = list_options(opened)
    assert options["poractant-alfa rest"].startswith("The rest of the last dose. Poractant alfa, ")
    early = options["poractant-alfa early"]
    assert early.startswith("Early, if a senior orders it and says why. Poractant alfa, ")
    assert find_row(opened, "surfactant").note.endswith("; see Order")
    assert find_row(opened, "atropine").note == "", "a line that is not blocked says nothing of it"
