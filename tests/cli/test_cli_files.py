"""`prepkit kits`, `check`, `prove`, `chart`, `new-kit`: run as a person would, each in a home of its own."""

import csv
import io
import json
import os
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import TypeAlias

import pytest

from prepkit.paths import find_shipped

Run: TypeAlias = Callable[..., subprocess.CompletedProcess[str]]
WARD = find_shipped("demo") / "ward.toml"
KIT = find_shipped("kits") / "surfactant-supraglottic.toml"


@pytest.fixture
def run(tmp_path: Path) -> Run:
    home = {name: value for name, value in os.environ.items() if not name.startswith("PREPKIT")}
    home |= {name: str(tmp_path) for name in ("HOME", "XDG_CONFIG_HOME", "XDG_DATA_HOME")}

    def call(*words: object) -> subprocess.CompletedProcess[str]:
        command = [sys.executable, "-m", "prepkit", *map(str, words)]
        return subprocess.run(command, capture_output=True, text=True, check=False, env=home, cwd=tmp_path)

    return call


def test_kits_lists_edition_review_date_and_path(run: Run) -> None:
    done = run("kits")
    assert done.returncode == 0
    assert "surfactant-supraglottic  edition 2026-11, review by 2027-11-30" in done.stdout
    assert str(KIT) in done.stdout


def test_kits_says_which_cannot_be_used_and_how_to_see_why(run: Run, tmp_path: Path) -> None:
    (tmp_path / "broken.toml").write_text("id = 3", "utf-8")
    done = run("kits", "--kits", tmp_path)
    assert done.returncode == 3
    assert f"prepkit check {tmp_path / 'broken.toml'}" in done.stdout


def test_check_finds_nothing_in_the_shipped_files(run: Run) -> None:
    done = run("check", KIT.parent, WARD)
    assert (done.returncode, done.stdout) == (0, "")


def test_check_reports_every_problem_of_every_file_with_its_line(run: Run, tmp_path: Path) -> None:
    kit, ward = tmp_path / "kit.toml", tmp_path / "ward.toml"
    kit.write_text(KIT.read_text("utf-8").replace('dose = "20 microgram/kg"', 'dose = "20 microgram"'), "utf-8")
    ward.write_text(WARD.read_text("utf-8").replace('line = "airway-device"', 'line = "airway-devise"'), "utf-8")
    done = run("check", kit, ward)
    lines = kit.read_text("utf-8").splitlines()
    at = lines.index('dose = "20 microgram"') + 1
    assert done.returncode == 3
    assert f'{kit}:{at}: line "atropine": dose "20 microgram"' in done.stdout
    assert 'did you mean "airway-device"?' in done.stdout
    assert done.stderr == "prepkit: 2 problems in 2 files\n"
    shaped = json.loads(run("check", kit, ward, "--format", "json").stdout)
    assert [(Path(problem["file"]).name, problem["line"] > 0) for problem in shaped] == [
        ("kit.toml", True),
        ("ward.toml", True),
    ]


def test_check_of_a_folder_of_bad_files_tells_of_each_and_never_ends_in_a_traceback(run: Run, tmp_path: Path) -> None:
    bad = tmp_path / "bad"
    bad.mkdir()
    kit = KIT.read_bytes()
    texts = {
        "large": kit + b"#" * 1_000_000,
        "latin": kit.replace(b"Surfactant", b"Surf\xe9ctant"),
        "utf-16": kit.decode().encode("utf-16"),
        "empty": b"",
        "binary": bytes(range(256)),
        "cut": kit[: len(kit) // 2 - 7],
        "deep": b"a = " + b"[" * 100_000,
        "number": b"year = " + b"9" * 5000,
        "nul": kit.replace(b"Surfactant", b"Surf\0ctant"),
        "comma": kit.replace(b'"16 cm"', b'"16,5 cm"'),
        "nan": kit.replace(b'"16 cm"', b"nan"),
        "per-kg": kit.replace(b'"20 microgram/kg"', b'"20 microgram"'),
    }
    for name, text in texts.items():
        (bad / f"{name}.toml").write_bytes(text)
    (bad / "folder.toml").mkdir()
    done = run("check", bad)
    assert done.returncode == 3
    assert "Traceback" not in done.stdout + done.stderr
    for name in (*texts, "folder"):
        assert f"{bad / name}.toml" in done.stdout
    for words in (("list", "--birth-weight", "1450", "--birth-gestation", "30+2"), ("prove",), ("chart",)):
        done = run(words[0], bad / "per-kg.toml", *words[1:])
        assert (done.returncode, done.stdout) == (3, "")
        assert 'did you mean "microgram/kg"?' in done.stderr


def test_check_of_a_file_that_is_not_there_says_so(run: Run) -> None:
    done = run("check", "nowhere.toml")
    assert done.returncode == 3
    assert "nowhere.toml" in done.stdout
    assert "cannot be read" in done.stdout


def test_prove_without_a_ward_file_finds_the_gaps(run: Run) -> None:
    done = run("prove", "surfactant-supraglottic")
    assert done.returncode == 1
    assert "! blocked at weight now 1200\N{EN DASH}1999 g: " in done.stdout
    assert max(len(row) for row in done.stdout.splitlines()) < 80


def test_a_chart_has_a_row_for_each_weight_and_says_what_it_was_made_from(run: Run) -> None:
    words = (
        "chart",
        "surfactant-supraglottic",
        "--ward",
        WARD,
        "--from",
        "1400",
        "--to",
        "1500",
        "--birth-gestation",
        "30+2",
    )
    rows = list(csv.reader(io.StringIO(run(*words, "--format", "csv").stdout)))
    at = next(number for number, row in enumerate(rows) if row[:1] == ["Weight"])
    assert [row[0] for row in rows[at + 1 :]] == ["1400 g", "1450 g", "1500 g"]
    atropine = rows[at].index("Atropine (by weight now)")
    assert rows[at + 2][atropine].startswith("0.58 mL; in the syringe 29 microgram, 20 microgram/kg")
    page = run(*words, "--format", "html").stdout
    assert page.startswith("<!doctype html>")
    assert "Fingerprints: kit " in page
    assert "0.58 mL" in run(*words).stdout


@pytest.mark.parametrize("form", ["csv", "html"])
def test_a_chart_for_another_program_is_utf_8_whatever_the_terminal_is(run: Run, form: str, tmp_path: Path) -> None:
    command = [sys.executable, "-m", "prepkit", "chart", "surfactant-supraglottic", "--ward", str(WARD), "--to", "1300"]
    home = {**os.environ, "PYTHONIOENCODING": "latin-1", "HOME": str(tmp_path)}
    done = subprocess.run([*command, "--format", form], capture_output=True, check=True, env=home, cwd=tmp_path)
    assert "14\N{EN DASH}16" in done.stdout.decode("utf-8")


@pytest.mark.parametrize(
    ("words", "code"),
    [
        (("--from", "600"), 2),
        (("--from", "2000", "--to", "1900"), 2),
        (("--every", "0"), 2),
        (("--from", "1200", "--to", "5000", "--every", "1"), 2),
        (("--birth-gestation", "99+9"), 3),
        (("--birth-gestation", "26+0"), 3),
        (("--every", "-50"), 2),
        (("--to", "6000"), 2),
    ],
)
def test_a_chart_that_cannot_be_made_says_why(run: Run, words: tuple[str, ...], code: int) -> None:
    done = run("chart", "surfactant-supraglottic", *words)
    assert (done.returncode, done.stdout) == (code, "")
    assert done.stderr.strip()
    assert "Traceback" not in done.stderr


def test_a_new_kit_passes_check_and_is_never_written_over_another(run: Run, tmp_path: Path) -> None:
    assert run("new-kit", "my-kit").returncode == 0
    assert run("check", "my-kit.toml").returncode == 0
    listed = run("list", "my-kit.toml", "--birth-weight", "1450", "--birth-gestation", "30+2")
    assert listed.returncode == 0, listed.stderr
    before = (tmp_path / "my-kit.toml").read_bytes()
    again = run("new-kit", "my-kit")
    assert again.returncode == 2
    assert "is there already" in again.stderr
    assert (tmp_path / "my-kit.toml").read_bytes() == before


@pytest.mark.parametrize("name", ["My Kit", "../up", 'a"b', ""])
def test_a_name_that_cannot_be_an_id_is_refused(run: Run, tmp_path: Path, name: str) -> None:
    assert run("new-kit", name).returncode == 2
    assert list(tmp_path.glob("**/*.toml")) == []


def test_the_list_of_a_baby_this_kit_is_not_for_names_the_other_kits(run: Run) -> None:
    done = run("list", "surfactant-supraglottic", "--birth-weight", "1000", "--birth-gestation", "29+0", "--ward", WARD)
    assert done.returncode == 1
    assert "Surfactant through a thin catheter" in " ".join(done.stdout.split())
