"""What is wrong with one part of a file, in our words: expected this, got that, and a hint where there is one."""

import re
from collections.abc import Iterator, Mapping, Sequence
from datetime import date
from numbers import Number
from types import MappingProxyType
from typing import Any, Literal, TypeAlias, get_args, get_origin

from msgspec import Meta

from prepkit.kit.axes import GESTATIONS, WEIGHTS
from prepkit.kit.fields import FACT_ID_FORM, GTIN_FORM, ID_FORM, KIND, MOST_TEXT, Measures, Spec, find_measures
from prepkit.kit.problems import Mistake, suggest_close
from prepkit.kit.spans import Span
from prepkit.quantities.gestation import UnreadableGestationError, read_gestation
from prepkit.quantities.text import UnreadableAmountError, show_amount, show_safely
from prepkit.quantities.units import list_units

Path: TypeAlias = tuple[str | int, ...]
Rules: TypeAlias = tuple[Meta, ...]

_MOST_QUOTED = 120
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
# A kit never says one of these alone.
_WHICH: Mapping[str, Sequence[str]] = MappingProxyType({"weight": WEIGHTS, "gestation": GESTATIONS})
_PLAIN: Mapping[object, str] = MappingProxyType(
    {
        bool: "must be true or false",
        date: "must be a date, such as 2027-11-30",
        int: "must be a whole number",
        str: "must be text in quotes",
    }
)


_EDGES = "say the edges by their keys, such as { at_least = ..., below = ... }"
# The sign between the words of an id.
_BETWEEN: Mapping[str, str] = MappingProxyType({ID_FORM: "-", FACT_ID_FORM: "_"})


def explain_unknown(key: str, known: Sequence[str], path: Path) -> Mistake:
    """That a table has no such key, and which one may be meant."""
    meant = [name for name in _MEANT.get(key, ()) if name in known]
    hint = f'did you mean "{meant[0]}"?' if meant else _say_which(key, known) or suggest_close(key, known)
    wrong = f'unknown key "{show_safely(key)}"'
    return Mistake((*path, key), wrong, hint or f"keys that may stand here: {', '.join(known)}")


def _say_which(key: str, known: Sequence[str]) -> str:
    """A hint for a weight or a gestation that does not say which one it is; empty for any other key."""
    *before, last = _WHICH.get(key, ("",))
    said = f"say which {key} it is: {', '.join(before)} or {last}"
    if last in known:
        return said
    return f"write where = {{ ... }}, and in it {said}" if last and "where" in known else ""


def explain_kind(got: object, kinds: Sequence[str], path: Path) -> Mistake:
    """That a table does not say which kind it is, or says one that is not known."""
    if got is None:
        return Mistake(path, f'key "{KIND}" is missing')
    wrong = f"kind must be one of {', '.join(map(_quote, kinds))} (got {_quote(str(got))})"
    return Mistake((*path, KIND), wrong, suggest_close(str(got), kinds))


def explain_length(written: list[object], rules: Rules, path: Path) -> Iterator[Mistake]:
    """That an array has too few entries, or too many."""
    least, most = _find_rule(rules, "min_length"), _find_rule(rules, "max_length")
    if least is not None and len(written) < least:
        yield _refuse(written, path, f"must have at least {least} of them")
    if most is not None and len(written) > most:
        yield _refuse(written, path, f"must have at most {most} entries")


def explain_text(written: object, rules: Rules, path: Path) -> Iterator[Mistake]:
    """What is wrong with an amount or a gestation, if anything is."""
    measures = next(filter(None, map(find_measures, rules)), None)
    wrong = _explain_amount(written, measures) if measures else _explain_gestation(written)
    if wrong:
        yield Mistake(path, f"{_name_key(path)} {show_safely(wrong)}")


def _explain_amount(written: object, measures: Measures) -> str:
    if not isinstance(written, str):
        is_number = isinstance(written, Number) and not isinstance(written, bool)
        said = "a bare number where an amount with its unit is due" if is_number else "not an amount"
        return f'is {said}: write it as text, such as "1.5 {list_units(measures.dimensions[0])[0]}"'
    try:
        amount = measures.read(written)
    except UnreadableAmountError as error:
        return f'"{written[:MOST_TEXT]}" {error.reason} (column {error.column} of the text)'
    return "" if measures.takes(amount) else f'must be more than zero (got "{show_amount(amount)}")'


def _explain_gestation(written: object) -> str:
    if not isinstance(written, str):
        return 'is not a gestation: write it as text, such as "28+0"'
    try:
        read_gestation(written)
    except UnreadableGestationError as error:
        return f'"{written[:MOST_TEXT]}" {error}'
    return ""


def explain_part(
    written: object,
    plain: Any,  # noqa: ANN401  (any type)
    rules: Rules,
    path: Path,
    refused: str,
) -> Mistake:
    """Why something is refused that has no mistake inside it; `refused` is what the library says."""
    form = get_origin(plain)
    if form is Literal:
        return _explain_word(written, get_args(plain), path)
    if form is tuple:
        return _explain_array(written, path)
    if plain is str and isinstance(written, str):
        return _explain_string(written, rules, path)
    is_table = isinstance(plain, type) and issubclass(plain, Spec)
    if isinstance(written, dict) and (form or is_table):
        return Mistake(path, f"{_name_key(path)} {show_safely(refused)}")
    if form or is_table:
        return _refuse(written, path, "must be a table", _EDGES if is_table and issubclass(plain, Span) else "")
    wrong = _find_bound(written, rules) or _PLAIN.get(plain, f"cannot be used: {show_safely(refused)}")
    return _refuse(written, path, wrong)


def _find_bound(written: object, rules: Rules) -> str:
    """Which bound a whole number is past; empty where there is none, or where it is no whole number."""
    least, most = _find_rule(rules, "ge"), _find_rule(rules, "le")
    if not isinstance(written, int) or isinstance(written, bool):
        return ""
    if least is not None and written < least:
        return f"must be at least {least}"
    return f"must be at most {most}" if most is not None and written > most else ""


def _explain_word(written: object, words: tuple[str | int, ...], path: Path) -> Mistake:
    *before, last = map(_quote, words)
    expected = f"{', '.join(before)} or {last}" if before else last
    known = [word for word in words if isinstance(word, str)]
    hint = suggest_close(written, known) if isinstance(written, str) else ""
    return _refuse(written, path, f"must be {expected}", hint)


def _explain_array(written: object, path: Path) -> Mistake:
    key = _name_key(path)
    hint = f"write {key} = [{_quote(written)}]" if isinstance(written, str) else ""
    if isinstance(written, dict) and len(path) == 1:
        hint = f"write [[{key}]], with two brackets"
    return _refuse(written, path, "must be an array", hint)


def _explain_string(written: str, rules: Rules, path: Path) -> Mistake:
    most, form = _find_rule(rules, "max_length"), _find_rule(rules, "pattern")
    if not written and _find_rule(rules, "min_length"):
        return _refuse(written, path, "must not be empty")
    if most is not None and len(written) > most:
        return _refuse(written, path, f"must have at most {most} characters")
    if form == GTIN_FORM:
        return _refuse(written, path, "is no GTIN", "a GTIN is 8, 12, 13 or 14 digits, as under the barcode")
    hint = "text may not begin or end with a space, nor hold a line break or an invisible character"
    if form in _BETWEEN:
        between = _BETWEEN[form]
        meant = re.sub(r"[^a-z0-9]+", between, written.lower()).strip(between)[:_MOST_QUOTED]
        hint = f'ids are small letters and digits, with "{between}" between words: "{meant or "x"}"'
    return _refuse(written, path, "has a form that is not allowed", hint)


def _refuse(written: object, path: Path, wrong: str, hint: str = "") -> Mistake:
    return Mistake(path, f"{_name_key(path)} {wrong} (got {_quote(written)})", hint)


def _find_rule(rules: Rules, name: str) -> Any:  # noqa: ANN401  (a number or a pattern)
    return next((said for rule in rules if (said := getattr(rule, name)) is not None), None)


def _name_key(path: Path) -> str:
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
        case list():
            return "an array"
    return str(value)
