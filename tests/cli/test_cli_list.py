"""`prepkit list` as a person or a script meets it: data, exit codes, problems. Most run inside this process."""

import hashlib
import json
import os
import subprocess
import sys
from collections.abc import Callable
from dataclasses import dataclass
from datetime import timedelta
from pathlib import Path
from typing import Any, TypeAlias

import pytest
from shipped import read_kit_text

from prepkit import __version__
from prepkit.app.clock import read_clock
from prepkit.cli.main import main
from prepkit.paths import find_shipped

Json: TypeAlias = Any
KITS, WARD = find_shipped("kits"), find_shipped("demo") / "ward.toml"
KIT = KITS / "surfactant-supraglottic.toml"
LIST = ["list", "surfactant-supraglottic", "--birth-weight", "1450", "--birth-gestation", "30+2"]
REASONS = ("intubation-near", "pneumothorax", "malformation", "major-anomaly", "other-cause")
ANSWERS = [f"--set={name}=no" for name in REASONS]


@pytest.fixture(autouse=True)
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A home of its own, where nobody has left kits or a ward file."""
    for name in ("PREPKIT_WARD", "PREPKIT_STORE"):
        monkeypatch.delenv(name, raising=False)
    for name in ("HOME", "XDG_CONFIG_HOME", "XDG_DATA_HOME"):
        monkeypatch.setenv(name, str(tmp_path / "home"))
    return tmp_path / "home"


@dataclass(frozen=True)
class Done:
    code: int
    out: str
    err: str

    @property
    def list(self) -> Json:
        return json.loads(self.out)

    def find(self, line: str) -> Json:
        return next(row for row in self.list["lines"] if row["id"] == line)


Run: TypeAlias = Callable[..., Done]


@pytest.fixture
def run(capsys: pytest.CaptureFixture[str]) -> Run:
    """Runs a command in this process."""

    def run_here(*arguments: str | Path) -> Done:
        try:
            code = main([str(argument) for argument in arguments])
        except SystemExit as stopped:
            code = int(stopped.code or 0)
        return Done(code, *capsys.readouterr())

    return run_here


def start(*arguments: str | Path, **environment: str) -> Done:
    """Runs a command as a program of its own."""
    command = [sys.executable, "-m", "prepkit", *map(str, arguments)]
    done = subprocess.run(command, capture_output=True, check=False, env={**os.environ, **environment})
    return Done(done.returncode, done.stdout.decode(), done.stderr.decode())


def measure(value: str, unit: str) -> Json:
    return {"value": value, "unit": unit}


def test_the_example_of_the_issue_comes_out_as_it_stands_there() -> None:
    done = start(*LIST, "--ward", WARD, "--format", "json")
    assert (done.code, done.err) == (0, "")
    surfactant = done.find("surfactant")
    # Issue 2: 200 mg/kg = 290 mg = 3.625 mL exact, as the syringe measures it; vials 3 mL + 1.5 mL.
    assert surfactant["due"] == measure("290", "mg")
    # By hand: 3.6 mL × 80 mg/mL = 288 mg, ÷ 1.45 kg = 198.62 mg/kg: what the mark holds.
    assert surfactant["in_syringe"] == measure("288", "mg")
    assert surfactant["exact"] == measure("3.625", "mL")
    assert surfactant["amount"] == measure("3.6", "mL")
    assert surfactant["vials"] == [{"size": measure("3", "mL"), "count": 1}, {"size": measure("1.5", "mL"), "count": 1}]
    assert surfactant["discard"] == measure("0.9", "mL")
    assert surfactant["syringe"]["capacity"] == measure("5", "mL")
    assert surfactant["route"] == surfactant["syringe"]["route"] == "tracheal"
    assert "288 mg, 199 mg/kg (due 200)" in surfactant["show"]
    # Issue 2: atropine 29 microgram, 50 microgram/mL, 0.58 mL in a 1 mL syringe; UCUM codes as in section 14.
    atropine = done.find("atropine")
    assert atropine["due"] == atropine["in_syringe"] == measure("29", "ug")
    assert atropine["recipe"]["strength"] == measure("50", "ug/mL")
    assert atropine["exact"] == atropine["amount"] == measure("0.58", "mL")
    assert atropine["syringe"]["capacity"] == measure("1", "mL")
    assert "29 microgram" in atropine["show"]
    # Issue 2: gastric length 16.5 cm (16.35; Freeman 2012, 3 × kg + 12 cm).
    tube = done.find("gastric-tube")
    assert (tube["amount"], tube["exact"]) == (measure("16.5", "cm"), measure("16.35", "cm"))
    assert tube["size"] == "8 Fr"


def test_the_list_says_what_it_was_made_from(run: Run) -> None:
    made = run(*LIST, "--ward", WARD, "--format", "json").list
    assert made["kit"] == {
        "id": "surfactant-supraglottic",
        "edition": "2026-11",
        "sha256": hashlib.sha256(read_kit_text().encode()).hexdigest(),
    }
    assert made["ward"] == {"name": "Heron Ward (invented)", "sha256": hashlib.sha256(WARD.read_bytes()).hexdigest()}
    baby = made["baby"]
    assert (baby["birth_weight_g"], baby["weight_now_g"], baby["weight_now_on"]) == (1450, 1450, None)
    assert baby["birth_gestation_days"] == baby["gestation_today_days"] == 30 * 7 + 2
    assert (baby["born"], baby["age_h"]) == (f"{read_clock().date()}", None)
    assert not {"weight_g", "gestation_days"} & set(baby)
    assert made["assumed"] == [
        "born",
        "sex",
        "cpap",
        "gastric_tube",
        "line_patent",
        "nil_by_mouth",
        "earlier_surfactant",
    ]
    assert made["verdict"] == "questions open"


def test_without_a_ward_file_the_device_stands_on_its_label_alone(run: Run) -> None:
    done = run(*LIST, "--format", "json")
    assert done.code == 1
    assert done.list["ward"] is None
    device = done.find("airway-device")
    assert "1450 g is outside every label" in device["blocked"]
    assert device["size"] is None
    assert "no ward file" in done.find("surfactant")["blocked"]


def test_within_its_label_the_device_needs_no_ward_file(run: Run) -> None:
    done = run(
        "list", "surfactant-supraglottic", "--birth-weight", "2000", "--birth-gestation", "34+0", "--format", "json"
    )
    assert done.find("airway-device")["blocked"] is None
    assert done.find("airway-device")["size"] == "1"


def test_open_questions_are_listed_and_are_no_failure(run: Run) -> None:
    done = run(*LIST, "--ward", WARD)
    assert done.code == 0
    assert "Verdict: questions open" in done.out
    assert "questions open: Intubation about to be needed" in done.out


@pytest.mark.parametrize(
    ("more", "verdict", "code"),
    [
        (ANSWERS, "suitable", 0),
        ([*ANSWERS[1:], "--set=intubation-near=unsure"], "ask a senior", 0),
        ([*ANSWERS[1:], "--set=intubation-near=yes"], "not suitable", 1),
    ],
)
def test_answers_decide_the_verdict_and_the_verdict_the_exit_code(
    run: Run, more: list[str], verdict: str, code: int
) -> None:
    done = run(*LIST, "--ward", WARD, "--format", "json", *more)
    assert (done.list["verdict"], done.code) == (verdict, code)


@pytest.mark.parametrize(("weight", "gestation"), [("1199", "30+2"), ("1450", "27+6")])
def test_a_baby_under_the_kits_criteria_is_not_suitable(run: Run, weight: str, gestation: str) -> None:
    arguments = ["--birth-weight", weight, "--birth-gestation", gestation, "--ward", WARD, "--format", "json"]
    done = run("list", "surfactant-supraglottic", *arguments, *ANSWERS)
    assert (done.list["verdict"], done.code) == ("not suitable", 1)


def test_facts_set_take_the_place_of_what_is_assumed(run: Run) -> None:
    yesterday = (read_clock() - timedelta(days=1)).date()
    sets = [
        "--set=cpap=7",
        "--set",
        "gastric_tube=yes",
        "--set=sex=girl",
        f"--born={yesterday} 08:00",
        "--weight-now=not weighed since",
        f"--earlier=poractant-alfa, 200 mg/kg, {yesterday} 10:00",
    ]
    done = run(*LIST, "--ward", WARD, "--format", "json", *sets)
    assert done.list["baby"]["cpap"] == measure("7", "cm[H2O]")
    assert done.list["baby"]["sex"] == "girl"
    assert done.list["baby"]["earlier_surfactant"][0]["at"].startswith(f"{yesterday}T10:00")
    assert done.list["assumed"] == ["line_patent", "nil_by_mouth"]
    assert "7 cmH2O" in done.find("t-piece-peep")["show"]


def test_doses_given_before_are_each_an_option(run: Run) -> None:
    day = (read_clock() - timedelta(days=1)).date()
    doses = [f"--earlier=poractant-alfa, {amount}, {day} 0{hour}:00" for amount, hour in (("290 mg", 1), ("1.8 mL", 2))]
    birth = [f"--born={day}", "--weight-now=not weighed since"]
    done = run(*LIST, "--ward", WARD, "--format", "json", *ANSWERS, *doses, *birth)
    line = next(line for line in done.list["lines"] if line["id"] == "surfactant")
    # By hand: 290 mg ÷ 1.45 kg = 200 mg/kg; 1.8 mL × 80 mg/mL ÷ 1.45 kg = 99.31 mg/kg.
    assert line["working"][0].startswith("299.3 mg/kg was given before")


@pytest.mark.parametrize(
    ("more", "words"),
    [
        (["--earlier=poractant"], '"poractant" is not a dose'),
        (["--earlier=not known, not known, not known", "--set=earlier_surfactant=none"], "too"),
    ],
)
def test_a_dose_given_before_that_cannot_be_read_is_refused(run: Run, more: list[str], words: str) -> None:
    done = run(*LIST, "--ward", WARD, *more)
    assert words in done.err
    assert done.code == 3


def test_an_order_is_drawn_up_and_said_in_details_and_working(run: Run) -> None:
    done = run(*LIST, "--ward", WARD, "--format", "json", "--order", "surfactant=poractant-alfa 3 mL")
    assert (done.code, done.err) == (0, "")
    surfactant = done.find("surfactant")
    # By hand: 3 mL × 80 mg/mL = 240 mg; ÷ 1.45 kg = 165.52 mg/kg (UK product characteristics: 100-200, R).
    assert (surfactant["amount"], surfactant["in_syringe"]) == (measure("3", "mL"), measure("240", "mg"))
    assert surfactant["due"] == measure("290", "mg")
    assert "240 mg, 166 mg/kg (due 200)" in surfactant["show"]
    assert "ordered by the command: whole vials" in surfactant["show"]
    assert any("÷ 1450 g = 165.52 mg/kg" in sentence for sentence in surfactant["working"])
    assert set(surfactant) == set(run(*LIST, "--ward", WARD, "--format", "json").find("surfactant"))
    both = run(*LIST, "--ward", WARD, "--order=surfactant=poractant-alfa", "--order=atropine=atropine-600")
    assert both.out.count("ordered by the command: measured") == 2


ORDERS = {
    "an option out of range": (["--order=surfactant=poractant-alfa 1.5 mL"], '"poractant-alfa 3 mL" (Poractant alfa,'),
    "an option that is none": (["--order=surfactant="], '--order "surfactant": "" cannot be ordered for this baby'),
    "no option": (["--order=surfactant"], '--order "surfactant": has no option\n    hint: write LINE=OPTION'),
    "a line that is no dose": (["--order=drape=x"], '--order "drape": is not a dose line of this kit'),
    "a line twice": (["--order=atropine=atropine-600"] * 2, '--order "atropine": is given twice'),
}


@pytest.mark.parametrize(("more", "words"), ORDERS.values(), ids=ORDERS.keys())
def test_an_order_that_cannot_be_is_refused_with_what_can(run: Run, more: list[str], words: str) -> None:
    done = run(*LIST, "--ward", WARD, *more)
    assert (done.code, done.out) == (3, "")
    assert words in done.err


REFUSED = {
    "an unknown name": (
        ["--set=cpp=7"],
        '"cpp": is not a fact or a question of this kit\n    hint: did you mean "cpap"?',
    ),
    "a name twice": (["--set=cpap=7", "--set=cpap=7"], '--set "cpap": is given twice'),
    "an answer twice": (["--set=malformation=no", "--set=malformation=no"], '--set "malformation": is given twice'),
    "the weight twice": (["--set=birth_weight=1450"], '--set "birth_weight": is given twice'),
    "no value": (["--set=cpap"], '--set "cpap": has no value\n    hint: write NAME=VALUE'),
    "no name": (["--set==7"], '"": is not a fact or a question of this kit'),
    "no answer": (["--set=malformation=maybe"], '--set "malformation": "maybe" is not one of yes, no, unsure'),
    "a fact out of range": (["--set=cpap=70"], "CPAP now: 70 cmH2O is outside 3\N{EN DASH}12 cmH2O"),
    "a decimal comma": (["--set=cpap=6,5"], 'CPAP now: "6,5" has a comma'),
    "a moment to come": (["--earlier=poractant-alfa, 200 mg/kg, 2999-01-01 10:00"], "2999-01-01 10:00"),
}


@pytest.mark.parametrize(("more", "words"), REFUSED.values(), ids=REFUSED.keys())
def test_a_fact_that_cannot_be_is_refused_on_standard_error(run: Run, more: list[str], words: str) -> None:
    done = run(*LIST, "--ward", WARD, *more)
    assert (done.code, done.out) == (3, "")
    assert words in done.err


@pytest.mark.parametrize(("weight", "gestation", "words"), [
    ("1.45", "30+2", 'Birth weight: "1.45" is not whole grams'),
    ("1,45", "30+2", 'Birth weight: "1,45" is not whole grams'),
    ("1450g", "30+2", 'Birth weight: "1450g" is not whole grams'),
    ("299", "30+2", "Birth weight: 299 g is outside"),
    ("1450", "30", 'Gestation at birth: "30" is not a gestation'),
])  # fmt: skip
def test_a_weight_or_a_gestation_that_cannot_be_is_refused(run: Run, weight: str, gestation: str, words: str) -> None:
    done = run(
        "list", "surfactant-supraglottic", "--birth-weight", weight, "--birth-gestation", gestation, "--ward", WARD
    )
    assert (done.code, done.out) == (3, "")
    assert words in done.err


def test_every_problem_of_the_facts_is_told_at_once(run: Run) -> None:
    done = run(
        "list",
        "surfactant-supraglottic",
        "--birth-weight",
        "1.45",
        "--birth-gestation",
        "30",
        "--set=cpap",
        "--set=cpp=1",
    )
    assert done.code == 3
    assert len([row for row in done.err.splitlines() if not row.startswith(" ")]) == 4


@pytest.mark.parametrize(
    "arguments",
    [
        ["list"],
        [*LIST, "--format", "xml"],
        [*LIST, "--colour"],
        ["lst"],
        [*LIST, "extra"],
        [*LIST, "--set"],
        ["list", "x", "--wei", "1450", "--birth-gestation", "30+2"],
    ],
)
def test_a_command_that_is_not_one_is_usage(run: Run, arguments: list[str]) -> None:
    done = run(*arguments)
    assert (done.code, done.out) == (2, "")
    assert "usage: prepkit" in done.err


def test_a_kit_that_is_not_there_is_told_with_those_that_are(run: Run) -> None:
    done = run("list", "surfactant", "--birth-weight", "1450", "--birth-gestation", "30+2")
    assert (done.code, done.out) == (3, "")
    known = ", ".join(path.stem for path in sorted(KITS.glob("*.toml")))
    own = "a file of your own is named with its ending, surfactant.toml"
    assert done.err == f'kit "surfactant": is not on this machine\n    hint: known: {known}; {own}\n'


def test_a_kit_with_a_problem_is_told_with_its_place(run: Run, tmp_path: Path) -> None:
    bad = tmp_path / "bad.toml"
    bad.write_text(KIT.read_text("utf-8").replace('"20 microgram/kg"', '"20 microgram"'), "utf-8")
    done = run("list", bad, "--birth-weight", "1450", "--birth-gestation", "30+2")
    assert (done.code, done.out) == (3, "")
    assert done.err.startswith(f"{bad}:")
    assert 'dose = "20 microgram"' in done.err


def test_a_ward_file_with_a_problem_is_told_with_its_place(run: Run, tmp_path: Path) -> None:
    bad = tmp_path / "ward.toml"
    text = WARD.read_text("utf-8").replace('gives = "50 microgram/mL"', 'gives = "60 microgram/mL"')
    bad.write_text(text, "utf-8")
    line = text.partition('gives = "60 microgram/mL"')[0].count("\n") + 1
    done = run(*LIST, "--ward", bad)
    assert (done.code, done.out) == (3, "")
    assert f'{bad}:{line}: recipe "atropine-50": 1 mL of 600 microgram/mL in 12 mL gives 50 microgram/mL' in done.err


@pytest.mark.parametrize("more", [["--ward", "nowhere.toml"], ["--ward", "."], ["--kits", "nowhere"]])
def test_a_file_or_a_folder_that_cannot_be_read_is_told(
    run: Run, more: list[str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    done = run(*LIST, *more)
    assert (done.code, done.out) == (3, "")
    assert done.err.startswith(f'prepkit: "{more[1]}" ')
    assert "Check the path" in done.err


def test_the_ward_file_may_be_named_before_the_command_after_it_or_in_the_environment(
    run: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    after = run(*LIST, "--ward", WARD)
    assert "Heron Ward" in after.out
    assert run("--ward", WARD, *LIST).out == after.out
    monkeypatch.setenv("PREPKIT_WARD", str(WARD))
    assert run(*LIST).out == after.out


def test_the_users_own_ward_file_serves_where_none_is_named(run: Run, home: Path) -> None:
    own = home / "prepkit" / "ward.toml"
    own.parent.mkdir(parents=True)
    own.write_text(WARD.read_text("utf-8").replace("Heron Ward", "Plover Ward"), "utf-8")
    assert "Plover Ward" in run(*LIST).out
    assert "Heron Ward" in run(*LIST, "--ward", WARD).out


def test_a_folder_of_kits_adds_to_the_shipped_ones_and_stands_over_them(run: Run, tmp_path: Path) -> None:
    text = KIT.read_text("utf-8")
    (tmp_path / "own-kit.toml").write_text(text.replace('id = "surfactant-supraglottic"', 'id = "own-kit"'), "utf-8")
    (tmp_path / KIT.name).write_text(text.replace('edition = "2026-11"', 'edition = "2026-12"'), "utf-8")
    arguments = ["--birth-weight", "1450", "--birth-gestation", "30+2", "--ward", WARD, "--format", "json"]
    assert run("list", "own-kit", *arguments, "--kits", tmp_path).list["kit"]["id"] == "own-kit"
    assert run("--kits", tmp_path, *LIST, "--ward", WARD, "--format", "json").list["kit"]["edition"] == "2026-12"
    assert run(*LIST, "--ward", WARD, "--format", "json").list["kit"]["edition"] == "2026-11"


def test_a_kit_may_be_named_by_its_path(run: Run) -> None:
    assert run("list", KIT, "--birth-weight", "1450", "--birth-gestation", "30+2", "--ward", WARD).code == 0


def test_help_and_version_are_data(run: Run) -> None:
    shown = run("--version")
    assert (shown.code, shown.out, shown.err) == (0, f"prepkit {__version__}\n", "")
    told = run("--help")
    assert (told.code, told.err) == (0, "")
    assert "Exit codes: 0 done, 1 blocked or not suitable, 2 usage, 3 invalid kit, ward file or fact, 4 the store." in (
        " ".join(told.out.split())
    )
    assert run("list", "--help").code == 0


def test_a_reader_that_stops_reading_is_no_error() -> None:
    command = [sys.executable, "-m", "prepkit", *LIST, "--ward", str(WARD), "--format", "json"]
    with subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE) as process:
        assert process.stdout is not None
        assert process.stderr is not None
        process.stdout.close()
        assert process.stderr.read() == b""
    assert process.returncode == 0


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="needs a device that is always full")
def test_an_output_that_is_full_is_told_without_a_traceback() -> None:
    with Path("/dev/full").open("w") as full:
        command = [sys.executable, "-m", "prepkit", *LIST, "--ward", str(WARD)]
        done = subprocess.run(command, stdout=full, stderr=subprocess.PIPE, check=False)
    assert done.returncode == 2
    assert done.stderr == b"prepkit: the output cannot be written: no space left on device\n"


def test_an_output_without_our_signs_gets_plain_ones_and_json_stays_unicode() -> None:
    narrow = {"LC_ALL": "C", "PYTHONIOENCODING": "ascii", "PYTHONUTF8": "0", "PYTHONCOERCECLOCALE": "0"}
    done = start(*LIST, "--ward", WARD, **narrow)
    assert (done.code, done.err) == (0, "")
    assert done.out.isascii()
    assert "14-16 cm" in done.out
    assert "20 microgram/kg x 1450 g (weight now) = 29 microgram" in " ".join(done.out.split())
    written = start(*LIST, "--ward", WARD, "--format", "json", **narrow)
    assert (written.code, written.err) == (0, "")
    assert "14\N{EN DASH}16 cm" in written.find("catheter-depth")["show"]


def test_the_screens_without_a_terminal_point_to_the_list() -> None:
    done = start()
    assert (done.code, done.out) == (2, "")
    assert "prepkit list KIT --birth-weight GRAMS --birth-gestation WEEKS+DAYS" in done.err


def test_parts_instructions_and_cautions_are_read_apart(run: Run) -> None:
    done = run(*LIST, *ANSWERS, "--ward", WARD, "--format", "json")
    atropine = done.find("atropine")
    assert "needle, 18 G blunt" in atropine["parts"]
    assert any(words.startswith("Label what is left") for words in atropine["how"])
    assert not any(words in atropine["working"] for words in atropine["how"])
    assert atropine["cautions"][0] == "The 12 mL made up holds about 21 times this dose."
    rows = run(*LIST, *ANSWERS, "--ward", WARD).out.splitlines()
    assert "      + needle, 18 G blunt" in rows
