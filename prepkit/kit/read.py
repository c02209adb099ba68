"""Read kits and ward files: text in, a checked model or every problem out.

The library stops at the first mistake; what it refuses `prepkit.kit.mistakes` goes through for every one.
"""

import hashlib
from collections.abc import Collection, Iterator, Mapping, Sequence
from functools import lru_cache
from types import MappingProxyType
from typing import Any, Generic, TypeVar

import tomli
from msgspec import Struct, ValidationError
from msgspec.structs import replace

from prepkit.kit.check_kit import check_fragment, check_kit
from prepkit.kit.check_ward import check_ward, check_ward_for
from prepkit.kit.fields import FORM, FORM_KNOWN, Spec, read_table
from prepkit.kit.fragments import TABLE, FragmentFile, check_form, list_wanted
from prepkit.kit.kit import Fragment, Kit
from prepkit.kit.mistakes import find_mistakes
from prepkit.kit.parts import TextPart, join_texts, parse_parts, place_mistakes
from prepkit.kit.placing import assemble
from prepkit.kit.problems import Mistake, Problem
from prepkit.kit.ward import Ward

MOST_BYTES = 1_000_000
_MOST_BITS = 63
_SCHEMA_KEY = "$schema"
_NO_FRAGMENTS: Mapping[str, FragmentFile] = MappingProxyType({})

Model = TypeVar("Model", Kit, Ward)
Made = TypeVar("Made", bound=Spec)


class ParsedFile(Struct, Generic[Model], frozen=True):
    """A file as read: the model together with the text it came from."""

    model: Model
    name: str
    """The file's name as shown to people."""
    text: str
    sha256: str


def read_kit(
    text: str, name: str, fragments: Mapping[str, FragmentFile] = _NO_FRAGMENTS
) -> tuple[ParsedFile[Kit] | None, tuple[Problem, ...]]:
    """Read a kit from its text.

    Args:
        text: the kit's; that of a fragment may stand behind it, as it does in what is stored.
        name: the file's name as shown in problems.
        fragments: the fragments that there are, by name, for those that the text names and does not hold.
    """
    wanted = {each: fragments[each] for each in list_wanted(text) if each in fragments}
    problems = tuple(problem for each, file in wanted.items() for problem in check_form(each, file))
    if problems:
        return None, problems
    parts = (TextPart(name, text), *(file.part for file in wanted.values()))
    tables = parse_parts(parts)
    if isinstance(tables, Problem):
        return None, (tables,)
    tables.pop(_SCHEMA_KEY, None)
    kit = _check_kit(tables, fragments)
    problems = place_mistakes(kit, tables, parts) if isinstance(kit, tuple) else ()
    inside = [problem for each, file in wanted.items() for problem in read_fragment(each, file)]
    told = {replace(problem, where="") for problem in inside}
    problems = (*(each for each in problems if replace(each, where="") not in told), *inside)
    return (None, problems) if problems or isinstance(kit, tuple) else (_keep(kit, parts), ())


def read_ward(text: str, name: str) -> tuple[ParsedFile[Ward] | None, tuple[Problem, ...]]:
    """Read a ward file from its text; `name` is the file's name as shown in problems."""
    parts = (TextPart(name, text),)
    tables = parse_parts(parts)
    if isinstance(tables, Problem):
        return None, (tables,)
    tables.pop(_SCHEMA_KEY, None)
    ward = _check(tables, Ward)
    mistakes = ward if isinstance(ward, tuple) else check_ward(ward)
    if isinstance(ward, tuple) or mistakes:
        return None, place_mistakes(mistakes, tables, parts)
    return _keep(ward, parts), ()


@lru_cache(maxsize=64)
def read_fragment(fragment: str, file: FragmentFile) -> tuple[Problem, ...]:
    """Read a fragment without a kit: what is wrong with it in any."""
    problems = check_form(fragment, file)
    tables = parse_parts((file.part,))
    if problems or isinstance(tables, Problem):
        return problems
    made = _check(tables[TABLE][fragment], Fragment)
    found = made if isinstance(made, tuple) else check_fragment(made, ())
    mistakes = [replace(each, path=(TABLE, fragment, *each.path)) for each in found]
    return place_mistakes(mistakes, tables, (file.part,)) if mistakes else ()


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
    return place_mistakes(mistakes, tomli.loads(ward.text), (TextPart(ward.name, ward.text),)) if mistakes else ()


def _check_kit(tables: dict[str, Any], fragments: Collection[str]) -> Kit | tuple[Mistake, ...]:
    """The kit with the rows of its fragments in their places; or every mistake, where it was written."""
    if too_large := tuple(_find_too_large(tables)):  # before a row is placed, since a problem quotes what it found
        return too_large
    assembled = assemble(tables, fragments)
    kit = _check(assembled.tables, Kit)
    if isinstance(kit, tuple) and TABLE in tables:  # of the fragments too, every mistake at its own place
        kit = _check(assembled.tables | {TABLE: tables[TABLE]}, Kit)
    if isinstance(kit, tuple) or assembled.mistakes:
        return (*assembled.mistakes, *map(assembled.trace, kit if isinstance(kit, tuple) else ()))
    return tuple(assembled.trace(each, kit.id) for each in check_kit(kit)) or replace(kit, fragment={})


def _check(tables: object, model: type[Made]) -> Made | tuple[Mistake, ...]:
    too_large = tuple(_find_too_large(tables))
    if too_large:
        return too_large
    try:
        return read_table(tables, model)
    except ValidationError:
        mistakes = tuple(find_mistakes(tables, model))
        # Of another form nobody here knows what is right: only that is told.
        other = isinstance(tables, dict) and tables.get(FORM, FORM_KNOWN) != FORM_KNOWN
        return tuple(each for each in mistakes if each.path == (FORM,)) if other else mistakes


def _keep(model: Model, parts: Sequence[TextPart]) -> ParsedFile[Model]:
    text = join_texts([part.text for part in parts])
    return ParsedFile(model, parts[0].name, text, hashlib.sha256(text.encode()).hexdigest())


def _find_too_large(tables: object) -> Iterator[Mistake]:
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
