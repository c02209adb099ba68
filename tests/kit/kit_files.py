"""The shipped kit and the demo ward as texts, and small changes to them."""

import re
from dataclasses import dataclass
from pathlib import Path

from shipped import read_kit_text

from prepkit.kit.kit import Kit
from prepkit.kit.problems import Problem
from prepkit.kit.read import ParsedFile, check_beside, read_kit, read_ward
from prepkit.kit.ward import Ward
from prepkit.paths import find_shipped

KIT_PATH = find_shipped("kits") / "surfactant-supraglottic.toml"
WARD_PATH = find_shipped("demo") / "ward.toml"
KIT_TEXT = read_kit_text()
WARD_TEXT = WARD_PATH.read_text("utf-8")
HERE = "‡"
"""Stands in a changed text where the problem is to be found; taken out before reading."""


@dataclass(frozen=True)
class Change:
    """One small change to a file, and the problem that it has to give at the line of the mark."""

    old: str
    new: str
    wrong: str
    hint: str = ""
    where: str = ""
    count: int = 1

    def apply(self, text: str) -> tuple[str, int]:
        """The changed text, and the line of the mark in it."""
        assert text.count(self.old) == 1, f"{text.count(self.old)} of {self.old!r}"
        marked = text.replace(self.old, self.new)
        assert marked.count(HERE) == 1, "a change marks one line"
        return marked.replace(HERE, ""), marked[: marked.index(HERE)].count("\n") + 1


def read_changes(name: str) -> dict[str, Change]:
    """The changes written in a file beside this one, by their names; the file says how."""
    blocks = re.split(r"^== (.+)\n", Path(__file__).with_name(name).read_text("utf-8"), flags=re.MULTILINE)
    # What stands before the second name is the file's explanation of itself.
    return {title: _read_change(block) for title, block in zip(blocks[3::2], blocks[4::2], strict=True)}


def _read_change(block: str) -> Change:
    rows = block.split("\n")
    old, new = ("\n".join(row[2:] for row in rows if row[:1] == sign) for sign in "-+")
    said = dict(row.split(": ", 1) for row in rows if re.match(r"(wrong|hint|where|count): ", row))
    return Change(old, new, said["wrong"], said.get("hint", ""), said.get("where", ""), int(said.get("count", "1")))


def check_change(change: Change, text: str, problems: tuple[Problem, ...], name: str, line: int) -> None:
    """The change's problem is there, with its place, its line of the file, its hint; and no more than it says."""
    said = "\n".join(problem.words() for problem in problems)
    found = [problem for problem in problems if change.wrong in problem.wrong and problem.line == line]
    assert len(found) == 1, said
    assert len(problems) == change.count, said
    assert found[0].file == name
    assert found[0].excerpt == text.split("\n")[line - 1].strip()[:120]
    assert change.where in found[0].where
    assert change.hint in found[0].hint
    assert found[0].words().startswith(f"{name}:{line}: ")


def take_kit(text: str = KIT_TEXT) -> ParsedFile[Kit]:
    kit, problems = read_kit(text, "kit.toml")
    assert kit is not None, "\n".join(problem.words() for problem in problems)
    return kit


def take_ward(text: str = WARD_TEXT) -> ParsedFile[Ward]:
    ward, problems = read_ward(text, "ward.toml")
    assert ward is not None, "\n".join(problem.words() for problem in problems)
    return ward


def read_ward_beside(text: str, kit: ParsedFile[Kit]) -> tuple[Problem, ...]:
    """Every problem of a ward file, alone and beside a kit."""
    ward, problems = read_ward(text, "ward.toml")
    return check_beside(ward, (kit,)) if ward else problems
