"""Two devices on one list as real programs, and a third that is killed: nothing said to be done is lost."""

import subprocess
import sys
from pathlib import Path
from typing import TypeAlias

from workstation_scene import MakeDesk, list_lines, start

from prepkit.app.open_preparation import OpenPreparation

PROGRAM = Path(__file__).with_name("ticking_program.py")
Program: TypeAlias = "subprocess.Popen[str]"


def launch(folder: Path, ward: Path, prep: str, who: str, lines: list[str]) -> Program:
    store = folder / "store" / "preparations.sqlite"
    program = subprocess.Popen(
        [sys.executable, str(PROGRAM), str(store), str(ward), prep, who, *lines],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
    )
    assert program.stdout is not None
    assert program.stdout.readline() == "ready\n"
    return program


def go(program: Program) -> None:
    assert program.stdin is not None
    program.stdin.write("go\n")
    program.stdin.flush()


def read_done(rows: list[str]) -> set[str]:
    return {row.removeprefix("done ").strip() for row in rows if row.startswith("done ")}


def find_ticked(opened: OpenPreparation, who: str) -> set[str]:
    return {line for line, tick in opened.session.state.ticks.items() if tick.stamp.who == who}


def test_two_programs_tick_one_list_and_a_killed_third_loses_nothing_it_said(
    make_desk: MakeDesk, tmp_path: Path, ward_file: Path
) -> None:
    desk = make_desk(who="RA")
    opened = start(desk)
    # The programs go by the clock of the machine, on which the baby is days older.
    assert opened.baby.give_fact("weight_now", "not weighed since") == ""
    lines = list_lines(opened)
    one, two, shared = lines[:8], lines[8:16], lines[16:22]
    first = launch(tmp_path, ward_file, opened.session.prep, "KM", [*one, *shared])
    second = launch(tmp_path, ward_file, opened.session.prep, "TO", [*two, *shared])
    third = launch(tmp_path, ward_file, opened.session.prep, "LB", lines[22:])
    for program in (third, first, second):
        go(program)
    assert third.stdout is not None
    said = [third.stdout.readline()]
    third.kill()
    said += third.stdout.read().splitlines()
    rest = {who: program.communicate()[0].splitlines() for who, program in (("KM", first), ("TO", second))}
    third.communicate()

    assert desk.has_news()
    assert opened.session.refresh()
    assert read_done(said), "it had said that one line was done before it was killed"
    assert read_done(said) <= find_ticked(opened, "LB")
    for who, own in (("KM", one), ("TO", two)):
        assert set(own) <= read_done(rest[who])
        assert read_done(rest[who]) == find_ticked(opened, who), "neither lost nor overwritten"
    refused = [row for rows in rest.values() for row in rows if row.startswith("refused ")]
    assert len(refused) == len(shared), "each line that both ticked was refused to one of them"
    assert all("was ticked by" in row for row in refused), refused
