"""Fragments: what several kits share, written once in files of their own. All tables of one stand under its name.

So a kit's text with those of its fragments behind it is one file again: this is what is stored with a preparation, and
read from there with no other file at hand. `prepkit.kit.placing` puts their rows in the kit's order.
"""

import re
from collections.abc import Iterator, Mapping
from functools import lru_cache
from typing import Any

import tomli
from msgspec import Struct

from prepkit.kit.fields import ID_FORM
from prepkit.kit.parts import TextPart, parse_parts, place_problem
from prepkit.kit.problems import Problem

NAMED, TABLE = "fragments", "fragment"
"""A kit's key that names its fragments, and the table that they are in."""
_HEADER = re.compile(r"^[ \t]*\[", re.MULTILINE)
_BLANK = re.compile(r"(?:\s++|#[^\n]*+)*+")


class FragmentFile(Struct, frozen=True):
    """A fragment's file as it lies beside a kit, not checked yet."""

    part: TextPart
    problems: tuple[Problem, ...] = ()
    """Why there is no text in it."""


@lru_cache(maxsize=16)
def list_wanted(text: str) -> tuple[str, ...]:
    """The fragments that a kit names and does not hold; none where it cannot be read, which its reading will say.

    Only what stands before the first header is parsed: screens ask at every redraw, and it is cached for them.
    """
    first = _HEADER.search(text)
    try:
        names = tomli.loads(text[: first.start()] if first else text).get(NAMED)
    except (ValueError, RecursionError):
        return ()
    written = [name for name in names if isinstance(name, str)] if isinstance(names, list) else []
    ids = [name for name in dict.fromkeys(written) if re.match(ID_FORM, name)]
    return tuple(name for name in ids if not _find_header(text, f"{TABLE}.{name}"))


@lru_cache(maxsize=64)
def check_form(fragment: str, file: FragmentFile) -> tuple[Problem, ...]:
    """What keeps a fragment's text from standing behind a kit's: no TOML, or a table that is not its own."""
    if file.problems:
        return file.problems
    tables = parse_parts((file.part,))
    return (tables,) if isinstance(tables, Problem) else tuple(_find_foreign(fragment, file.part, tables))


def _find_foreign(fragment: str, part: TextPart, tables: Mapping[str, Any]) -> Iterator[Problem]:
    own = f"{TABLE}.{fragment}"
    hint = f"its tables stand under its name: [[{own}.line]], [{own}.sources.example]"
    start = _BLANK.match(part.text)
    at = start.end() if start else 0
    if not tables or tables == {TABLE: {}}:
        yield place_problem((part,), 0, "", "holds nothing", hint)
    elif part.text[at] != "[":
        line = part.text.count("\n", 0, at) + 1
        yield place_problem((part,), line, "", "stands before the first header: it would belong to the kit", hint)
    else:
        inside = tables.get(TABLE)
        names = [name for name in tables if name != TABLE or not isinstance(inside, dict)]
        names += [f"{TABLE}.{name}" for name in inside if name != fragment] if isinstance(inside, dict) else []
        for name in names:
            wrong = f'table "{name}" does not stand under the name of its file'
            yield place_problem((part,), _find_header(part.text, name), "", wrong, f'write "{own}"')


def _find_header(text: str, name: str) -> int:
    """The line of the first header of a table or of one inside it; 0 where none is written so."""
    if name not in text:
        return 0
    found = re.search(rf"^[ \t]*\[+[ \t]*{re.escape(name)}[ \t]*[.\]]", text, re.MULTILINE)
    return text.count("\n", 0, found.end()) + 1 if found else 0
