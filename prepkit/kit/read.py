"""Read kits and ward files: text in, a checked model or every problem out.

The library stops at the first mistake; what it refuses `prepkit.kit.mistakes` goes through for every one.
"""

import hashlib
from collections.abc import Iterator, Mapping, Sequence
from typing import Any, Generic, TypeVar

import tomli
from msgspec import Struct, ValidationError

from prepkit.kit.check_kit import check_kit
from prepkit.kit.check_ward import check_ward, check_ward_for
from prepkit.kit.fields import read_table
from prepkit.kit.kit import Kit
from prepkit.kit.mistakes import find_mistakes
from prepkit.kit.problems import Mistake, Problem
from prepkit.kit.toml_text import explain_syntax, find_line, locate_keys
from prepkit.kit.ward import Ward
from prepkit.quantities.text import show_safely

MOST_BYTES = 1_000_000
_MOST_EXCERPT = 120
_MOST_BITS = 63
_MOST_NAME = 60
_NAMES = ("id", "product", "line", "what")
_LOCAL = "local"
_SCHEMA_KEY = "$schema"

Model = TypeVar("Model", Kit, Ward)


class ParsedFile(Struct, Generic[Model], frozen=True):
    """A file as read: the model together with the text it came from."""

    model: Model
    name: str
    """The file's name as shown to people."""
    text: str
    sha256: str


def read_kit(text: str, name: str) -> tuple[ParsedFile[Kit] | None, tuple[Problem, ...]]:
    """Read a kit from its text; `name` is the file's name as shown in problems."""
    return _read(text, name, Kit)


def read_ward(text: str, name: str) -> tuple[ParsedFile[Ward] | None, tuple[Problem, ...]]:
    """Read a ward file from its text; `name` is the file's name as shown in problems."""
    return _read(text, name, Ward)


def read_text(raw: bytes, name: str) -> tuple[str, tuple[Problem, ...]]:
    """Decode a file's bytes: UTF-8 without a byte-order mark, at most 1 MB."""
    if len(raw) > MOST_BYTES:
        return "", (Problem(name, 0, "", "is larger than 1 MB: not read"),)
    try:
        return raw.decode("utf-8-sig"), ()
    except UnicodeDecodeError as error:
        line = raw[: error.start].count(b"\n") + 1
        return "", (Problem(name, line, "", "is not UTF-8", "save the file as UTF-8"),)


def check_beside(ward: ParsedFile[Ward], kits: Sequence[ParsedFile[Kit]]) -> tuple[Problem, ...]:
    """The problems of a ward file that show only beside the kits it serves: products, lines, recipes."""
    mistakes = check_ward_for(ward.model, [kit.model for kit in kits])
    return _place(mistakes, tomli.loads(ward.text), ward.text, ward.name) if mistakes else ()


def _read(text: str, name: str, model: type[Model]) -> tuple[ParsedFile[Model] | None, tuple[Problem, ...]]:
    try:
        tables = tomli.loads(text)
    except tomli.TOMLDecodeError as error:
        rows = text.split("\n")
        wrong, hint = explain_syntax(error, rows)
        return None, (Problem(name, error.lineno, "", wrong, hint, _excerpt(rows, error.lineno)),)
    except RecursionError:
        return None, (Problem(name, 1, "", "is nested too deeply to be read"),)
    except ValueError:
        # The one error of tomli's that has no place: a decimal number too long for Python to read.
        return None, (Problem(name, 0, "", "holds a whole number that is too large"),)
    mistakes = _check(tables, model)
    if isinstance(mistakes, tuple):
        return None, _place(mistakes, tables, text, name)
    return ParsedFile(mistakes, name, text, hashlib.sha256(text.encode()).hexdigest()), ()


def _check(tables: dict[str, Any], model: type[Model]) -> Model | tuple[Mistake, ...]:
    tables.pop(_SCHEMA_KEY, None)
    too_large = tuple(_find_too_large(tables))
    if too_large:
        return too_large
    try:
        made = read_table(tables, model)
    except ValidationError:
        return tuple(find_mistakes(tables, model))
    mistakes = check_kit(made) if isinstance(made, Kit) else check_ward(made)
    return mistakes or made


def _find_too_large(tables: dict[str, Any]) -> Iterator[Mistake]:
    """Whole numbers past 64 bits, which TOML does not promise to hold and which Python may refuse to write out."""
    waiting: list[tuple[tuple[str | int, ...], object]] = [((), tables)]
    while waiting:
        path, value = waiting.pop()
        if isinstance(value, dict):
            waiting += (((*path, key), inside) for key, inside in value.items())
        elif isinstance(value, list):
            waiting += (((*path, at), inside) for at, inside in enumerate(value))
        elif isinstance(value, int) and value.bit_length() > _MOST_BITS:
            yield Mistake(path, "holds a whole number that is too large")


def _excerpt(rows: Sequence[str], line: int) -> str:
    row = rows[line - 1].strip() if 0 < line <= len(rows) else ""
    return show_safely(row[:_MOST_EXCERPT])


def _place(mistakes: tuple[Mistake, ...], tables: Mapping[str, Any], text: str, name: str) -> tuple[Problem, ...]:
    places, rows = locate_keys(text), text.split("\n")
    problems = []
    for mistake in mistakes:
        line = find_line(places, mistake.path)
        where = _name_part(mistake.path, tables)
        problems.append(Problem(name, line, where, mistake.wrong, mistake.hint, _excerpt(rows, line)))
    return tuple(sorted(set(problems), key=lambda problem: (problem.line, problem.wrong)))


def _name_part(path: tuple[str | int, ...], tables: Mapping[str, Any]) -> str:
    """Name the part of the file by its own id: `line "atropine"`."""
    if len(path) < 2 or not isinstance(path[1], int):  # noqa: PLR2004  (a table's name and its place in the file)
        return ""
    rows = tables.get(str(path[0]))
    row = rows[path[1]] if isinstance(rows, list) and path[1] < len(rows) else None
    if path[0] == _LOCAL and isinstance(row, dict) and (inner := _name_part(path[2:], row)):
        return inner
    label = next((row[key] for key in _NAMES if isinstance(row.get(key), str)), "") if isinstance(row, dict) else ""
    return f'{path[0]} "{show_safely(label[:_MOST_NAME])}"' if label else f"{path[0]} {path[1] + 1}"
