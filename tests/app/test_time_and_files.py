"""What time and changed files do to a preparation in progress."""

import shutil
from pathlib import Path

import pytest
from workstation_scene import KIT, WARD, Clock, MakeDesk, answer_all, check_all, find_row, list_lines, start, tick_all

from prepkit.app.workstation import Workstation
from prepkit.errors import StoreUnfit
from prepkit.paths import find_shipped
from prepkit.view.models import Sign


def rewrite(path: Path, old: str, new: str) -> None:
    text = path.read_text("utf-8")
    assert old in text
    path.write_text(text.replace(old, new), "utf-8")


def test_an_approval_that_runs_out_at_midnight_unticks_the_device(
    desk: Workstation, ward_file: Path, clock: Clock
) -> None:
    rewrite(ward_file, "review_by = 2027-03-01", "review_by = 2026-11-25")
    opened = start(desk)
    assert opened.baby.give_fact("weight_now", "not weighed since") == ""
    tick_all(opened)
    clock.move(hours=20, minutes=59)
    assert not opened.session.refresh()
    assert find_row(opened, "airway-device").sign is Sign.DONE
    clock.move(minutes=2)
    assert opened.session.refresh()
    assert find_row(opened, "airway-device").sign is Sign.BLOCKED
    assert "due for review" in find_row(opened, "airway-device").note
    assert find_row(opened, "surfactant").sign is Sign.DONE


def test_a_tick_made_as_midnight_passes_is_refused_when_the_line_has_gone_stale(
    desk: Workstation, ward_file: Path, clock: Clock
) -> None:
    rewrite(ward_file, "review_by = 2027-03-01", "review_by = 2026-11-25")
    opened = start(desk)
    clock.move(hours=21, minutes=1)
    assert "blocked" in opened.lines.tick("airway-device")


def test_a_second_dose_is_blocked_before_its_interval_and_opens_when_it_has_passed(
    desk: Workstation, clock: Clock
) -> None:
    opened = start(desk, born="2026-11-24 20:00")
    assert opened.baby.give_fact("earlier_surfactant", "poractant-alfa, 200 mg/kg, 2026-11-24 20:30") == ""
    row = find_row(opened, "surfactant")
    assert row.sign is Sign.BLOCKED
    assert "may be given from 08:30 on 25 Nov" in row.note
    clock.move(hours=5, minutes=31)
    assert opened.session.refresh()
    row = find_row(opened, "surfactant")
    assert row.sign is Sign.TO_DO
    assert row.show == "1.8 mL"


def test_a_changed_ward_file_is_announced_and_taken_only_when_asked(desk: Workstation, ward_file: Path) -> None:
    opened = start(desk)
    tick_all(opened)
    rewrite(ward_file, 'air = "0.5 mL"', 'air = "1 mL"')
    rewrite(ward_file, 'marks = "0.2 mL"\nleast = "2 mL"', 'marks = "0.5 mL"\nleast = "2 mL"')
    assert opened.lines.show_list().news == "The ward file changed since this was started."
    assert find_row(opened, "surfactant").show == "3.6 mL"
    assert opened.lines.take_news() == ""
    assert opened.lines.show_list().news == ""
    assert find_row(opened, "surfactant").show == "3.5 mL"
    changed = [line for line in list_lines(opened) if find_row(opened, line).sign is Sign.CHANGED]
    assert changed == ["surfactant", "surfactant-drawn-up"]


QUESTION = """
[[local]]
kits = ["surfactant-supraglottic"]
criterion = [
    { id = "one-pair", text = "No hands free", otherwise = "ask a senior", basis = "local" },
    { id = "called", text = "Day team called", otherwise = "advice", basis = "local" },
]
"""


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("No hands free", "Hands free"),
        ('"No hands free", otherwise = "ask a senior"', '"No hands free", otherwise = "advice"'),
        ('"No hands free"', '"No hands free", where = { birth_weight = { below = "9 kg" } }'),
    ],
)
def test_an_answer_counts_for_its_question_alone_and_not_for_one_that_was_turned_round(
    desk: Workstation, ward_file: Path, old: str, new: str
) -> None:
    ward_file.write_text(ward_file.read_text("utf-8") + QUESTION, "utf-8")
    opened = start(desk)
    assert opened.baby.answer("one-pair", "no") == ""
    assert opened.baby.touch("called") == ""
    assert opened.baby.answer("malformation", "no") == ""
    rewrite(ward_file, 'air = "0.5 mL"', 'air = "1 mL"')
    assert opened.lines.take_news() == ""
    assert opened.session.state.answers.keys() == {"one-pair", "malformation"}, "both are asked as they were"
    rewrite(ward_file, old, new)
    assert opened.lines.take_news() == ""
    assert opened.session.state.answers.keys() == {"malformation"}
    again = desk.resume(opened.session.prep)
    assert not isinstance(again, str)
    assert again.session.state.answers.keys() == {"malformation"}
    assert again.session.state.said.keys() == {"called"}
    rewrite(ward_file, "Day team called", "Day team not called")
    assert opened.lines.take_news() == ""
    assert not opened.session.state.said


def test_a_broken_new_ward_file_is_refused_and_the_old_list_stays(desk: Workstation, ward_file: Path) -> None:
    opened = start(desk)
    ward_file.write_text("name = 3", "utf-8")
    assert "ward file cannot be used" in opened.lines.take_news()
    assert find_row(opened, "surfactant").show == "3.6 mL"
    refusal = desk.start("surfactant-supraglottic", "Cot 9")
    assert isinstance(refusal, str)
    assert f"{ward_file}:1" in refusal


def test_a_preparation_computes_from_its_own_texts_when_the_files_are_gone(
    make_desk: MakeDesk, ward_file: Path
) -> None:
    opened = start(make_desk())
    before = opened.lines.show_list().groups
    ward_file.unlink()
    row = make_desk(ward=None, who="KM").show_home().rows[0]
    again = make_desk(ward=None, who="KM").resume(row.prep)
    assert not isinstance(again, str)
    assert again.lines.show_list().groups == before


def test_warming_up_finds_what_is_wrong_with_the_files(make_desk: MakeDesk, ward_file: Path) -> None:
    desk = make_desk()
    assert not desk.warm_up()
    ward_file.write_text("name = 3", "utf-8")
    assert desk.warm_up()
    assert any("ward file is not used" in notice for notice in desk.show_home().notices)


def test_a_clock_that_steps_back_an_hour_loses_nothing(desk: Workstation, clock: Clock) -> None:
    opened = start(desk)
    assert opened.lines.tick("drape") == ""
    clock.move(hours=-1)
    assert opened.lines.tick("suction") == ""
    opened.session.refresh()
    assert find_row(opened, "drape").sign is Sign.DONE
    assert find_row(opened, "suction").sign is Sign.DONE


def test_a_ward_file_past_its_review_date_is_said_over_the_list(
    desk: Workstation, ward_file: Path, clock: Clock
) -> None:
    rewrite(ward_file, "review_by = 2027-10-31", "review_by = 2026-11-25")
    opened = start(desk)
    assert not any("due for review" in notice for notice in opened.lines.show_list().notices)
    clock.move(hours=21, minutes=1)
    assert (
        "The ward file was due for review by 25 Nov 2026: its figures may be out of date."
        in opened.lines.show_list().notices
    )


def test_a_clock_time_a_little_ahead_is_refused_and_never_taken_for_yesterdays(desk: Workstation) -> None:
    opened = start(desk)
    refusal = opened.baby.give_fact("earlier_surfactant", "poractant-alfa, 200 mg/kg, 03:02")
    assert "has not been yet by this clock (03:00)" in refusal
    assert "earlier_surfactant" not in opened.session.state.facts


def test_a_slip_of_the_year_is_refused(desk: Workstation) -> None:
    opened = start(desk)
    dose = "poractant-alfa, 200 mg/kg"
    assert "look at the day and the year" in opened.baby.give_fact("earlier_surfactant", f"{dose}, 2025-11-25 02:50")
    assert opened.baby.give_fact("earlier_surfactant", f"{dose}, 0001-01-01 00:00+23:00") != ""


def test_a_changed_ward_file_keeps_the_gate_shut_until_it_is_taken_in(desk: Workstation, ward_file: Path) -> None:
    opened = start(desk)
    tick_all(opened)
    answer_all(opened)
    check_all(opened)
    assert opened.ready.show_ready().is_open
    text = ward_file.read_text("utf-8")
    ward_file.write_text(text[: text.index("[[approval]]")], "utf-8")
    assert not opened.ready.show_ready().is_open
    assert "ward file changed" in opened.ready.read_aloud()
    assert opened.lines.take_news() == ""
    assert find_row(opened, "airway-device").sign is Sign.BLOCKED


def test_a_baby_outside_the_kits_domain_keeps_the_gate_shut(desk: Workstation) -> None:
    opened = start(desk, weight="5500", gestation="41+6")
    assert opened.baby.confirm_weight("5500", "ZZ") == ""
    view = opened.baby.show_suitability()
    assert view.verdict == "not suitable"
    said = next(row.text for row in view.facts if row.text.startswith("This kit is for"))
    assert "birth weight at least 800 g and at most 5000 g" in said
    assert "(this baby: 5500 g · 41+6)" in said


def test_a_text_too_large_to_store_is_refused_in_words(desk: Workstation, ward_file: Path) -> None:
    ward_file.write_text(ward_file.read_text("utf-8") + "\n" * 990_000, "utf-8")
    with pytest.raises(StoreUnfit, match="cannot be stored"):
        desk.start("surfactant-supraglottic", "Cot 4")


def write_kit(folder: Path, edit: str = "") -> Path:
    """A shipped kit as a ward's own in a folder, made unusable by what is put after it."""
    path = folder / f"{KIT}.toml"
    path.write_bytes((find_shipped("kits") / path.name).read_bytes() + edit.encode())
    return path


def is_offered(desk: Workstation) -> bool:
    return next(kit for kit in desk.list_kits() if kit.id == KIT).usable


def test_a_kit_that_was_put_right_can_be_started_from_again(make_desk: MakeDesk, tmp_path: Path) -> None:
    write_kit(tmp_path)
    desk = make_desk(kits=tmp_path)
    write_kit(tmp_path, "half a li")
    assert "kit cannot be used" in str(desk.start(KIT, "Cot 9"))
    assert not is_offered(desk)
    write_kit(tmp_path)
    assert is_offered(desk)
    assert not isinstance(desk.start(KIT, "Cot 9"), str)


@pytest.fixture
def fragment(tmp_path: Path) -> Path:
    """A fragment of a ward's own kit, in the place of the shipped one."""
    write_kit(tmp_path)
    (tmp_path / "fragments").mkdir()
    shipped = find_shipped("kits") / "fragments" / "monitoring.toml"
    return Path(shutil.copyfile(shipped, tmp_path / "fragments" / shipped.name))


def test_a_changed_fragment_is_announced_and_taken_as_a_changed_kit_is(make_desk: MakeDesk, fragment: Path) -> None:
    opened = start(make_desk(kits=fragment.parents[1]))
    tick_all(opened)
    assert opened.lines.show_list().news == ""
    rewrite(fragment, 'low = "91 %"', 'low = "90 %"')
    assert opened.lines.show_list().news == "The kit changed since this was started."
    assert "91" in find_row(opened, "spo2-target").show
    assert opened.lines.take_news() == ""
    assert opened.lines.show_list().news == ""
    assert "90" in find_row(opened, "spo2-target").show
    assert [line for line in list_lines(opened) if find_row(opened, line).sign is Sign.CHANGED] == ["spo2-target"]


def test_a_fragment_that_was_put_right_lets_its_kit_be_started_from_again(make_desk: MakeDesk, fragment: Path) -> None:
    whole = fragment.read_bytes()
    desk = make_desk(kits=fragment.parents[1])
    fragment.write_text("half a li", "utf-8")
    said = str(desk.start(KIT, "Cot 9"))
    assert "kit cannot be used" in said
    assert f"{fragment}:1" in said
    assert not is_offered(desk)
    fragment.write_bytes(whole)
    assert is_offered(desk)
    assert not isinstance(desk.start(KIT, "Cot 9"), str)


def test_what_was_found_wrong_in_the_background_counts_for_the_file_as_it_was(
    make_desk: MakeDesk, tmp_path: Path
) -> None:
    write_kit(tmp_path, "half a li")
    desk = make_desk(kits=tmp_path)
    found = desk.files.find_problems()
    write_kit(tmp_path)
    desk.files.note_problems(found)
    assert is_offered(desk)


def test_a_ward_file_that_was_put_right_is_called_wrong_no_more(desk: Workstation, ward_file: Path) -> None:
    whole = ward_file.read_bytes()
    ward_file.write_text("name = 3", "utf-8")
    assert desk.warm_up()
    ward_file.write_text("name = 4 # still wrong", "utf-8")
    assert any("ward file is not used" in notice for notice in desk.show_home().notices)
    ward_file.write_bytes(whole)
    assert desk.show_home().notices == ()


def test_a_mark_of_byte_order_hides_no_name(make_desk: MakeDesk, ward_file: Path, tmp_path: Path) -> None:
    (tmp_path / "kits").mkdir()
    kit = write_kit(tmp_path / "kits")
    for path in (kit, ward_file):
        path.write_bytes(b"\xef\xbb\xbf" + path.read_bytes())
    desk = make_desk(kits=kit.parent)
    plain = make_desk(ward=WARD)
    assert desk.show_home().ward == plain.show_home().ward
    assert desk.list_kits() == plain.list_kits()


def test_a_new_preparation_offers_what_the_ward_file_puts_first_then_the_others_by_id(
    desk: Workstation, ward_file: Path
) -> None:
    def offered() -> list[str]:
        return [kit.id.removeprefix("surfactant-") for kit in desk.list_kits()]

    assert offered() == ["supraglottic", "brief-ventilation", "thin-catheter"]
    both = '["surfactant-thin-catheter", "surfactant-supraglottic"]'
    rewrite(ward_file, '["surfactant-supraglottic"]', both)
    assert offered() == ["thin-catheter", "supraglottic", "brief-ventilation"]
    rewrite(ward_file, f"kits_first = {both}\n", "")
    assert offered() == ["brief-ventilation", "supraglottic", "thin-catheter"]


@pytest.mark.parametrize("spoilt", ["kits_first = 3", "kits_first = [[1], 2]", "kits_first ="])
def test_a_ward_file_with_a_slip_in_it_still_lets_every_kit_be_seen(
    desk: Workstation, ward_file: Path, spoilt: str
) -> None:
    rewrite(ward_file, 'kits_first = ["surfactant-supraglottic"]', spoilt)
    assert [kit.id for kit in desk.list_kits()] == sorted(kit.id for kit in desk.list_kits())
    assert len(desk.list_kits()) == 3
