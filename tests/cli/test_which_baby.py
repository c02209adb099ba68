"""Which baby a list is for: both weights, both gestations, when it was born; by flags as by a preparation."""

import json
from collections.abc import Mapping
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, TypeAlias

import pytest

from prepkit.app.files import WorkstationFiles
from prepkit.app.workstation import Workstation
from prepkit.cli.main import main
from prepkit.documents.list_json import write_list_json
from prepkit.kit.names import BIRTH_GESTATION, BIRTH_WEIGHT, BORN, WEIGHT_NOW
from prepkit.paths import find_shipped
from prepkit.store import open_sqlite

Json: TypeAlias = Any
KIT = "surfactant-supraglottic"
WARD = find_shipped("demo") / "ward.toml"
NOW = datetime(2026, 11, 28, 3, 10, tzinfo=UTC)
USUAL = {BIRTH_WEIGHT: "1450", BIRTH_GESTATION: "30+2"}
THIRD_DAY = {**USUAL, BORN: "2026-11-26", WEIGHT_NOW: "1310"}


@pytest.fixture(autouse=True)
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A home of its own, on a night of its own."""
    for name in ("PREPKIT_WARD", "PREPKIT_STORE"):
        monkeypatch.delenv(name, raising=False)
    for name in ("HOME", "XDG_CONFIG_HOME", "XDG_DATA_HOME"):
        monkeypatch.setenv(name, str(tmp_path / "home"))
    for name in ("list_command", "print_commands"):
        monkeypatch.setattr(f"prepkit.cli.{name}.read_clock", lambda: NOW)


def print_list(facts: Mapping[str, str], *more: str, command: str = "list") -> int:
    flags = [part for fact, typed in facts.items() for part in (f"--{fact.replace('_', '-')}", typed)]
    try:
        return main([command, KIT, "--ward", str(WARD), *flags, *more])
    except SystemExit as stopped:
        return int(stopped.code or 0)


def read_list(capsys: pytest.CaptureFixture[str], facts: Mapping[str, str]) -> Json:
    assert print_list(facts, "--format", "json") in {0, 1}
    return json.loads(capsys.readouterr().out)


def find_line(tray: Json, line: str) -> Json:
    return next(row for row in tray["lines"] if row["id"] == line)


@pytest.mark.parametrize("command", ["list", "sheet"])
@pytest.mark.parametrize(
    ("option", "named"),
    [("--weight", ("--birth-weight", "--weight-now")), ("--gestation", ("--birth-gestation", "--born"))],
)
@pytest.mark.parametrize("how", ["{} 30", "{}=30", "{}"])
def test_an_option_that_does_not_say_which_is_refused_and_names_those_that_do(
    capsys: pytest.CaptureFixture[str], command: str, option: str, named: tuple[str, str], how: str
) -> None:
    assert print_list(USUAL, *how.format(option).split(), command=command) == 2
    out, err = capsys.readouterr()
    assert out == ""
    said = err.splitlines()[-1]
    assert f"{option} does not say which" in said
    assert all(each in said for each in named)


def test_a_chart_is_made_for_a_gestation_at_birth(capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as stopped:
        main(["chart", KIT, "--ward", str(WARD), "--gestation", "30+2"])
    assert stopped.value.code == 2
    assert "--gestation does not say which: give --birth-gestation" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("facts", "wanted"),
    [
        ({}, ("--birth-weight", "--birth-gestation")),
        ({BIRTH_WEIGHT: "1450"}, ("--birth-gestation",)),
        ({BIRTH_GESTATION: "30+2", WEIGHT_NOW: "1310"}, ("--birth-weight",)),
        ({**USUAL, BIRTH_WEIGHT: "not known"}, ("--weight-now",)),
        ({**USUAL, BIRTH_WEIGHT: "Not known "}, ("--weight-now",)),
        ({**USUAL, BIRTH_WEIGHT: "not known", WEIGHT_NOW: "not weighed since"}, ("--weight-now",)),
    ],
)
def test_what_is_needed_follows_from_what_was_given(
    capsys: pytest.CaptureFixture[str], facts: dict[str, str], wanted: tuple[str, ...]
) -> None:
    assert print_list(facts) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert [row.partition(":")[0] for row in err.splitlines() if row.startswith("--")] == list(wanted)


def test_a_fact_that_is_wrong_is_no_usage_where_another_is_wanting(capsys: pytest.CaptureFixture[str]) -> None:
    assert print_list({BIRTH_WEIGHT: "1.45"}) == 3
    err = capsys.readouterr().err
    assert "Birth weight: " in err
    assert "--birth-gestation: is needed" in err


@pytest.mark.parametrize("fact", [BIRTH_WEIGHT, BIRTH_GESTATION, BORN, WEIGHT_NOW])
def test_a_core_fact_is_given_once_by_its_option_or_by_set(capsys: pytest.CaptureFixture[str], fact: str) -> None:
    assert print_list(THIRD_DAY, f"--set={fact}={THIRD_DAY[fact]}") == 3
    assert f'--set "{fact}": is given twice' in capsys.readouterr().err
    others = {name: typed for name, typed in THIRD_DAY.items() if name != fact}
    assert print_list(others, f"--set={fact}={THIRD_DAY[fact]}", "--format", "json") == 0
    by_set = capsys.readouterr().out
    assert print_list(THIRD_DAY, "--format", "json") == 0
    assert capsys.readouterr().out == by_set


BABIES = {
    "nobody said when": (USUAL, (1450, 1450, None, 212, 212, "2026-11-28", None)),
    "born today at a time": ({**USUAL, BORN: "01:10"}, (1450, 1450, None, 212, 212, "2026-11-28T01:10+00:00", 2)),
    "weighed on the third day": (THIRD_DAY, (1450, 1310, "2026-11-28", 212, 214, "2026-11-26", None)),
    "weighed the day before": (
        {**THIRD_DAY, WEIGHT_NOW: "1330 on 2026-11-27"},
        (1450, 1330, "2026-11-27", 212, 214, "2026-11-26", None),
    ),
    "not weighed since": (
        {**THIRD_DAY, WEIGHT_NOW: "not weighed since"},
        (1450, 1450, None, 212, 214, "2026-11-26", None),
    ),
    "to be weighed": ({**USUAL, BORN: "2026-11-26 03:10"}, (1450, None, None, 212, 214, "2026-11-26T03:10+00:00", 48)),
    "no birth weight": (
        {**THIRD_DAY, BIRTH_WEIGHT: "not known"},
        (None, 1310, "2026-11-28", 212, 214, "2026-11-26", None),
    ),
    "no gestation": (
        {**THIRD_DAY, BIRTH_GESTATION: "not known"},
        (1450, 1310, "2026-11-28", None, None, "2026-11-26", None),
    ),
}
SIZE = (
    "birth_weight_g",
    "weight_now_g",
    "weight_now_on",
    "birth_gestation_days",
    "gestation_today_days",
    "born",
    "age_h",
)


@pytest.mark.parametrize(("facts", "size"), BABIES.values(), ids=BABIES.keys())
def test_the_json_has_each_weight_each_gestation_and_the_age_or_null(
    capsys: pytest.CaptureFixture[str], facts: dict[str, str], size: tuple[object, ...]
) -> None:
    baby = read_list(capsys, facts)["baby"]
    assert tuple(baby[key] for key in SIZE) == size


@pytest.mark.parametrize(("facts", "_size"), BABIES.values(), ids=BABIES.keys())
def test_a_list_is_the_same_by_flags_as_from_a_resumed_preparation(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, facts: dict[str, str], _size: object
) -> None:
    files, path = WorkstationFiles(WARD, None), tmp_path / "preparations.sqlite"
    with open_sqlite(path) as store:
        opened = Workstation(store, files, who="RA", clock=lambda: NOW).start(KIT, "Cot 4")
        assert not isinstance(opened, str)
        assert [opened.baby.give_fact(fact, typed) for fact, typed in facts.items()] == [""] * len(facts)
        open_question = opened.session.work_out().weight
        if open_question is not None:
            assert opened.baby.confirm_weight(facts[open_question.fact]) == ""
        prep = opened.session.prep
    with open_sqlite(path) as store:
        resumed = Workstation(store, files, who="KM", clock=lambda: NOW).resume(prep)
        assert not isinstance(resumed, str)
        tray = resumed.session.work_out().tray
    assert tray is not None
    ours, theirs = json.loads(write_list_json(tray)), read_list(capsys, facts)
    if open_question is not None:
        # A command takes no second entry of a weight: that it was entered again is the one difference.
        for each in (ours, theirs):
            each["reasons"] = [row for row in each["reasons"] if row["criterion"] != "weight-for-gestation"]
    assert ours == theirs


def test_over_a_day_old_the_weight_now_is_wanted_and_what_goes_by_it_is_blocked(
    capsys: pytest.CaptureFixture[str],
) -> None:
    wanted = {**USUAL, BORN: "2026-11-26"}
    assert print_list(wanted) == 1
    text = " ".join(capsys.readouterr().out.split())
    assert "birth 1450, now ? g · 30+2, today 30+4" in text
    assert "GIVE THE WEIGHT NOW, or that the baby was not weighed since: it may be over 24 h old" in text
    assert "[BLOCKED] Atropine Blocked: the weight now is not known" in text
    assert "[ ] Surfactant: 3.6 mL" in text, "it goes by the birth weight"
    assert print_list(wanted, command="sheet") == 1
    assert "! GIVE THE WEIGHT NOW" in capsys.readouterr().out
    for weighed in ("1310", "not weighed since"):
        assert print_list({**wanted, WEIGHT_NOW: weighed}) == 0
        assert "GIVE THE WEIGHT NOW" not in capsys.readouterr().out


@pytest.mark.parametrize(
    ("weighed", "is_said"),
    [("1232", True), ("1233", False), ("1310", False), ("1522", False), ("1523", True)],
)
def test_a_weight_outside_its_range_of_the_birth_weight_stands_on_top_and_withholds_nothing(
    capsys: pytest.CaptureFixture[str], weighed: str, is_said: bool
) -> None:
    # 85 % and 105 % of 1450 g are 1232.5 g and 1522.5 g.
    facts = {**THIRD_DAY, WEIGHT_NOW: weighed}
    assert print_list(facts) == 0
    head = " ".join(capsys.readouterr().out.partition("Verdict")[0].split())
    assert (f"LOOK AT THE WEIGHT FIRST. {weighed} g now is" in head) == is_said
    assert print_list(facts, command="sheet") == 0
    assert ("! LOOK AT THE WEIGHT FIRST." in capsys.readouterr().out) == is_said


def test_a_line_says_that_it_stands_only_if_born_today_until_somebody_says_so(
    capsys: pytest.CaptureFixture[str],
) -> None:
    tray = read_list(capsys, USUAL)
    assert find_line(tray, "atropine")["remarks"] == ["if born today"]
    assert find_line(tray, "surfactant")["remarks"] == find_line(tray, "drape")["remarks"] == []
    said = read_list(capsys, {**USUAL, BORN: "today"})
    assert not [row["id"] for row in said["lines"] if row["remarks"]]
    assert "born" in tray["assumed"]
    assert "born" not in said["assumed"]
    assert print_list(USUAL) == 0
    assert "Default, not confirmed: Born 28 Nov 2026, " in capsys.readouterr().out


def test_a_line_says_that_it_goes_by_the_weight_now_where_the_birth_weight_is_not_known(
    capsys: pytest.CaptureFixture[str],
) -> None:
    facts = {**THIRD_DAY, BIRTH_WEIGHT: "not known"}
    tray = read_list(capsys, facts)
    said = "by the weight now: the birth weight is not known"
    assert find_line(tray, "surfactant")["remarks"] == [said]
    assert find_line(tray, "atropine")["remarks"] == []
    # By hand: 200 mg/kg x 1.31 kg / 80 mg/mL = 3.275 mL, on a syringe marked every 0.2 mL.
    assert find_line(tray, "surfactant")["amount"] == {"value": "3.2", "unit": "mL"}
    for command in ("list", "sheet"):
        assert print_list(facts, command=command) == 0
        assert f"      {said}\n" in capsys.readouterr().out
    assert print_list(facts, "--format", "html", command="sheet") == 0
    assert f"<em>{said}</em>" in capsys.readouterr().out


def test_a_header_says_both_weights_both_gestations_the_birth_and_the_age(capsys: pytest.CaptureFixture[str]) -> None:
    assert print_list({**THIRD_DAY, BORN: "2026-11-26 21:40"}) == 0
    rows = capsys.readouterr().out.splitlines()
    assert rows[1] == "birth 1450, now 1310 g · 30+2, today 30+4 · Heron Ward (invented)"
    assert rows[2] == "born 26 Nov 2026 21:40, 29 h old · weighed 28 Nov"
    assert print_list(THIRD_DAY, command="sheet") == 0
    head = " ".join(capsys.readouterr().out.partition("Printed")[0].split())
    assert head.startswith("birth 1450, now 1310 g · 30+2, today 30+4 · Surfactant through")
    # Born on a day: at 03:10 two nights later it is between 27 h and 51 h old.
    assert head.endswith("born 26 Nov 2026, 27–51 h old · weighed 28 Nov")
