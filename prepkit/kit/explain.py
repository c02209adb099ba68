"""What pydantic says of a field, in our words: a finding at the key path that the person wrote.

An unknown key is told together with the keys that may stand in its place, found from the forms.
"""

import re
from collections.abc import Callable, Mapping
from difflib import get_close_matches
from itertools import pairwise
from types import MappingProxyType, NoneType, UnionType
from typing import Annotated, Any, Union, get_args, get_origin

from pydantic import ValidationError

from prepkit.kit.fields import Spec
from prepkit.kit.finding import Finding
from prepkit.kit.forms import SPAN_TAG, WORD_TAG, Form, find_form
from prepkit.quantities.text import show_safely

_MOST_QUOTED = 120
_TAGGED = frozenset({"line", "fact", "reading"})
_TABLE = "must be a table"
# Words that people write for a key of ours; each counts only where that key may stand.
_MEANT: Mapping[str, tuple[str, ...]] = MappingProxyType(
    {
        "from": ("at_least", "low"),
        "instructions": ("how",),
        "label": ("name",),
        "max": ("most", "at_most", "high"),
        "maximum": ("most", "at_most", "high"),
        "min": ("least", "at_least", "low"),
        "minimum": ("least", "at_least", "low"),
        "over": ("above",),
        "title": ("name",),
        "to": ("at_most", "high"),
        "under": ("below",),
        "warnings": ("cautions",),
    }
)
# What a person can do something with, for each of pydantic's kinds of error; {...} are of its context.
_PLAIN = MappingProxyType(
    {
        "bool_type": "must be true or false",
        "date_from_datetime_parsing": "must be a date, such as 2027-11-30",
        "date_type": "must be a date, such as 2027-11-30",
        "greater_than_equal": "must be at least {ge}",
        "int_type": "must be a whole number",
        "less_than_equal": "must be at most {le}",
        "string_too_long": "must have at most {max_length} characters",
        "string_too_short": "must not be empty",
        "string_type": "must be text in quotes",
        "too_long": "must have at most {max_length} entries",
        "too_short": "must have at least {min_length} of them",
    }
)


def find_errors(tables: Mapping[str, object], table: type[Spec]) -> tuple[Finding, ...]:
    """What the form of a table refuses of a file, as findings in our words."""
    form = find_form(table)
    try:
        form.model_validate(tables)
    except ValidationError as error:
        items = error.errors(include_url=False)
        return tuple(_explain(item, form) for item in items if not _is_echo(item))
    return ()


def _is_echo(item: Mapping[str, Any]) -> bool:
    """Whether an array is called too short because of entries that are wrong, which are told by themselves."""
    return bool(item["type"] == "too_short" and len(item["input"]) >= item["ctx"]["min_length"])


def _explain(item: Mapping[str, Any], form: type[Form]) -> Finding:
    path = _strip_tags(item["loc"])
    if item["type"] == "extra_forbidden":
        return _explain_unknown(path, _name_key(path), list_keys(form, item["loc"][:-1]))
    explain_one = _EXPLAINERS.get(item["type"], _explain_plainly)
    return explain_one(path, _name_key(path), item)


def _explain_missing(path: tuple[str | int, ...], key: str, _: Mapping[str, Any]) -> Finding:
    return Finding(path, f'key "{key}" is missing')


def _explain_unknown(path: tuple[str | int, ...], key: str, known: list[str]) -> Finding:
    meant = [name for name in _MEANT.get(key, ()) if name in known]
    hint = f'did you mean "{meant[0]}"?' if meant else _suggest(key, known)
    return Finding(path, f'unknown key "{show_safely(key)}"', hint or f"keys that may stand here: {', '.join(known)}")


def _explain_tag(path: tuple[str | int, ...], _: str, item: Mapping[str, Any]) -> Finding:
    got, expected = str(item["ctx"]["tag"]), item["ctx"]["expected_tags"]
    wrong = f"kind must be one of {expected.replace(chr(39), chr(34))} (got {_quote(got)})"
    return Finding((*path, "kind"), wrong, _suggest(got, re.findall(r"'([^']+)'", expected)))


def _explain_no_tag(path: tuple[str | int, ...], _key: str, _: Mapping[str, Any]) -> Finding:
    return Finding(path, 'key "kind" is missing')


def _explain_word(path: tuple[str | int, ...], key: str, item: Mapping[str, Any]) -> Finding:
    got, expected = item["input"], item["ctx"]["expected"]
    wrong = f"{key} must be {expected.replace(chr(39), chr(34))} (got {_quote(got)})"
    words = re.findall(r"'([^']+)'", expected)
    return Finding(path, wrong, _suggest(got, words) if isinstance(got, str) else "")


def _explain_own(path: tuple[str | int, ...], key: str, item: Mapping[str, Any]) -> Finding:
    return Finding(path, f"{key} {show_safely(item['msg'])}")


def _explain_form(path: tuple[str | int, ...], key: str, item: Mapping[str, Any]) -> Finding:
    if "12,14" in item["ctx"]["pattern"]:
        wrong = f"{key} is no GTIN (got {_quote(item['input'])})"
        return Finding(path, wrong, "a GTIN is 8, 12, 13 or 14 digits, as under the barcode")
    is_id = "a-z0-9" in item["ctx"]["pattern"]
    letters = "_" if "(_" in item["ctx"]["pattern"] else "-"
    meant = re.sub(r"[^a-z0-9]+", letters, str(item["input"]).lower()).strip(letters)[:_MOST_QUOTED]
    hint = (
        f'ids are small letters and digits, with "{letters}" between words: "{meant or "x"}"'
        if is_id
        else "text may not begin or end with a space, nor hold a line break or an invisible character"
    )
    return Finding(path, f"{key} has a form that is not allowed (got {_quote(item['input'])})", hint)


def _explain_array(path: tuple[str | int, ...], key: str, item: Mapping[str, Any]) -> Finding:
    got = item["input"]
    hint = f"write {key} = [{_quote(got)}]" if isinstance(got, str) else ""
    if isinstance(got, dict) and len(path) == 1:
        hint = f"write [[{key}]], with two brackets"
    return Finding(path, f"{key} must be an array (got {_quote(got)})", hint)


def _explain_table(path: tuple[str | int, ...], key: str, item: Mapping[str, Any]) -> Finding:
    got, is_span = item["input"], str(item.get("ctx", {}).get("class_name", "")).startswith("Span")
    hint = "say the edges by their keys, such as { at_least = ..., below = ... }" if is_span else ""
    return Finding(path, f"{key} {_TABLE} (got {_quote(got)})", hint)


def _explain_plainly(path: tuple[str | int, ...], key: str, item: Mapping[str, Any]) -> Finding:
    plain = _PLAIN.get(item["type"])
    said = plain.format(**item.get("ctx", {})) if plain else item["msg"][0].lower() + item["msg"][1:]
    return Finding(path, f"{key} {said} (got {_quote(item['input'])})")


_EXPLAINERS: Mapping[str, Callable[[tuple[str | int, ...], str, Mapping[str, Any]], Finding]] = MappingProxyType(
    {
        "missing": _explain_missing,
        "union_tag_invalid": _explain_tag,
        "union_tag_not_found": _explain_no_tag,
        "literal_error": _explain_word,
        "string_pattern_mismatch": _explain_form,
        "tuple_type": _explain_array,
        **dict.fromkeys(("dict_type", "model_type", "model_attributes_type"), _explain_table),
        **dict.fromkeys(("amount", "gestation", "positive", "span"), _explain_own),
    }
)


def _strip_tags(loc: tuple[str | int, ...]) -> tuple[str | int, ...]:
    """Take out what pydantic puts into a path beside the keys: the kind of a line or a fact, the form of a test."""
    # The kind follows the place in the array: ("line", 3, "dose", "name"), in a ward file under ("local", 0).
    kinds = (at + 2 for at, (table, row) in enumerate(pairwise(loc)) if table in _TAGGED and isinstance(row, int))
    kind_at = next(kinds, None)
    return tuple(part for at, part in enumerate(loc) if at != kind_at and part not in {SPAN_TAG, WORD_TAG, "[key]"})


def _name_key(path: tuple[str | int, ...]) -> str:
    """The key in words; of an array's element, the array and the place in it."""
    *before, last = path or ("",)
    return f"entry {last + 1} of {before[-1]}" if isinstance(last, int) and before else str(last)


def _quote(value: object) -> str:
    """The value as it stands in the file, cut short; of a large one only what it is, since writing it out may fail."""
    match value:
        case str():
            text = f'"{show_safely(value[:_MOST_QUOTED])}"'
            return text if len(value) <= _MOST_QUOTED else f"{text}..."
        case bool():
            return str(value).lower()
        case dict():
            return "a table"
        case list() | tuple():
            return "an array"
    return str(value)


def _suggest(got: str, known: list[str]) -> str:
    close = get_close_matches(got, known, n=1)
    return f'did you mean "{close[0]}"?' if close else ""


def list_keys(form: type[Form], loc: tuple[str | int, ...]) -> list[str]:
    """The keys of the table at a place as pydantic names it, kinds and tags included; empty where it is no table."""
    annotation: Any = form
    for part in loc:
        annotation = _enter(annotation, part)
    return [key for inside in _list_forms(annotation) for key in inside.model_fields]


def _enter(annotation: Any, part: str | int) -> Any:  # noqa: ANN401  (any annotation)
    forms = _list_forms(annotation)
    kinds = [form for form in forms if "kind" in form.model_fields and part in _list_words(form)]
    if len(forms) > 1 and kinds:
        return kinds[0]
    plain = _strip_annotation(annotation)
    if get_origin(plain) in {tuple, dict}:
        return get_args(plain)[0 if isinstance(part, int) else 1]
    fields = [form.model_fields[part] for form in forms if part in form.model_fields]
    return fields[0].rebuild_annotation() if fields else annotation


def _list_words(form: type[Form]) -> tuple[object, ...]:
    return get_args(form.model_fields["kind"].annotation)


def _strip_annotation(annotation: Any) -> Any:  # noqa: ANN401  (as above)
    """The annotation without what is said about it, and without None."""
    if get_origin(annotation) is Annotated:
        return _strip_annotation(get_args(annotation)[0])
    if get_origin(annotation) in {Union, UnionType}:
        parts = [part for part in get_args(annotation) if part is not NoneType]
        return _strip_annotation(parts[0]) if len(parts) == 1 else annotation
    return annotation


def _list_forms(annotation: Any) -> list[type[Form]]:  # noqa: ANN401  (as above)
    plain = _strip_annotation(annotation)
    if isinstance(plain, type) and issubclass(plain, Form):
        return [plain]
    if get_origin(plain) in {Union, UnionType}:
        return [form for part in get_args(plain) for form in _list_forms(part)]
    return []
