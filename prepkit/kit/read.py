"""Reading kits and ward files: text in, a checked model or every problem out. May import: `prepkit.kit`, tomli, pydantic."""

import hashlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from difflib import get_close_matches
from typing import Any, Generic, TypeVar

import tomli
from pydantic import ValidationError

from prepkit.kit.check_kit import check_kit
from prepkit.kit.check_ward import check_ward, check_ward_for
from prepkit.kit.fields import Spec
from prepkit.kit.finding import Finding
from prepkit.kit.kit import Kit
from prepkit.kit.locate import find_line, locate_keys
from prepkit.kit.problems import Problem
from prepkit.kit.ward import Ward

MOST_BYTES = 1_000_000
_MOST_EXCERPT = 120
_SCHEMA_KEY = "$schema"

Model = TypeVar("Model", Kit, Ward)


@dataclass(frozen=True, slots=True)
class Written(Generic[Model]):
    """A file as read: the model together with the text it came from."""

    model: Model
    name: str
    """The file's name as shown to people."""
    text: str
    sha256: str


def read_kit(text: str, name: str) -> tuple[Written[Kit] | None, tuple[Problem, ...]]:
    """Read a kit from its text; `name` is the file's name as shown in problems."""
    return _read(text, name, Kit)


def read_ward(text: str, name: str) -> tuple[Written[Ward] | None, tuple[Problem, ...]]:
    """Read a ward file from its text; `name` is the file's name as shown in problems."""
    return _read(text, name, Ward)


def read_text(raw: bytes, name: str) -> tuple[str, tuple[Problem, ...]]:
    """Decode a file's bytes: UTF-8 without a byte-order mark, at most 1 MB."""
    if len(raw) > MOST_BYTES:
        return "", (Problem(name, 0, "", f"is larger than 1 MB ({len(raw)} bytes): not read"),)
    try:
        return raw.decode("utf-8-sig"), ()
    except UnicodeDecodeError as error:
        line = raw[: error.start].count(b"\n") + 1
        return "", (Problem(name, line, "", "is not UTF-8", "save the file as UTF-8"),)


def check_beside(ward: Written[Ward], kits: Sequence[Written[Kit]]) -> tuple[Problem, ...]:
    """Give the problems of a ward file that show only beside the kits it serves: products, lines, recipes."""
    products = {product.id: product for kit in kits for product in kit.model.product}
    lines = frozenset(line.id for kit in kits for line in kit.model.line)
    findings = check_ward_for(ward.model, products, lines)
    return _place(findings, tomli.loads(ward.text), ward.text, ward.name) if findings else ()


def _read(text: str, name: str, model: type[Model]) -> tuple[Written[Model] | None, tuple[Problem, ...]]:
    try:
        tables = tomli.loads(text)
    except tomli.TOMLDecodeError as error:
        return None, (_explain_syntax(error, text, name),)
    except RecursionError:
        return None, (Problem(name, 1, "", "is nested too deeply to be read"),)
    findings = _check(tables, model)
    if isinstance(findings, tuple):
        return None, _place(findings, tables, text, name)
    return Written(findings, name, text, hashlib.sha256(text.encode()).hexdigest()), ()


def _check(tables: dict[str, Any], model: type[Model]) -> Model | tuple[Finding, ...]:
    tables.pop(_SCHEMA_KEY, None)
    try:
        made = model.model_validate(tables)
    except ValidationError as error:
        return tuple(_explain(item) for item in error.errors(include_url=False))
    findings = check_kit(made) if isinstance(made, Kit) else check_ward(made)
    return findings or made


def _explain_syntax(error: tomli.TOMLDecodeError, text: str, name: str) -> Problem:
    hint = ""
    if "Duplicate" in error.msg or "overwrite" in error.msg:
        hint = "each key may stand once in its table"
    return Problem(
        name, error.lineno, "", f"is not TOML: {error.msg} (column {error.colno})", hint, _excerpt(text, error.lineno)
    )


def _excerpt(text: str, line: int) -> str:
    rows = text.split("\n")
    row = rows[line - 1].strip() if 0 < line <= len(rows) else ""
    return "".join(c if c.isprintable() else "\N{REPLACEMENT CHARACTER}" for c in row[:_MOST_EXCERPT])


def _place(findings: tuple[Finding, ...], tables: Mapping[str, Any], text: str, name: str) -> tuple[Problem, ...]:
    places = locate_keys(text)
    problems = []
    for finding in findings:
        line = find_line(places, finding.path)
        where = _name_part(finding.path, tables)
        problems.append(Problem(name, line, where, finding.wrong, finding.hint, _excerpt(text, line)))
    return tuple(sorted(set(problems), key=lambda problem: (problem.line, problem.wrong)))


def _name_part(path: tuple[str | int, ...], tables: Mapping[str, Any]) -> str:
    """Name the part of the file by its own id: `line "atropine"`."""
    if len(path) < 2 or not isinstance(path[1], int):  # noqa: PLR2004  (a table's name and its place in the file)
        return ""
    rows = tables.get(str(path[0]))
    row = rows[path[1]] if isinstance(rows, list) and path[1] < len(rows) else None
    label = (
        next((row[key] for key in ("id", "product", "line") if isinstance(row.get(key), str)), None)
        if isinstance(row, dict)
        else None
    )
    return f'{path[0]} "{label}"' if label else f"{path[0]} {path[1] + 1}"


def _explain(item: Mapping[str, Any]) -> Finding:
    """One of pydantic's errors as a finding in our words."""
    path = _strip_tags(item["loc"])
    key = str(path[-1]) if path else ""
    match item["type"]:
        case "missing":
            return Finding(path, f'key "{key}" is missing')
        case "extra_forbidden":
            return Finding(path, f'unknown key "{key}"', _suggest(key, _list_keys()))
        case "union_tag_invalid":
            expected = item["ctx"]["expected_tags"]
            return Finding((*path, "kind"), f"kind must be one of {expected} (got {item['ctx']['tag']!r})",
                           _suggest(str(item["ctx"]["tag"]), expected.replace("'", "").split(", ")))  # fmt: skip
        case "union_tag_not_found":
            return Finding(path, 'key "kind" is missing')
        case "literal_error":
            expected = item["ctx"]["expected"]
            return Finding(path, f"{key} must be {expected} (got {_quote(item['input'])})",
                           _suggest(str(item["input"]), expected.replace("'", "").replace(" or ", ", ").split(", ")))  # fmt: skip
        case "amount" | "gestation" | "positive" | "span" | "rule":
            return Finding(path, f"{key} {item['msg']}")
        case "string_pattern_mismatch":
            return Finding(
                path, f"{key} has a form that is not allowed (got {_quote(item['input'])})", _explain_form(key)
            )
        case _:
            return Finding(path, f"{key}: {item['msg'][0].lower()}{item['msg'][1:]} (got {_quote(item['input'])})")


def _explain_form(key: str) -> str:
    if key in {"id", "product", "line", "group"}:
        return "ids are small letters, digits and hyphens"
    return "text may not begin or end with a space, nor hold a line break"


def _strip_tags(loc: tuple[str | int, ...]) -> tuple[str | int, ...]:
    """Take out what pydantic puts into a path for unions: the kind of a line, the name of a model."""
    tagged = {"line", "fact"}
    path = [part for at, part in enumerate(loc) if not (at == 2 and loc[0] in tagged)]  # noqa: PLR2004  (table, place, kind)
    return tuple(part for part in path if not (isinstance(part, str) and (part.startswith(("Span[", "constrained-")))))


def _quote(value: object) -> str:
    text = repr(value) if not isinstance(value, str) else f'"{value}"'
    return text if len(text) <= _MOST_EXCERPT else text[:_MOST_EXCERPT] + "..."


def _suggest(got: str, known: list[str]) -> str:
    close = get_close_matches(got, known, n=1, cutoff=0.6)
    return f'did you mean "{close[0]}"?' if close else ""


def _list_keys(model: type[Spec] = Spec) -> list[str]:
    keys = {field.alias or name for name, field in model.model_fields.items()}
    return sorted(keys.union(*(_list_keys(child) for child in model.__subclasses__())))
