"""Write rule-reference.md beside this file: every table and key of kits and ward files, and the rule of each kind.

All of it comes from the models' own fields, the table of rules, the vocabulary of units and the shipped files, so that
a new key, kind or unit stands there without a change here; a test holds the committed file to it.
"""

import inspect
import re
from collections.abc import Callable, Iterator
from datetime import date
from itertools import groupby
from pathlib import Path
from types import NoneType, UnionType
from typing import Annotated, Any, Literal, Union, get_args, get_origin

from msgspec import NODEFAULT, Meta
from msgspec.structs import FieldInfo
from reference_examples import find_example, find_value
from reference_examples import measures as fits_measures

from prepkit.kit.fields import FACT_ID_FORM, ID_FORM, Measures, Spec, find_measures, list_keys, read_table
from prepkit.kit.kit import Criterion, Fragment, Kit, PlacingLine, PlacingRow
from prepkit.kit.lines import Band, CommonLine, Line
from prepkit.kit.placing import PLACED
from prepkit.kit.spans import GestationSpan, Span, WeightSpan
from prepkit.kit.ward import Ward
from prepkit.quantities.gestation import Gestation
from prepkit.quantities.units import Dimension, list_units
from prepkit.rules.criteria import Criteria
from prepkit.rules.kinds import RULES

_HERE = Path(__file__).parent
_ROOT = _HERE.parent
_TARGET = _HERE / "rule-reference.md"
# What stands once instead of in every table that inherits it.
_SHARED: dict[type[Spec], str] = {CommonLine: "What every line has", Band: "What every band has"}
_IDS = {ID_FORM: "an id", FACT_ID_FORM: "a fact's id"}
_TOP = "the top of the file"
_HEAD = """\
# Rule reference

Written by `docs/make_reference.py` from the code; do not edit it by hand. Every table and every key of a kit and of a
ward file, what may stand there, and the rule that computes each kind of line. The examples are cut from the shipped
files. To learn by doing: [how to write a kit](how-to-write-a-kit.md) and
[how to write a ward file](how-to-write-a-ward-file.md).
"""
_FORMS = """\
## Forms of writing

**Amounts** are text: digits with a point, one space, a unit of the table below: `{amount}`. No comma, no
sign, no bare number.

**Gestations** are text, completed weeks and days: `{gestation}`.

**Ids** are small letters and digits, with `-` between words: `{id}`. The ids of facts have `_` instead: `{fact}`.

**Dates** are TOML's own, without quotes: `{date}`.

### Units

| Measures | May be written |
|---|---|
{units}

### Spans

A span says by its keys whether an edge belongs to it; one lower edge, one upper edge, or both.

| Key | Meaning |
|---|---|
{edges}

{spans}

Bands that follow each other share an edge: one of the two holds it (`below = "1000 g"`, then `at_least = "1000 g"`).
"""


def write_reference() -> str:
    """The whole reference, as text."""
    written: set[type[Spec]] = set()
    kits, wards = _write_file(Kit, written), _write_file(Ward, written)
    placed = {PlacingRow: [table for table in PLACED if table != "line"], PlacingLine: ["line"]}
    placing = [
        _write_section(_say_title(row), row, [f"`[[{'.'.join(PLACED[each])}]]`" for each in tables])
        for row, tables in placed.items()
    ]
    return "\n".join([_HEAD, *_write_index(), _write_forms(), "# Kits\n", *kits, *placing, "# Ward files\n", *wards])


def _write_index() -> Iterator[str]:
    """Which class and which rule each kind of line has."""
    yield "| Kind of line | Its keys | Its rule |\n|---|---|---|"
    for model in _find_models(Line):
        kind, title = _find_kind(model), _say_title(model)
        path = _find_path(RULES[kind])
        keys = f"[{title.lower()}](#{_slug(title)})"
        yield f"| `{kind}` | {keys} | `{RULES[kind].__name__}` in [`{path}`](../{path}) |"
    yield ""


# ------------------------------------------------------------------------------------------------------ forms, units


def _write_forms() -> str:
    units = [(kind, [f"`{unit}`" for unit in list_units(kind)]) for kind in Dimension if list_units(kind)]
    samples = (
        (
            '{ at_least = "1200 g", below = "2000 g" }',
            read_table({"at_least": "1200 g", "below": "2000 g"}, WeightSpan),
        ),
        ('{ above = "2000 g", at_most = "3000 g" }', read_table({"above": "2000 g", "at_most": "3000 g"}, WeightSpan)),
        ('{ at_least = "28+0" }', read_table({"at_least": "28+0"}, GestationSpan)),
    )
    return _FORMS.format(
        amount=find_value("dose", fits_measures((Dimension.MASS_PER_WEIGHT,))),
        gestation=find_value("at_least", lambda value: bool(re.fullmatch(r"\d\d\+\d", str(value)))),
        id=find_value("id", lambda value: "-" in str(value)),
        fact=find_value("id", lambda value: "_" in str(value)),
        date=find_value("review_by", lambda value: isinstance(value, date)),
        units="\n".join(f"| {kind} | {', '.join(texts)} |" for kind, texts in units),
        edges="\n".join(f"| `{key.name}` | {_find_description(key)} |" for key in list_keys(Span)),
        spans="\n".join(f"- `{text}` is read as: {span.words()}" for text, span in samples),
    )


# ------------------------------------------------------------------------------------------------------------ tables


def _write_file(top: type[Spec], written: set[type[Spec]]) -> Iterator[str]:
    for model, places in groupby(sorted(_find_places(top), key=lambda found: found[0]), key=lambda found: found[1]):
        for shared, title in _SHARED.items():
            if issubclass(model, shared) and shared not in written:
                written.add(shared)
                yield _write_section(title, shared, [])
        if model not in written:
            written.add(model)
            yield _write_section(_say_title(model), model, [place for _, _, place in places])


def _find_places(top: type[Spec]) -> list[tuple[int, type[Spec], str]]:
    """Every model that a file may hold, in the order of its first place, once for each place where it may stand."""
    order: dict[type[Spec], int] = {}
    found: list[tuple[int, type[Spec], str]] = []
    waiting = [(top, "", "")]
    while waiting:
        model, header, owner = waiting.pop()
        is_new = model not in order
        found.append((order.setdefault(model, len(order)), model, f"`{header}`{owner}" if header else _TOP))
        if is_new:
            children = [
                (child, *_say_place(header, key, model)) for key in list_keys(model) for child in _find_models(key.type)
            ]
            waiting += reversed(children)
    return list(dict.fromkeys(found))


def _say_place(header: str, key: FieldInfo, model: type[Spec]) -> tuple[str, str]:
    path = ".".join(part for part in (header.strip("[]"), key.name) if part)
    form = get_origin(get_args(key.type)[0])
    owner = f" of {_add_article(_say_title(model).lower())}" if _find_kind(model) else ""
    return {tuple: f"[[{path}]]", dict: f"[{path}.ID]"}.get(form, f"[{path}]"), owner  # type: ignore[call-overload]


def _find_models(annotation: Any) -> Iterator[type[Spec]]:  # noqa: ANN401  (any annotation)
    if isinstance(annotation, type) and issubclass(annotation, Spec):
        if not issubclass(annotation, Span):
            yield annotation
    else:
        for inside in get_args(annotation):
            yield from _find_models(inside)


def _write_section(title: str, model: type[Spec], places: list[str]) -> str:
    own = [shared for shared in _SHARED if issubclass(model, shared) and model is not shared]
    rows = [f"## {title}", "", inspect.getdoc(model) or "", ""]
    if places:
        rows += [f"Stands at {', '.join(places)}.", ""]
    skipped = {key.name for shared in own for key in list_keys(shared)}
    keys = [key for key in _sort_own_first(model) if key.name not in skipped]
    rows += ["| Key | What may stand there | Needed | Without it | Meaning |", "|---|---|---|---|---|"]
    rows += map(_write_row, keys)
    rows += ["", *(f"And [{_SHARED[shared].lower()}](#{_slug(_SHARED[shared])}).\n" for shared in own)]
    return "\n".join([*rows, *_write_rule(model), *_write_example(model, places)])


def _sort_own_first(model: type[Spec]) -> list[FieldInfo]:
    """The keys of a table, those that it shares with others last."""
    classes = [base for base in model.__mro__ if issubclass(base, Spec)]
    names = [{key.name for key in list_keys(base)} for base in classes]
    return sorted(list_keys(model), key=lambda key: -sum(key.name not in known for known in names))


def _write_row(key: FieldInfo) -> str:
    what = _say_type(key.type, key.name).removesuffix(f": {_find_description(key)}")
    needed = "yes" if key.required else "no"
    cells = (f"`{key.name}`", what, needed, _say_default(key), _find_description(key))
    return f"| {' | '.join(cell.replace('|', '/') for cell in cells)} |"


def _find_description(key: FieldInfo) -> str:
    return str(get_args(key.type)[-1].description)


def _say_default(key: FieldInfo) -> str:
    value = key.default
    if value in {NODEFAULT, None, ()} or isinstance(value, Spec):
        return "-"
    if isinstance(value, bool):
        return f"`{str(value).lower()}`"
    quoted = [f'"{item}"' for item in (value if isinstance(value, tuple) else (value,))]
    return f"`[{', '.join(quoted)}]`" if isinstance(value, tuple) else f"`{quoted[0]}`"


def _write_rule(model: type[Spec]) -> Iterator[str]:
    kind = _find_kind(model)
    rule = Criteria.check if model is Criterion else RULES.get(kind) if issubclass(model, CommonLine) else None
    if rule:
        path = _find_path(rule)
        said = " ".join((inspect.getdoc(rule) or "").partition("\nArgs:")[0].split())
        yield f"Computed by `{rule.__qualname__}` in [`{path}`](../{path}): {said}\n"


def _find_path(rule: Callable[..., object]) -> str:
    return Path(inspect.getfile(rule)).relative_to(_ROOT).as_posix()


def _write_example(model: type[Spec], places: list[str]) -> Iterator[str]:
    header = places[0].strip("`") if places and model is not Fragment else "-"
    if header == _TOP or re.fullmatch(r"\[+[a-z_]+(\.ID)?\]+", header):
        table = "" if header == _TOP else header.strip("[]").removesuffix(".ID")
        kind = f'kind = "{_find_kind(model)}"' if _find_kind(model) else ""
        example = find_example(table, kind, {key.name for key in list_keys(model)})
        yield f"```toml\n{example}\n```\n" if example else "No shipped file has one.\n"


# ------------------------------------------------------------------------------------------------------------- words


def _say_title(model: type[Spec]) -> str:
    return re.sub(r"(?<!^)([A-Z])", lambda found: f" {found[1].lower()}", model.__name__)


def _add_article(words: str) -> str:
    return f"{'an' if words.lstrip('[')[0] in 'aeiou' else 'a'} {words}"


def _slug(title: str) -> str:
    return title.lower().replace(" ", "-")


def _find_kind(model: type[Spec]) -> str:
    return str(model.__struct_config__.tag or "")


def _say_type(annotation: Any, key: str) -> str:  # noqa: ANN401, PLR0911  (any annotation, each form in its words)
    parts, form = get_args(annotation), get_origin(annotation)
    if form is Annotated:
        return _say_annotated(parts[0], parts[1:], key)
    if form in {Union, UnionType}:
        return " or ".join(dict.fromkeys(_say_type(part, key) for part in parts if part is not NoneType))
    if form is Literal:
        return "one of " + ", ".join(f'`"{word}"`' for word in parts) if len(parts) > 1 else f'`"{parts[0]}"`'
    if form is tuple:
        return f"an array, each {_say_type(parts[0], key)}"
    if form is dict:
        return f"a table by {_say_type(parts[0], '')}, each {_say_type(parts[1], key)}"
    if issubclass(annotation, Span):
        return f"a [span](#spans) of {_say_type(get_args(list_keys(annotation)[0].type)[0], key)}"
    if issubclass(annotation, Spec):
        return _add_article(f"[{_say_title(annotation).lower()}](#{_slug(_say_title(annotation))})")
    plain = {bool: "`true` or `false`", int: "a whole number", str: "text", date: "a date", Gestation: "a gestation"}
    return plain[annotation]


def _say_annotated(base: Any, marks: tuple[Meta, ...], key: str) -> str:  # noqa: ANN401  (as above)
    said = next((f": {mark.description}" for mark in reversed(marks) if mark.description), "")
    measures = next(filter(None, map(find_measures, marks)), None)
    if measures:
        return _say_amount(measures, key) + said
    if base is str:
        return next((_IDS[mark.pattern] for mark in marks if mark.pattern in _IDS), "text") + said
    least = next((at for mark in marks if (at := mark.min_length or mark.ge)), None)
    most = next((at for mark in marks if (at := mark.max_length or mark.le)), None)
    bounds = f"{least} to {most}" if least and most else f"at least {least}" if least else f"at most {most}"
    return _say_type(base, key) + (f" ({bounds})" if least or most else "") + said


def _say_amount(measures: Measures, key: str) -> str:
    kinds = "an amount" if len(measures.dimensions) > 1 else str(measures.dimensions[0])
    example = find_value(key, fits_measures(measures.dimensions, positive=measures.positive))
    said = f'{kinds}, such as `"{example}"`' if example else kinds
    return said + (", more than zero" if measures.positive else "")


def main() -> None:
    """Write the reference."""
    _TARGET.write_text(write_reference(), "utf-8")
    print(_TARGET.name)


if __name__ == "__main__":
    main()
