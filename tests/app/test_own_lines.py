"""A ward's own lines and criteria from the file to the gate. Every figure in them is invented."""

import json
from pathlib import Path

import pytest
from workstation_scene import KIT, answer_all, check_all, find_row, start, tick_all

from prepkit.app.workstation import Workstation
from prepkit.cli.main import main
from prepkit.view.models import Sign

LOCAL = f'\n[[local]]\nkits = ["{KIT}"]\n'
ATROPINE = """
[[local.line]]
kind = "dose"
weight = "birth"
id = "atropine"
group = "medicines"
name = "Atropine"
route = "intravenous"
products = ["atropine-600"]
dose = "{dose} microgram/kg"
most = "600 microgram"
how = ["Through the line checked as patent, then the flush."]
basis = "local"
"""
QUESTION = """
[[local.criterion]]
id = "senior-far"
text = "No senior within call"
otherwise = "not suitable"
basis = "local"
"""
APPROVED = """
[[widening]]
what = "{what}"
kits = ["surfactant-supraglottic"]
reference = "HW-31 (invented)"
approver = "lead consultant"
approved_on = 2026-03-02
review_by = {end}
"""


def write(path: Path, *parts: str) -> None:
    path.write_text(path.read_text("utf-8") + "".join(parts), "utf-8")


def test_the_gate_stays_shut_on_an_unapproved_wider_line_and_says_why(desk: Workstation, ward_file: Path) -> None:
    write(ward_file, LOCAL, ATROPINE.format(dose=25))
    opened = start(desk)
    row = find_row(opened, "atropine")
    reason = "wider than the kit allows (the kit's is 29 microgram due, 0.58 mL), and no approval on file"
    assert (row.sign, row.show, row.note) == (Sign.BLOCKED, "", reason)
    assert reason in opened.lines.tick("atropine")
    ready = opened.ready.show_ready()
    assert not ready.is_open
    assert any("Atropine" in sentence and "no approval on file" in sentence for sentence in ready.missing)


def test_an_approved_line_is_ticked_read_aloud_with_the_kits_own_and_falls_with_its_approval(
    desk: Workstation, ward_file: Path
) -> None:
    write(ward_file, LOCAL, ATROPINE.format(dose=25), APPROVED.format(what="atropine", end="2027-03-01"))
    opened = start(desk)
    answer_all(opened)
    tick_all(opened)
    check_all(opened)
    aloud = next(sentence for sentence in opened.ready.show_ready().summary if sentence.startswith("Atropine"))
    # 25 microgram/kg of 1450 g is 36.25 microgram: 0.725 mL of 50 microgram/mL; the kit's 20 microgram/kg is 0.58 mL.
    said = "Atropine: 0.73 mL; ward's own value, on ward approval HW-31 (invented); the kit's: 0.58 mL;"
    assert aloud.startswith(said)
    ward_file.write_text(ward_file.read_text("utf-8").replace("by = 2027-03-01\n", "by = 2026-11-24\n"), "utf-8")
    assert opened.lines.take_news() == ""
    row = find_row(opened, "atropine")
    assert row.sign is Sign.BLOCKED
    assert row.note.endswith("and the ward's approval HW-31 (invented) was due for review by 24 Nov 2026")


def test_a_question_of_the_wards_own_is_asked_before_and_after_there_is_a_list(
    desk: Workstation, ward_file: Path
) -> None:
    write(ward_file, LOCAL, QUESTION)
    opened = desk.start(KIT, "Cot 4")
    assert not isinstance(opened, str), opened
    assert "senior-far" in {row.id for row in opened.baby.show_suitability().against}
    opened = start(desk, cot="Cot 5")
    row = next(row for row in opened.baby.show_suitability().against if row.id == "senior-far")
    assert row.text == "No senior within call (added by the ward)"
    assert any("No senior within call" in sentence for sentence in opened.ready.show_ready().missing)
    assert opened.baby.answer("senior-far", "yes") == ""
    assert opened.baby.show_suitability().verdict == "not suitable"


def test_the_command_line_answers_a_question_of_the_wards_own_and_prints_the_kits_own_value(
    ward_file: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    write(ward_file, LOCAL, ATROPINE.format(dose=15), QUESTION)
    facts = ["--birth-weight", "1450", "--birth-gestation", "30+2", "--set", "senior-far=no"]
    assert main(["list", KIT, *facts, "--ward", str(ward_file), "--format", "json"]) == 0
    shape = json.loads(capsys.readouterr().out)
    verdicts = {reason["criterion"]: reason["verdict"] for reason in shape["reasons"]}
    assert verdicts["senior-far"] == "met"
    lines = {line["id"]: line for line in shape["lines"]}
    assert lines["atropine"]["kits_own"] == "0.58 mL"
    assert lines["drape"]["kits_own"] is None
    assert main(["chart", KIT, "--ward", str(ward_file), "--from", "1450", "--to", "1450"]) == 0
    assert "ward's own value; the kit's: 0.58 mL" in " ".join(capsys.readouterr().out.split())


def test_the_command_line_tells_what_is_wrong_in_the_wards_own_lines(
    ward_file: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    write(ward_file, LOCAL, ATROPINE.format(dose=15).replace('"medicines"', '"medicine"'))
    assert main(["check", str(ward_file)]) == 3
    said = capsys.readouterr().out
    row = ward_file.read_text("utf-8").split("\n").index('group = "medicine"') + 1
    assert f'ward.toml:{row}: line "atropine": no group "medicine" is declared' in said


def test_a_ward_that_restates_a_line_keeps_what_its_tick_says_of_a_fact(desk: Workstation, ward_file: Path) -> None:
    trial = '[[local.line]]\nkind = "trial"\nid = "line-flushed"\ngroup = "trials"\nname = "Line flushed"\n'
    write(ward_file, LOCAL, f'{trial}goes_with = "atropine"\nhow = ["Flush it."]\nbasis = "local"\n')
    opened = start(desk)
    assert opened.lines.tick("line-flushed") == ""
    assert find_row(opened, "line-flushed").note == "but Line checked as patent: no"
