"""The audit, against small records counted by hand."""

import csv
import io
from datetime import date
from fractions import Fraction
from unicodedata import normalize

import pytest
from msgspec.structs import replace
from papers_scene import WARD, Run

from prepkit.app.eventlog.repository import list_preparation_ids, read_stored_preparation
from prepkit.app.files import WorkstationFiles
from prepkit.app.reports import make_ward_audit
from prepkit.app.workstation import Workstation
from prepkit.documents.audit import Audit, AuditRow, is_counted, make_audit
from prepkit.documents.audit_report import write_audit_csv, write_audit_html, write_audit_text
from prepkit.documents.bars import Bar, BarChart, compute_spread, count_words, draw_html, draw_text, make_bins
from prepkit.store import SqliteStore

PLAIN = AuditRow(
    route="supraglottic",
    first_attempt=True,
    over_line=False,
    per_kg=Fraction(200),
    is_second_dose=False,
    complications=(),
    minutes=12,
    mismatches=0,
    overrides=(),
    set_aside=0,
)
# Five invented records, counted by hand in the test below.
CASES = (
    PLAIN,
    replace(PLAIN, first_attempt=False, over_line=True, per_kg=Fraction(97), complications=("desaturation",)),
    replace(PLAIN, first_attempt=None, over_line=None, per_kg=None, complications=None, minutes=None),
    replace(PLAIN, is_second_dose=True, per_kg=Fraction(100), minutes=31, mismatches=2, set_aside=3),
    replace(
        PLAIN,
        route="thin catheter",
        complications=("desaturation", "bradycardia"),
        minutes=9,
        mismatches=1,
        overrides=("a senior agreed to go on", "a senior agreed to go on"),
    ),
)


@pytest.fixture
def audit() -> Audit:
    return make_audit(CASES, "all days")


def test_five_records_counted_by_hand(audit: Audit) -> None:
    assert audit.count == 5
    assert {share.name: (share.count, share.of) for share in audit.shares} == {
        "in at the first attempt": (3, 4),
        "share recovered over the ward's line": (1, 4),
        "second or later dose": (1, 5),
        "without a complication": (2, 4),
        "with a mismatch caught by the second check": (2, 5),
        "with an override": (1, 5),
    }
    dose, minutes = audit.spreads
    # 97, 100, 200, 200: the middle two are 100 and 200. 9, 12, 12, 31: 12 and 12.
    assert (dose.least, dose.median, dose.most, dose.count) == ("97", "150", "200", 4)
    assert (minutes.least, minutes.median, minutes.most, minutes.count) == ("9", "12", "31", 4)
    charts = {chart.title: {bar.name: bar.count for bar in chart.bars} for chart in audit.charts}
    assert charts["Route"] == {"supraglottic": 4, "thin catheter": 1}
    assert charts["Complications"] == {"desaturation": 2, "bradycardia": 1}
    assert charts["Dose given, mg/kg"] == {
        "75 to under 100": 1,
        "100 to under 125": 1,
        "125 to under 150": 0,
        "150 to under 175": 0,
        "175 to under 200": 0,
        "200 to under 225": 2,
    }
    assert charts["Minutes from start to ready"] == {
        "0 to under 10": 1,
        "10 to under 20": 2,
        "20 to under 30": 0,
        "30 to under 40": 1,
    }
    assert charts["Second check and overrides"] == {
        "mismatches caught by the second check": 3,
        "a senior agreed to go on": 2,
        "lines set aside as not needed": 3,
    }


def test_an_audit_of_nothing_says_so_and_divides_by_nothing() -> None:
    empty = make_audit((), "all days")
    text = write_audit_text(empty)
    assert text.startswith("Audit, all days: 0 closed records\n")
    assert "dose given                                  not known" in text
    assert "<h1>Audit, all days</h1>" in write_audit_html(empty)
    assert next(csv.reader(io.StringIO(write_audit_csv(empty)))) == ["measure", "item", "value", "of"]


def test_a_bar_is_as_long_as_its_count_and_never_nothing_where_there_is_one() -> None:
    rows = list(draw_text(BarChart("", (Bar("many", 400), Bar("half", 200), Bar("one", 1), Bar("none", 0)))))
    assert [row.count("█") for row in rows] == [40, 20, 1, 0]
    assert [row.split()[-1] for row in rows] == ["400", "200", "1", "0"]
    assert draw_html(BarChart("", (Bar("<b>", 3),))).startswith('<table><tr><th scope="row">&lt;b&gt;</th>')


def test_words_are_counted_the_most_frequent_first() -> None:
    assert count_words("", ["b", "a", "c", "c"]).bars == (Bar("c", 2), Bar("a", 1), Bar("b", 1))


def test_the_median_of_an_odd_count_is_the_middle_one() -> None:
    assert compute_spread("", "", [Fraction(9), Fraction(1), Fraction(2)]).median == "2"
    assert make_bins("", [], 10).bars == ()


def test_every_number_of_the_audit_is_in_each_format(audit: Audit) -> None:
    rows = list(csv.reader(io.StringIO(write_audit_csv(audit))))
    text, page = write_audit_text(audit), write_audit_html(audit)
    for chart in audit.charts:
        for bar in chart.bars:
            assert [chart.title, bar.name, str(bar.count), "5"] in rows
            assert f"{bar.name}</th>" in page
            assert bar.name in text
    for share in audit.shares:
        assert share.words() in text
        assert share.words() in page
        assert ["share", share.name, str(share.count), str(share.of)] in rows


@pytest.mark.parametrize("route", ["=1+1", "+1", "-1", "@SUM(A1)", "\t=1", "\uff1d1+1", " \uff201"])
def test_no_cell_can_be_taken_for_a_formula_and_no_text_steers_a_terminal(route: str) -> None:
    audit = make_audit([replace(PLAIN, route=f"{route}\x1b[2J")], "all days")
    cells = [cell for row in csv.reader(io.StringIO(write_audit_csv(audit))) for cell in row]
    assert not [cell for cell in cells if normalize("NFKC", cell).startswith(("=", "+", "-", "@", "\t", "\r"))]
    for written in (write_audit_csv(audit), write_audit_text(audit), write_audit_html(audit)):
        assert "\x1b" not in written


def test_only_closed_records_that_are_no_practice_count_and_only_on_their_days(store: SqliteStore) -> None:
    states = {
        each.state.cot: each.state
        for each in (read_stored_preparation(store, prep) for prep in list_preparation_ids(store))
    }
    night = date(2026, 11, 25)
    assert [cot for cot, state in states.items() if is_counted(state, None, None)] == ["Cot 4", "Cot 2"]
    assert is_counted(states["Cot 4"], night, night)
    assert not is_counted(states["Cot 4"], date(2026, 11, 26), None)
    assert not is_counted(states["Cot 4"], None, date(2026, 11, 24))
    assert not is_counted(replace(states["Cot 4"], practice=True), None, None)
    opened = Workstation(store, WorkstationFiles(WARD, None), who="RA").start("surfactant-supraglottic", "Cot 5")
    assert not isinstance(opened, str)
    assert make_ward_audit(store, None, None).count == 2


def test_the_command_takes_days_and_refuses_what_is_none(run: Run) -> None:
    assert run("audit", "--from", "2026-11-25", "--to", "2026-11-25").out.startswith(
        "Audit, from 2026-11-25 to 2026-11-25: 2 closed records"
    )
    assert run("audit", "--from", "2026-11-26").out.startswith("Audit, from 2026-11-26 on: 0 closed records")
    assert run("audit", "--to", "25.11.2026").code == 2
    assert run("audit", "--format", "csv").out.startswith("measure,item,value,of")
