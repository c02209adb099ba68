"""Vials and devices in hand, over a real store: typed, scanned, refused, out of date at midnight.

The product numbers begin with 952, which GS1 keeps for examples: none is a real product's.
"""

from pathlib import Path

import pytest
from workstation_scene import Clock, MakeDesk, answer_all, check_all, find_row, list_lines, start, tick_all

from prepkit.app.open_preparation import OpenPreparation
from prepkit.app.workstation import Workstation
from prepkit.view.batches import InHandView
from prepkit.view.models import Sign

SURFACTANT, ATROPINE, DEVICE, LARGER = "09524000000002", "9524000000019", "09524000000026", "09524000000033"
ASKED = ["airway-device", "surfactant", "atropine"]
GS = "\x1d"


@pytest.fixture
def asking_ward(ward_file: Path) -> Path:
    """The demo ward, with product numbers of no real product, that wants batch and expiry."""
    text = ward_file.read_text("utf-8")
    text = text.replace('air = "0.5 mL"', 'air = "0.5 mL"\nin_hand = true', 1)
    text = text.replace('holds = ["1.5 mL", "3 mL"]', f'holds = ["1.5 mL", "3 mL"]\ngtin = ["{SURFACTANT}"]', 1)
    text = text.replace('use = ["atropine-50"]', f'use = ["atropine-50"]\ngtin = ["{ATROPINE}"]', 1)
    for size, gtin in (("1", DEVICE), ("1.5", LARGER)):
        text += f'\n[[device]]\nline = "airway-device"\nsize = "{size}"\ngtin = ["{gtin}"]\n'
    ward_file.write_text(text, "utf-8")
    return ward_file


def write_code(gtin: str, expiry: str = "271231", batch: str = "AB12") -> str:
    return f"01{gtin.zfill(14)}17{expiry}10{batch}"


def look(opened: OpenPreparation, line: str) -> InHandView:
    view = opened.batches.show(line)
    assert view is not None
    return view


def finish(opened: OpenPreparation) -> None:
    for line, gtin in zip(ASKED, (DEVICE, SURFACTANT, ATROPINE), strict=True):
        assert opened.batches.scan(line, write_code(gtin)) == ""
    tick_all(opened)
    answer_all(opened)


def test_a_ward_that_does_not_ask_is_not_asked_of(desk: Workstation) -> None:
    opened = start(desk)
    assert opened.batches.show("surfactant") is None
    assert "asks for no batch" in opened.batches.give("surfactant", "AB12", "2027-12")
    assert opened.lines.tick("surfactant") == ""


def test_exactly_medicines_and_labelled_devices_are_asked_for(asking_ward: Path, desk: Workstation) -> None:
    opened = start(desk)
    asked = [line for line in list_lines(opened) if opened.batches.show(line) is not None]
    assert sorted(asked) == sorted(ASKED)


def test_the_tick_waits_until_batch_and_expiry_are_typed(asking_ward: Path, desk: Workstation) -> None:
    opened = start(desk)
    before = opened.lines.show_line("surfactant")
    assert before is not None
    assert before.tick.refusal == "Give batch and expiry of what is in your hand first."
    assert look(opened, "surfactant").is_missing
    assert look(opened, "surfactant").name == "Poractant alfa"
    assert "give batch and expiry" in opened.lines.tick("surfactant")
    assert opened.batches.give("surfactant", "AB12", "2027-12") == ""
    view = look(opened, "surfactant")
    assert not view.is_missing
    assert [(row.show, row.word, row.note) for row in view.rows] == [
        ("batch AB12, in date to 2027-12-31", "typed RA at 03:00", "")
    ]
    assert opened.lines.tick("surfactant") == ""
    assert find_row(opened, "surfactant").sign is Sign.DONE


def test_a_scan_of_the_wards_own_product_is_taken_and_is_there_after_a_restart(
    asking_ward: Path, make_desk: MakeDesk
) -> None:
    opened = start(make_desk())
    assert opened.batches.scan("surfactant", f"]d201{SURFACTANT}21S7{GS}1727120010AB12\r") == ""
    assert opened.batches.scan("airway-device", write_code(DEVICE)) == ""
    again = make_desk("KM").resume(opened.session.prep)
    assert not isinstance(again, str)
    (row,) = look(again, "surfactant").rows
    assert (row.show, row.word) == ("batch AB12, serial S7, in date to 2027-12-31", "scanned RA at 03:00")
    assert again.lines.tick("airway-device") == ""


@pytest.mark.parametrize(
    ("line", "code", "said"),
    [
        ("surfactant", write_code(ATROPINE), "this is Atropine, and Poractant alfa is wanted here"),
        ("airway-device", write_code(LARGER), "this is Supraglottic airway, size 1.5, and Supraglottic airway, size 1"),
        ("surfactant", write_code("09524000000040"), "not in the ward's stock list for Poractant alfa"),
        ("surfactant", write_code(SURFACTANT, expiry="261124"), "Out of date: batch AB12 was in date until 2026-11-24"),
        ("surfactant", write_code(SURFACTANT, batch="AB21C"), "two ways"),
        ("surfactant", "\x1b[2J", "U+001B"),
        ("surfactant", "", "Nothing was scanned"),
        ("no-such-line", write_code(SURFACTANT), "no longer on the list"),
    ],
)
def test_a_scan_that_cannot_be_taken_is_refused_and_nothing_is_recorded(
    asking_ward: Path, desk: Workstation, line: str, code: str, said: str
) -> None:
    opened = start(desk)
    seq = len(desk.store.read(opened.session.prep))
    assert said in opened.batches.scan(line, code)
    assert len(desk.store.read(opened.session.prep)) == seq


def test_a_vial_is_good_on_its_last_day_and_shuts_the_gate_at_midnight(
    asking_ward: Path, desk: Workstation, clock: Clock
) -> None:
    opened = start(desk)
    assert opened.batches.scan("surfactant", write_code(SURFACTANT, expiry="261125", batch="OLD")) == ""
    finish(opened)
    check_all(opened)
    assert opened.ready.show_ready().is_open
    clock.move(hours=20, minutes=59)
    assert opened.ready.show_ready().is_open
    clock.move(minutes=1)
    assert opened.ready.show_ready().missing == (
        "Surfactant: out of date, batch OLD was in date until 2026-11-25: take another one",
    )
    assert "Not ready yet" in opened.ready.read_aloud()
    assert look(opened, "surfactant").rows[0].note.startswith("out of date")
    assert opened.batches.put_back("surfactant") == ""
    assert find_row(opened, "surfactant").sign is Sign.TO_DO
    assert opened.batches.scan("surfactant", write_code(SURFACTANT)) == ""
    assert opened.lines.tick("surfactant") == ""
    assert opened.ready.read_aloud() == ""


def test_another_weight_asks_for_the_vial_again(asking_ward: Path, desk: Workstation) -> None:
    opened = start(desk)
    finish(opened)
    assert opened.baby.give_fact("birth_weight", "1600") == ""
    assert look(opened, "surfactant").is_missing
    assert not look(opened, "airway-device").is_missing
    assert "give batch and expiry" in opened.lines.tick("surfactant")


def test_a_ward_that_begins_to_ask_shuts_the_gate_on_lines_ticked_before(desk: Workstation, ward_file: Path) -> None:
    opened = start(desk)
    tick_all(opened)
    answer_all(opened)
    check_all(opened)
    assert opened.ready.show_ready().is_open
    text = ward_file.read_text("utf-8").replace('air = "0.5 mL"', 'air = "0.5 mL"\nin_hand = true', 1)
    ward_file.write_text(text, "utf-8")
    assert opened.lines.take_news() == ""
    missing = opened.ready.show_ready().missing
    assert "Surfactant: give batch and expiry of what was used" in missing
    assert len(missing) == len(ASKED)
    for line in ASKED:
        assert opened.batches.give(line, "AB12", "2027-12-31") == ""
    assert opened.ready.show_ready().is_open
    assert "lists no product number" in opened.batches.scan("surfactant", write_code(SURFACTANT))


def test_a_line_set_aside_needs_nothing_in_hand(asking_ward: Path, desk: Workstation) -> None:
    opened = start(desk)
    assert opened.lines.set_aside("atropine", "not wanted by the team") == ""
    assert "set aside" in opened.batches.give("atropine", "AB12", "2027-12")
    assert not any("Atropine" in words for words in opened.ready.show_ready().missing)


def test_a_syringe_kept_longer_than_the_ward_keeps_one_is_drawn_up_afresh(
    make_desk: MakeDesk, ward_file: Path, clock: Clock
) -> None:
    text = ward_file.read_text("utf-8")
    ward_file.write_text(text.replace("deviation =", 'drawn_up = "4 h"\ndeviation =', 1), "utf-8")
    opened = start(make_desk())
    assert opened.lines.tick("atropine") == ""
    assert opened.lines.tick("drape") == ""
    clock.move(hours=4)
    stale = "Atropine: drawn up at 03:00, more than 4 h ago: draw it up afresh"
    assert stale not in opened.ready.show_ready().missing
    clock.move(minutes=1)
    assert stale in opened.ready.show_ready().missing
    assert opened.handover.show_handover().stale == (stale,)
    assert opened.lines.tick("atropine") == ""
    assert opened.lines.tick("atropine") == ""
    assert stale not in opened.ready.show_ready().missing


def test_a_medicine_out_of_the_fridge_for_too_long_is_said(make_desk: MakeDesk, clock: Clock, tmp_path: Path) -> None:
    """24 h: prescribing information, clinical reference section 2 (warmed, unopened, back once within 24 h)."""
    opened = start(make_desk())
    assert opened.lines.tick("surfactant") == ""
    clock.move(hours=24)
    assert not any("fridge" in words for words in opened.ready.show_ready().missing)
    clock.move(minutes=1)
    assert any(
        words.startswith("Surfactant: out of the fridge since 03:00") for words in opened.ready.show_ready().missing
    )
