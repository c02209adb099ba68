"""The tables as forms: pydantic models made from the classes' own annotations, amounts and gestations included.

A file that msgspec takes is never checked a second time. In one that it refuses, pydantic finds every mistake, not just
the first, each at its place; the JSON Schemas come from the same forms. Nothing here is loaded before either is wanted.
"""

from collections.abc import Iterable, Iterator
from functools import cache, reduce
from numbers import Number
from operator import or_
from types import NoneType, UnionType
from typing import Annotated, Any, ClassVar, Generic, Union, cast, get_args, get_origin

from msgspec import NODEFAULT, Meta
from msgspec.structs import fields
from pydantic import (
    BaseModel,
    ConfigDict,
    Discriminator,
    Field,
    GetCoreSchemaHandler,
    GetJsonSchemaHandler,
    StringConstraints,
    Tag,
    create_model,
    model_validator,
)
from pydantic.json_schema import JsonSchemaValue
from pydantic_core import CoreSchema, PydanticCustomError, core_schema

from prepkit.kit.fields import MOST_TEXT, Measures, Spec
from prepkit.kit.spans import Edge, Span, find_wrong_edges
from prepkit.quantities.amount import Amount
from prepkit.quantities.gestation import Gestation, UnreadableGestationError, read_gestation
from prepkit.quantities.text import UnreadableAmountError, read_amount, show_amount
from prepkit.quantities.units import Dimension, list_units


class AmountField:
    """Makes a field that reads an amount of one of these dimensions from its text."""

    def __init__(self, dimensions: tuple[Dimension, ...]) -> None:
        self.dimensions = dimensions

    def __get_pydantic_core_schema__(self, source: object, handler: GetCoreSchemaHandler) -> CoreSchema:
        return core_schema.no_info_plain_validator_function(self._read)

    def __get_pydantic_json_schema__(self, schema: CoreSchema, handler: GetJsonSchemaHandler) -> JsonSchemaValue:
        units = [unit for dimension in self.dimensions for unit in list_units(dimension)]
        pattern = r"^(0|[1-9][0-9]*)(\.[0-9]{1,6})?( (" + "|".join(units) + ")" + _write_rates(units) + ")$"
        kinds = " or ".join(self.dimensions)
        return {"type": "string", "pattern": pattern, "description": f"{kinds}, such as 1.5 {units[0]}"}

    def _read(self, value: object) -> Amount:
        if isinstance(value, Amount):
            return value
        if not isinstance(value, str):
            example = f'"1.5 {list_units(self.dimensions[0])[0]}"'
            is_number = isinstance(value, Number) and not isinstance(value, bool)
            said = "a bare number where an amount with its unit is due" if is_number else "not an amount"
            raise PydanticCustomError(
                "amount", "is {said}: write it as text, such as {example}", {"said": said, "example": example}
            )
        try:
            return self._read_text(value)
        except UnreadableAmountError as error:
            raise PydanticCustomError(
                "amount", '"{text}" {reason} (column {column} of the text)',
                {"text": value[:MOST_TEXT], "reason": error.reason, "column": error.column},
            ) from error  # fmt: skip

    def _read_text(self, text: str) -> Amount:
        if len(self.dimensions) == 1:
            return read_amount(text, self.dimensions[0])
        amount = read_amount(text)
        if amount.dimension not in self.dimensions:
            expected = " or ".join(self.dimensions)
            reason = f"is {amount.dimension}, where {expected} is due"
            raise UnreadableAmountError(reason, text.index(" ") + 2)
        return amount


def _write_rates(units: list[str]) -> str:
    """The units that may stand close to their number, as a further branch of a pattern."""
    return "".join(f"|{unit}" for unit in units if unit.startswith("/"))


class GestationField:
    """Makes a field that reads a gestation ("28+0")."""

    def __get_pydantic_core_schema__(self, source: object, handler: GetCoreSchemaHandler) -> CoreSchema:
        return core_schema.no_info_plain_validator_function(self._read)

    def __get_pydantic_json_schema__(self, schema: CoreSchema, handler: GetJsonSchemaHandler) -> JsonSchemaValue:
        return {"type": "string", "pattern": r"^[0-9]{2}\+[0-6]$", "description": "weeks+days, such as 28+0"}

    @staticmethod
    def _read(value: object) -> Gestation:
        if isinstance(value, Gestation):
            return value
        if not isinstance(value, str):
            raise PydanticCustomError("gestation", 'is not a gestation: write it as text, such as "28+0"')
        try:
            return read_gestation(value)
        except UnreadableGestationError as error:
            raise PydanticCustomError(
                "gestation", '"{text}" {reason}', {"text": value[:MOST_TEXT], "reason": str(error)}
            ) from error


def _positive(amount: Amount) -> Amount:
    if amount.value <= 0:
        raise PydanticCustomError("positive", 'must be more than zero (got "{got}")', {"got": show_amount(amount)})
    return amount


class Positive:
    """Refuses an amount of nothing."""

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> CoreSchema:  # noqa: ANN401  (pydantic's own signature)
        return core_schema.no_info_after_validator_function(_positive, handler(source))


SPAN_TAG, WORD_TAG = "a span", "a word"
_KIND = "kind"
_BOUNDS = ("ge", "gt", "le", "lt", "multiple_of", "min_length", "max_length")


class Form(BaseModel):
    """What a table may hold, as pydantic checks it."""

    model_config = ConfigDict(extra="forbid", frozen=True, strict=True, validate_default=False)


@cache
def find_form(table: type[Spec]) -> type[Form]:
    """The form of a table, with the name, the keys and the words of its class."""
    above = tuple(find_form(base) for base in table.__bases__ if issubclass(base, Spec) and base is not Spec)
    shared: tuple[Any, ...] = (Generic[Edge],) if table is Span else ()  # type: ignore[index]
    annotations: dict[str, Any] = table.__annotations__
    keys: dict[str, Any] = {
        name: (_make_type(annotation), _find_default(table, name))
        for name, annotation in annotations.items()
        if get_origin(annotation) is not ClassVar or name == _KIND
    }
    checks: dict[str, Any] = {"edges": model_validator(mode="after")(_check_edges)} if table is Span else {}
    made: Any = create_model(
        table.__name__, __base__=(*(above or (Form,)), *shared), __doc__=table.__doc__,
        __module__=table.__module__, __validators__=checks, **keys,
    )  # fmt: skip
    return cast("type[Form]", made)


def _find_default(table: type[Spec], name: str) -> Any:  # noqa: ANN401  (any value)
    """The default of a key; the library's sign for one that is needed."""
    found = next((field for field in fields(table) if field.name == name), None)
    if found is None or found.required:
        return ...
    if found.default is NODEFAULT:
        return Field(default_factory=found.default_factory)
    return find_form(type(found.default))() if isinstance(found.default, Spec) else found.default


def _check_edges(span: Any) -> Any:  # noqa: ANN401  (any form of a span)
    if wrong := find_wrong_edges(span.at_least, span.above, span.at_most, span.below):
        raise PydanticCustomError("span", "{wrong}", {"wrong": wrong})
    return span


def _make_type(annotation: Any) -> Any:  # noqa: ANN401, PLR0911  (any annotation, each form in its own way)
    """The same annotation in pydantic's terms."""
    parts = get_args(annotation)
    form: Any = get_origin(annotation)
    if form is ClassVar:
        return _make_type(parts[0])
    if form is Annotated:
        return _make_annotated(parts[0], parts[1:])
    if form in {Union, UnionType}:
        return _make_union(parts)
    if form is tuple:
        return Annotated[tuple.__class_getitem__((_make_type(parts[0]), ...)), Field(strict=False)]
    if form is dict:
        return dict.__class_getitem__((_make_type(parts[0]), _make_type(parts[1])))
    if form is Span:
        return find_form(Span)[_make_type(parts[0])]  # type: ignore[index]
    if annotation is Gestation:
        return Annotated[Gestation, GestationField()]
    return find_form(annotation) if isinstance(annotation, type) and issubclass(annotation, Spec) else annotation


def _make_annotated(inside: Any, marks: tuple[object, ...]) -> Any:  # noqa: ANN401  (as above)
    made = _make_type(inside)
    for mark in marks:
        for each in _make_marks(mark, is_text=inside is str):
            made = Annotated[made, each]
    return made


def _make_marks(mark: object, *, is_text: bool) -> Iterator[object]:
    if isinstance(mark, Measures):
        yield AmountField(mark.dimensions)
        if mark.positive:
            yield Positive()
    elif isinstance(mark, Meta):
        bounds = {name: bound for name in _BOUNDS if (bound := getattr(mark, name)) is not None}
        if mark.pattern is not None or (is_text and bounds):
            # JSON Schema and pydantic end a text with "$", which is its very end there.
            yield StringConstraints(pattern=(mark.pattern or "").replace(r"\Z", "$") or None, **bounds)
        elif bounds or mark.description:
            yield Field(description=mark.description, **bounds)


def _make_union(parts: tuple[Any, ...]) -> Any:  # noqa: ANN401  (as above)
    tables = [part for part in parts if isinstance(part, type) and issubclass(part, Spec)]
    if len(tables) > 1:
        return Annotated[_join(_make_type(table) for table in tables), Discriminator(_KIND)]
    if any(get_origin(part) is Span for part in parts) and NoneType not in parts:
        span, word = (_make_type(part) for part in parts)
        return Annotated[Annotated[span, Tag(SPAN_TAG)] | Annotated[word, Tag(WORD_TAG)], Discriminator(_find_tag)]
    return _join(_make_type(part) for part in parts)


def _join(types: Iterable[Any]) -> Any:  # noqa: ANN401  (as above)
    return reduce(or_, types)


def _find_tag(written: object) -> str:
    return WORD_TAG if isinstance(written, str) else SPAN_TAG
