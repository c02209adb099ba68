"""`prepkit sheet`: every line of the list with a box, blanks for initials, and no amount where it is blocked."""

import pytest
from papers_scene import WARD, Run
from workstation_scene import LINES

BABY = ("sheet", "surfactant-supraglottic", "--birth-weight", "1450", "--birth-gestation", "30+2")


def test_every_line_has_a_box_and_a_blank_and_the_checked_ones_a_second(run: Run) -> None:
    done = run(*BABY, "--ward", str(WARD))
    assert done.code == 0
    rows = done.out.splitlines()
    boxes = [row for row in rows if row.startswith("[ ] ")]
    # By the kit, five of them are worked out again by a second person.
    assert len(boxes) == LINES
    assert sum("2nd ______" in row for row in rows) == 5
    surfactant = next(row for row in rows if row.startswith("[ ] Surfactant: 3.6 mL"))
    assert surfactant.endswith("by ______  2nd __________")
    assert rows[0] == "1450 g · 30+2 · Surfactant through a supraglottic airway"
    assert "Cot ____________" in done.out
    asked = [row.removeprefix("  [ ] ").partition(" ..")[0] for row in rows if row.startswith("  [ ] ")]
    # Two roles; five reasons and that none of the others applies; what was said and done.
    assert asked[0] == "Leads ______: skilled / supervised by ______"
    assert asked[3:8:4] == ["Pneumothorax not drained", "None of the others applies"]
    assert asked[-2:] == ["Parents told", "Senior informed"]
    assert len(asked) == 2 + 6 + 3


def test_a_role_that_is_known_is_printed_and_no_longer_asked(run: Run) -> None:
    out = run(*BABY, "--ward", str(WARD), "--set", "leads=KM, skilled").out
    assert "! Leads: KM, skilled." in out
    assert "Leads ______" not in out
    assert "Intubates if it fails ______" in out


def test_no_point_stands_right_behind_a_number(run: Run) -> None:
    for row in run(*BABY, "--ward", str(WARD)).out.splitlines():
        if ".." in row:
            assert row[row.index("..") - 1] == " ", row
    assert max(map(len, run(*BABY, "--ward", str(WARD)).out.splitlines())) <= 100


def test_a_blocked_line_has_no_box(run: Run) -> None:
    done = run(*BABY)
    assert done.code == 1
    assert "[BLOCKED] Surfactant" in done.out
    assert "[ ] Surfactant:" not in done.out
    page = run(*BABY, "--format", "html").out
    assert page.count("BLOCKED</b>") == done.out.count("[BLOCKED]")


def test_the_page_has_the_same_lines(run: Run) -> None:
    page = run(*BABY, "--ward", str(WARD), "--format", "html").out
    assert page.count('<div class="line"><i></i>') == LINES
    assert page.count("<u>2nd</u>") == 5
    assert "<b>3.6\u00a0mL</b>" in page


def test_the_parts_of_a_line_stand_under_it_in_small_print_without_a_box(run: Run) -> None:
    rows = run(*BABY, "--ward", str(WARD)).out.splitlines()
    at = next(at for at, row in enumerate(rows) if row.startswith("[ ] Supraglottic airway"))
    parts = (
        "with it: a second one of the same size, unopened, within reach; cuff syringe, if the device has a cuff;"
        " water-based lubricant; tongue depressor, or the laryngoscope under rescue"
    )
    assert " ".join(row.strip() for row in rows[at + 1 : at + 6]).count(parts) == 1
    assert not any(row.startswith("[ ] ") and "lubricant" in row for row in rows)
    page = run(*BABY, "--ward", str(WARD), "--format", "html").out.replace("\u00a0", " ")
    assert f"{parts}</small>" in page
    assert page.count("with it: ") == sum("with it: " in row for row in rows)


def test_a_weight_that_is_unlikely_stands_on_top(run: Run) -> None:
    rows = run(
        "sheet", "surfactant-supraglottic", "--birth-weight", "4450", "--birth-gestation", "30+2"
    ).out.splitlines()
    first = next(at for at, row in enumerate(rows) if row.startswith("! LOOK AT THE WEIGHT FIRST."))
    assert first < next(at for at, row in enumerate(rows) if row == "AIRWAY")


@pytest.mark.parametrize("more", [("--birth-weight", "1,4"), ("--set", "cpap=wrong")])
def test_wrong_facts_are_refused_as_for_the_list(run: Run, more: tuple[str, str]) -> None:
    done = run(*BABY, *more)
    assert (done.code, done.out) == (3, "")
