"""The parts of one text, such as a kit with its fragments behind it; each problem in the part where it stands."""

from collections.abc import Mapping, Sequence
from typing import Any

import tomli
from msgspec import Struct

from prepkit.kit.problems import Mistake, Problem
from prepkit.kit.toml_text import explain_syntax, find_line, locate_keys
from prepkit.quantities.text import show_safely

_MOST_EXCERPT = 120
_MOST_NAME = 60
_NAMES = ("id", "product", "line", "what")
_LOCAL, _FRAGMENT, _PROCEDURE = "local", "fragment", "procedure"


class TextPart(Struct, frozen=True):
    """One file's share of a text."""

    name: str
    """The file's name as shown in problems."""
    text: str


def join_texts(texts: Sequence[str]) -> str:
    """One text behind the other, each beginning on a line of its own."""
    return "".join(text if at == 0 or texts[at - 1].endswith("\n") else f"\n{text}" for at, text in enumerate(texts))


def parse_parts(parts: Sequence[TextPart]) -> dict[str, Any] | Problem:
    """The tables of the parts as of one file, or why they are none."""
    text = join_texts([part.text for part in parts])
    try:
        return tomli.loads(text)
    except tomli.TOMLDecodeError as error:
        # What the first part leaves open runs on into the next.
        if len(parts) > 1 and isinstance(alone := parse_parts(parts[:1]), Problem):
            return alone
        wrong, hint = explain_syntax(error, text.split("\n"))
        return place_problem(parts, error.lineno, "", wrong, hint)
    except RecursionError:
        return Problem(parts[0].name, 1, "", "is nested too deeply to be read")
    except ValueError:
        # The one error of tomli's that has no place: a decimal number too long for Python to read.
        return Problem(parts[0].name, 0, "", "holds a whole number that is too large")


def place_mistakes(
    mistakes: Sequence[Mistake], tables: Mapping[str, Any], parts: Sequence[TextPart]
) -> tuple[Problem, ...]:
    """Give mistakes their place: in which file, on which line, in what that calls itself."""
    places = locate_keys(join_texts([part.text for part in parts]))
    problems = {}
    for mistake in mistakes:
        line = find_line(places, mistake.path)
        where = _name_part(mistake.path, tables)
        if where and mistake.kit:
            where = f'{where} as kit "{mistake.kit}" places it'
        problems[place_problem(parts, line, where, mistake.wrong, mistake.hint)] = line
    return tuple(sorted(problems, key=lambda problem: (problems[problem], problem.wrong)))


def place_problem(parts: Sequence[TextPart], line: int, where: str, wrong: str, hint: str) -> Problem:
    """A problem of a line of the joined text, on its line of its own file."""
    for part in parts:
        rows = part.text.removesuffix("\n").count("\n") + 1
        if line <= rows or part is parts[-1]:
            return Problem(part.name, line, where, wrong, hint, _excerpt(part.text.split("\n"), line))
        line -= rows
    raise ValueError("a text without parts")


def _excerpt(rows: Sequence[str], line: int) -> str:
    row = rows[line - 1].strip() if 0 < line <= len(rows) else ""
    return show_safely(row[:_MOST_EXCERPT])


def _name_part(path: tuple[str | int, ...], tables: Mapping[str, Any]) -> str:
    """Name the part of the file by its own id: `line "atropine"`."""
    if len(path) < 2:  # noqa: PLR2004  (a table's name and its place in the file)
        return ""
    if path[0] == _FRAGMENT and isinstance(fragments := tables.get(_FRAGMENT), dict):
        inside = fragments.get(path[1])
        return _name_part(path[2:], inside) if isinstance(inside, dict) else ""
    if path[0] == _PROCEDURE and isinstance(procedure := tables.get(_PROCEDURE), dict):
        return _name_part(path[1:], procedure)
    if not isinstance(path[1], int):
        return ""
    rows = tables.get(str(path[0]))
    row = rows[path[1]] if isinstance(rows, list) and path[1] < len(rows) else None
    if path[0] == _LOCAL and isinstance(row, dict) and (inner := _name_part(path[2:], row)):
        return inner
    label = next((row[key] for key in _NAMES if isinstance(row.get(key), str)), "") if isinstance(row, dict) else ""
    return f'{path[0]} "{show_safely(label[:_MOST_NAME])}"' if label else f"{path[0]} {path[1] + 1}"
