"""`prepkit record`: which preparation, what is in it in every format, and what is never shown."""

import html
import json

import pytest
from jsonschema import Draft202012Validator  # type: ignore[import-untyped]
from papers_scene import KIT, NOW, WARD, Run

from prepkit.app.files import WorkstationFiles
from prepkit.app.reports import find_stored_preparations
from prepkit.app.workstation import Workstation
from prepkit.documents.audit import make_audit_row
from prepkit.documents.make_record import make_record
from prepkit.documents.schemas import write_record_schema
from prepkit.preparation.recompute import work_out_as_listed
from prepkit.store import SqliteStore

FORMATS = ("text", "html", "json", "fhir")
# By hand, for 1990 g at birth and 1600 g now: 200 mg/kg x 1.99 kg / 80 mg/mL = 4.975 mL, marks every 0.2 mL;
# 20 microgram/kg x 1.6 kg / 50 microgram/mL = 0.64 mL.
ENTERED: dict[str, tuple[str, dict[str, str]]] = {
    "airway-device": ("1", {}),
    "surfactant": ("5", {"3 mL": "1", "1.5 mL": "2"}),
    "catheter-depth": ("15", {}),
    "atropine": ("0.64", {"1 mL": "1"}),
    "sucrose": ("0.2", {}),
}


@pytest.fixture
def desk(store: SqliteStore) -> Workstation:
    return Workstation(store, WorkstationFiles(WARD, None), who="RA", clock=lambda: NOW)


def start(desk: Workstation, cot: str, weight: str = "1450", *, practice: bool = False) -> str:
    opened = desk.start(KIT, cot, practice=practice)
    assert not isinstance(opened, str)
    for fact, typed in (("birth_weight", weight), ("birth_gestation", "30+2"), ("born", "today")):
        assert opened.baby.give_fact(fact, typed) == ""
    return opened.session.prep


def test_a_cot_label_or_an_id_names_a_preparation_closed_ones_too(run: Run) -> None:
    by_label = json.loads(run("record", "cot  4", "--format", "json").out)["record"]
    by_id = json.loads(run("record", by_label["prep"], "--format", "json").out)["record"]
    assert {**by_label, "printed": ""} == {**by_id, "printed": ""}
    assert run("record", "Cot 9").code == 0, "stood down"


def test_a_label_that_several_have_lists_them_and_an_unknown_one_says_so(run: Run, desk: Workstation) -> None:
    prep = start(desk, "Cot 4")
    done = run("record", "Cot 4")
    assert (done.code, done.out) == (2, "")
    assert '2 preparations have the label "Cot 4"' in done.err
    assert f"{prep}  Cot 4 · Surfactant, supraglottic · started" in done.err
    assert run("record", "Cot 77").err.startswith('prepkit: there is no preparation "Cot 77"')


def test_a_store_that_is_not_there_is_not_made(run: Run, tmp_path_factory: pytest.TempPathFactory) -> None:
    path = tmp_path_factory.mktemp("none") / "nothing.sqlite"
    done = run("record", "Cot 4", "--store", str(path))
    assert done.code == 4
    assert "is not there" in done.err
    assert not path.exists()


@pytest.mark.parametrize("form", FORMATS)
def test_while_a_second_check_is_under_way_no_amount_is_printed(run: Run, desk: Workstation, form: str) -> None:
    prep = start(desk, "Cot 5")
    opened = desk.resume(prep)
    assert not isinstance(opened, str)
    assert opened.check.begin("TO") == ""
    done = run("record", "Cot 5", "--format", form)
    assert (done.code, done.out) == (1, "")
    assert "TO is checking it blind" in done.err


def test_no_record_is_made_in_the_middle_of_a_check_whoever_asks(store: SqliteStore, desk: Workstation) -> None:
    opened = desk.resume(start(desk, "Cot 5"))
    assert not isinstance(opened, str)
    assert opened.check.begin("TO") == ""
    (kept,) = find_stored_preparations(store, "Cot 5")
    worked = work_out_as_listed(kept.events)
    assert worked is not None
    with pytest.raises(ValueError, match="no amount is shown"):
        make_record(kept.prep, kept.events, kept.state, worked, kept.state.last.at, last_hash="", recomputed="")


@pytest.mark.parametrize("form", FORMATS)
def test_every_format_of_a_practice_preparation_says_so(run: Run, desk: Workstation, form: str) -> None:
    start(desk, "Cot 6", practice=True)
    assert "PRACTICE: not a real baby" in run("record", "Cot 6", "--format", form).out
    start(desk, "Cot 7")
    assert "PRACTICE" not in run("record", "Cot 7", "--format", form).out


@pytest.mark.parametrize("form", ["text", "html", "json"])
def test_a_dose_on_the_record_says_apart_what_is_due_and_in_the_syringe(run: Run, form: str) -> None:
    """By hand: 3.6 mL x 80 mg/mL = 288 mg; / 1.45 kg = 198.6, shown as 199 mg/kg."""
    said = html.unescape(run("record", "Cot 4", "--format", form).out).replace("\u00a0", " ")
    assert "in the syringe 288 mg, 199 mg/kg" in said
    assert "due 200 mg/kg" in said
    the_record, _, _ = said.partition('"list": {')  # in JSON the list follows, in its own words
    assert "(due 200)" not in the_record


def test_a_ticked_line_names_what_was_laid_out_with_it(run: Run) -> None:
    assert "      + water-based lubricant" in run("record", "Cot 4", "--format", "text").out.splitlines()
    groups = json.loads(run("record", "Cot 4", "--format", "json").out)["record"]["groups"]
    (device,) = [line for group in groups for line in group["lines"] if line["id"] == "airway-device"]
    assert device["mark"] == "ticked"
    assert "water-based lubricant" in device["parts"]


def test_the_json_is_held_to_its_schema(run: Run) -> None:
    validator = Draft202012Validator(json.loads(write_record_schema()))
    for cot in ("Cot 4", "Cot 2", "Cot 9"):
        shape = json.loads(run("record", cot, "--format", "json").out)
        assert [error.message for error in validator.iter_errors(shape)] == []
    shape["record"]["batch"] = "A1"
    assert not validator.is_valid(shape)


def test_what_people_typed_is_escaped_in_html_and_cannot_steer_a_terminal(run: Run, desk: Workstation) -> None:
    prep = start(desk, "<b>&Cot")
    opened = desk.resume(prep)
    assert not isinstance(opened, str)
    assert opened.ready.stand_down("<script>alert('x')</script>") == ""
    page = run("record", prep, "--format", "html").out
    assert "<script" not in page
    assert "&lt;b&gt;&amp;Cot" in page
    assert "<script>alert" in run("record", prep).out


def test_a_preparation_whose_list_is_withheld_says_why_and_shows_no_amount(run: Run, desk: Workstation) -> None:
    start(desk, "Cot 8", weight="4450")
    text = run("record", "Cot 8")
    assert text.code == 0
    assert "No list: No amount is shown yet." in text.out
    assert json.loads(run("record", "Cot 8", "--format", "json").out)["list"] is None
    assert " mL" not in text.out


def test_a_record_says_what_it_still_needs(run: Run, desk: Workstation) -> None:
    start(desk, "Cot 8")
    out = run("record", "Cot 8").out
    assert "Not closed yet" in out
    assert "Still to record: Outcome: not recorded" in out


def test_a_record_says_both_weights_each_fact_read_and_each_weight_entered_again(run: Run, desk: Workstation) -> None:
    opened = desk.resume(start(desk, "Cot 8", weight="1990"))
    assert not isinstance(opened, str)
    assert opened.baby.give_fact("born", "2026-11-23") == opened.baby.give_fact("weight_now", "1600") == ""
    assert opened.baby.confirm_weight("1600", second="KM") == ""
    assert opened.check.begin("TO") == ""
    assert opened.check.enter_fact("birth_weight", "1990") == opened.check.enter_fact("weight_now", "1600") == ""
    while (field := opened.check.show_check().field) is not None:
        assert opened.check.enter(field.line, *ENTERED[field.line]) == ""
    text = " ".join(run("record", "Cot 8").out.split())
    for words in (
        "Cot 8 · birth 1990, now 1600 g · 30+2, today 30+4 · born 23 Nov 2026, 33–57 h old · weighed 25 Nov",
        "Birth weight: 1990 g (RA ",
        "Weight now: 1600 g on 25 Nov (RA ",
        "Unlikely weight now 1600 g on 2026-11-25 entered again by RA and KM ",
        "Unlikely weight entered again by KM too: weight now 1600 g on 2026-11-25 (RA)",
        "TO read birth weight 1990 g, weight now 1600 g on 2026-11-25 off the cot and the notes.",
        "Checker read birth weight 1990 g: agrees (TO)",
        "Checker read weight now 1600 g on 2026-11-25: agrees (TO)",
    ):
        assert words in text, words
    page = run("record", "Cot 8", "--format", "html").out
    assert "birth 1990, now 1600\u00a0g · 30+2, today 30+4" in page
    record = json.loads(run("record", "Cot 8", "--format", "json").out)
    assert (record["list"]["baby"]["birth_weight_g"], record["list"]["baby"]["weight_now_g"]) == (1990, 1600)
    assert "Unlikely weight now" in record["record"]["confirmed"]


@pytest.mark.parametrize("fact", ["birth_weight", "weight_now", "born"])
def test_a_fact_of_the_baby_that_a_checker_reads_otherwise_counts_as_a_mismatch(
    run: Run, desk: Workstation, store: SqliteStore, fact: str
) -> None:
    opened = desk.resume(start(desk, "Cot 8"))
    assert not isinstance(opened, str)
    given = {"born": "yesterday", "weight_now": "not weighed since" if fact == "born" else "1400"}
    assert [opened.baby.give_fact(name, typed) for name, typed in given.items()] == ["", ""]
    assert opened.check.begin("TO") == ""
    right = {"birth_weight": "1450", **given}
    for name in opened.session.state.facts_to_read:
        assert opened.check.enter_fact(name, {"born": "today"}.get(name, "1390") if name == fact else right[name]) == ""
        if name == fact:
            break
    (kept,) = find_stored_preparations(store, "Cot 8")
    worked = work_out_as_listed(kept.events)
    assert worked is not None
    assert make_audit_row(kept.events, kept.state, worked).mismatches == 1
    text = " ".join(run("record", "Cot 8").out.split())
    assert "differs, all stopped (TO)" in text
    assert "No list: TO at 09:00 read" in text, "the checker, not whoever is signed in beside them"


def test_a_line_of_a_record_says_by_which_other_weight_it_goes(run: Run, desk: Workstation) -> None:
    opened = desk.resume(start(desk, "Cot 8", weight="not known"))
    assert not isinstance(opened, str)
    assert opened.baby.give_fact("weight_now", "1310") == opened.baby.confirm_weight("1310") == ""
    said = "by the weight now: the birth weight is not known"
    assert f"      {said}\n" in run("record", "Cot 8").out
    assert said in run("record", "Cot 8", "--format", "html").out
    record = json.loads(run("record", "Cot 8", "--format", "json").out)["record"]
    assert record["baby"].startswith("birth not known, now 1310 g · 30+2")
    remarks = {line["id"]: line["remarks"] for group in record["groups"] for line in group["lines"]}
    assert remarks["surfactant"] == [said]
    assert remarks["atropine"] == []
