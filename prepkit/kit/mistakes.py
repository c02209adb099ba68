"""Every mistake of a file at once, each at the key path where it was written.

The library stops at the first one. So a file that it refuses is taken apart: each part is read by itself, and one that
has no mistake inside it is asked why it does not hold as a whole. What is refused so always has a mistake to show.
"""

from collections.abc import Iterator, Mapping
from types import NoneType, UnionType
from typing import Annotated, Any, Union, get_args, get_origin

from msgspec import Meta, ValidationError, convert

from prepkit.kit.explain import Path, Rules, explain_kind, explain_length, explain_part, explain_text, explain_unknown
from prepkit.kit.fields import FORM, FORM_KNOWN, KIND, Spec, list_keys, read_written
from prepkit.kit.problems import Mistake
from prepkit.quantities.amount import Amount
from prepkit.quantities.gestation import Gestation


def find_mistakes(written: object, kind: Any, path: Path = ()) -> Iterator[Mistake]:  # noqa: ANN401  (any annotation)
    """What keeps something written from being read as what an annotation says; nothing where it can be read."""
    plain, rules = _open(kind, written)
    inside = tuple(_look_inside(written, plain, rules, path))
    yield from inside
    if not inside:
        try:
            convert(written, kind, dec_hook=read_written)
        except ValidationError as error:
            yield explain_part(written, plain, rules, path, str(error))


def _open(kind: Any, written: object, rules: Rules = ()) -> tuple[Any, Rules]:  # noqa: ANN401  (as above)
    """The bare type, and the rules that stand around it. None is left out: no file can hold it."""
    parts: tuple[Any, ...] = get_args(kind)
    if get_origin(kind) is Annotated:
        return _open(parts[0], written, (*rules, *(mark for mark in parts[1:] if isinstance(mark, Meta))))
    if get_origin(kind) in {Union, UnionType}:
        parts = tuple(part for part in parts if part is not NoneType)
        if len(parts) > 1 and not all(map(_is_table, parts)):  # a span or a word
            parts = tuple(part for part in parts if _is_table(part) != isinstance(written, str))
        return _open(parts[0], written, rules) if len(parts) == 1 else (kind, rules)
    return kind, rules


def _is_table(kind: Any) -> bool:  # noqa: ANN401  (as above)
    return isinstance(kind, type) and issubclass(kind, Spec)


def _look_inside(written: object, plain: Any, rules: Rules, path: Path) -> Iterator[Mistake]:  # noqa: ANN401  (as above)
    form, parts = get_origin(plain), get_args(plain)
    if plain in {Amount, Gestation}:
        yield from explain_text(written, rules, path)
    elif form is tuple and isinstance(written, list):
        yield from explain_length(written, rules, path)
        for at, entry in enumerate(written):
            yield from find_mistakes(entry, parts[0], (*path, at))
    elif isinstance(written, dict):
        if form is dict:
            for key, entry in written.items():
                yield from find_mistakes(key, parts[0], (*path, key))
                yield from find_mistakes(entry, parts[1], (*path, key))
        elif form in {Union, UnionType}:
            yield from _choose_table(written, parts, path)
        elif _is_table(plain):
            yield from _look_into_table(written, plain, path)


def _choose_table(written: Mapping[str, object], tables: tuple[type[Spec], ...], path: Path) -> Iterator[Mistake]:
    by_kind: dict[object, type[Spec]] = {table.__struct_config__.tag: table for table in tables}
    got = written.get(KIND)
    if isinstance(got, str) and got in by_kind:
        yield from _look_into_table(written, by_kind[got], path)
    else:
        yield explain_kind(got, [str(kind) for kind in by_kind], path)


def _look_into_table(written: Mapping[str, object], table: type[Spec], path: Path) -> Iterator[Mistake]:
    keys = {key.name: key for key in list_keys(table)}
    for name in written:
        if name not in keys:
            yield explain_unknown(name, list(keys), path)
    for name, key in keys.items():
        if name in written:
            yield from find_mistakes(written[name], key.type, (*path, name))
        elif key.required:
            hint = f"write form = {FORM_KNOWN}, the form that this edition knows" if name == FORM else ""
            yield Mistake((*path, name), f'key "{name}" is missing', hint)
