"""The worked night of `demo/`: what it keeps and prints, counted again here by hand."""

import json
from pathlib import Path
from types import ModuleType


def test_every_step_of_the_night_is_one_that_is_known(night: ModuleType) -> None:
    known = {*night.ACTIONS, *night.CHECKER_ACTIONS, "start", "start for practice"}
    assert {step.do for step in night.STEPS} <= known


def test_the_night_is_prepared_checked_given_recovered_and_closed(papers: Path) -> None:
    text = (papers / "cot-4.txt").read_text("utf-8")
    # By hand: 3.6 x 80 / 1.45 = 198.6 mg/kg; 0.4 / 3.6 = 11.1 %.
    for words in (
        "Cot 4 · 1450 g · 30+2 · born 25 Nov 2026, 0–2 h old",
        "✓ Surfactant: 3.6 mL [ticked RA 02:",
        "differs (3.4 mL; open 3 mL + 1.5 mL), settled RA 02:",
        "worked again together: 3.625 mL, so 3.6 mL",
        (
            "Checked blind by TO: 5 of 5 lines."
            " TO read birth weight 1450 g, day of birth 2026-11-25 off the cot and the notes."
        ),
        "Checker read birth weight 1450 g: agrees (TO)",
        "290 mg due, 288 mg in the syringe, 288 mg given (3.6 mL × 80 mg/mL), which is 198.6 mg/kg (1450 g).",
        "Share recovered: 0.4 mL ÷ 3.6 mL given = 11.1 % of the dose.",
        "Outcome: given in full",
        "Complications: none",
        "Signed: KM",
        "[not needed RA 02:03: lies in the pack]",
    ):
        assert words in " ".join(text.split()), words


def test_the_audit_of_the_night_has_its_two_closed_records_and_not_the_practice(papers: Path) -> None:
    rows = (papers / "audit.txt").read_text("utf-8").splitlines()
    said = {row.strip().rsplit("  ", 1)[0].strip(): row.rsplit("  ", 1)[1] for row in rows if "  " in row.strip()}
    assert rows[0] == "Audit, all days: 2 closed records"
    for name in (
        "in at the first attempt",
        "share recovered over the ward's line",
        "second or later dose",
        "without a complication",
        "with a mismatch caught by the second check",
        "with an override",
    ):
        assert said[name] == "1 of 2 (50 %)", name
    # By hand: 198.62 (above) and 2.6 x 80 / 2.14 = 97.20 mg/kg; the mean of the two is 147.91.
    assert said["dose given"] == "median 147.9 mg/kg (97.2–198.6, 2 known)"


def test_the_night_verifies(papers: Path) -> None:
    rows = (papers / "verify.txt").read_text("utf-8").splitlines()
    assert rows[0].endswith("events, each following the one before it.")
    assert rows[1].endswith("worked out again, each the same.")


def test_who_did_what_is_in_everybodys_own_list(papers: Path) -> None:
    mine = " ".join((papers / "mine-RA.txt").read_text("utf-8").split())
    assert mine.startswith("RA: 2 preparations · prepared 1 · checked 0 · given 2")
    assert "Cot 2 · Surfactant, supraglottic · given, read aloud · prepared by KM; checked by TO" in mine
    learner = (papers / "mine-LB.txt").read_text("utf-8")
    assert learner.startswith("LB: 0 preparations")
    assert "PRACTICE: not a real baby: 1 preparation · prepared 1" in learner


def test_a_paper_says_that_it_is_practice_on_top_and_the_others_do_not(papers: Path) -> None:
    assert '<p class="practice">PRACTICE: not a real baby</p>' in (papers / "cot-9-practice.html").read_text("utf-8")
    for name in ("cot-4.html", "cot-4.txt", "cot-4.json", "cot-4.fhir.json", "audit.html"):
        assert "PRACTICE" not in (papers / name).read_text("utf-8")


def test_the_json_has_the_list_and_the_record_of_one_and_the_same_preparation(papers: Path) -> None:
    shape = json.loads((papers / "cot-4.json").read_text("utf-8"))
    lines = [line for group in shape["record"]["groups"] for line in group["lines"]]
    assert [line["id"] for line in lines] == [line["id"] for line in shape["list"]["lines"]]
    assert shape["record"]["prints"][0]["sha256"] == shape["list"]["kit"]["sha256"]
