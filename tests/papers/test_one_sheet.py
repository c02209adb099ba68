"""How many sheets of A4 a page prints on, by a browser's own word; skipped where there is none."""

import re
import shutil
import subprocess
from pathlib import Path

import pytest
from msgspec.structs import replace
from papers_scene import WARD, Run

from prepkit.app.reports import find_stored_preparations, make_record_export
from prepkit.documents.record_html import choose_type_size, write_record_html
from prepkit.store import SqliteStore

BROWSER = next(filter(None, map(shutil.which, ("chromium", "chromium-browser", "google-chrome"))), None)

pytestmark = pytest.mark.skipif(BROWSER is None, reason="no chromium here: the sheets are not counted")


def count_sheets(page: Path) -> int:
    assert BROWSER is not None
    target = page.with_suffix(".pdf")
    options = ["--headless", "--no-sandbox", "--disable-gpu", "--no-pdf-header-footer", f"--print-to-pdf={target}"]
    command = [BROWSER, *options, f"--user-data-dir={page.parent / 'browser'}", page.as_uri()]
    subprocess.run(command, check=True, capture_output=True, timeout=120)
    return len(re.findall(rb"/Type\s*/Page\b(?!s)", target.read_bytes()))


@pytest.mark.parametrize("name", ["cot-4.html", "cot-2.html", "cot-9-practice.html", "audit.html"])
def test_a_record_and_an_audit_print_on_one_sheet(papers: Path, tmp_path: Path, name: str) -> None:
    page = Path(shutil.copy(papers / name, tmp_path / name))
    assert count_sheets(page) == 1


@pytest.mark.parametrize("fonts", ['"DejaVu Sans Condensed"', '"wide made smaller"'])
def test_a_record_prints_on_one_sheet_where_only_wider_letters_are_installed(
    papers: Path, tmp_path: Path, fonts: str
) -> None:
    words = (papers / "cot-4.html").read_text("utf-8")
    others = '"Liberation Sans", Arial, Helvetica, "DejaVu Sans Condensed", "wide made smaller"'
    assert others in words
    page = tmp_path / "record.html"
    page.write_text(words.replace(others, fonts), "utf-8")
    assert count_sheets(page) == 1


def test_a_busy_record_takes_a_smaller_type_and_still_prints_on_one_sheet(store: SqliteStore, tmp_path: Path) -> None:
    (kept,) = find_stored_preparations(store, "Cot 2")
    made = make_record_export(kept, kept.state.last.at)
    assert not isinstance(made, str)
    quiet = made.record
    row = replace(quiet.timeline[-3], notes=("Heart rate 92 /min", "while the catheter went in, for about a minute"))
    added = "RA 11:00: " + "seen again with them. " * 9
    busy = replace(quiet, timeline=quiet.timeline + (row,) * 5, addenda=(added,) * 3)
    assert choose_type_size(busy, ()) < choose_type_size(quiet, ())
    page = tmp_path / "busy.html"
    page.write_text(write_record_html(busy), "utf-8")
    assert count_sheets(page) == 1


def test_each_citation_of_the_working_is_a_number_and_stands_once_at_the_foot(store: SqliteStore) -> None:
    (kept,) = find_stored_preparations(store, "Cot 2")
    made = make_record_export(kept, kept.state.last.at)
    assert not isinstance(made, str)
    main, _, foot = write_record_html(made.record).partition("<footer>")
    assert any("[excerpt or account: " in words for line in made.record.lines for words in line.working)
    assert "[excerpt or account: " not in main
    cited = re.findall(r"</sup> (excerpt or account: .+?)(?=; <sup>|\.</p>)", foot)
    assert cited
    assert len(set(cited)) == len(cited)


def test_a_sheet_to_tick_by_hand_is_one_sheet(run: Run, tmp_path: Path) -> None:
    page = tmp_path / "sheet.html"
    baby = ("--birth-weight", "1450", "--birth-gestation", "30+2", "--ward", str(WARD))
    page.write_text(run("sheet", "surfactant-supraglottic", *baby, "--format", "html").out, "utf-8")
    assert count_sheets(page) == 1
