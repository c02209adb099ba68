"""The tables as forms: pydantic models made from the classes' own annotations.

A file that msgspec takes is never checked a second time. Of one that it does not take, pydantic finds every mistake
instead of the first, each at its place; the JSON schemas come from the same forms. Nothing here is loaded before either
is wanted. May import: pydantic, `prepkit.kit.fields`, `prepkit.kit.spans`, `prepkit.quantities`.
"""

from collections.abc import Iterable, Iterator
from functools import cache, reduce
from operator import or_
from types import NoneType, UnionType
from typing import Annotated, Any, ClassVar, Generic, Union, cast, get_args, get_origin

from msgspec import NODEFAULT, Meta
from msgspec.structs import fields
from pydantic import BaseModel, ConfigDict, Discriminator, Field, StringConstraints, Tag, create_model, model_validator
from pydantic_core import PydanticCustomError

from prepkit.kit.fields import Measures, Spec
from prepkit.kit.form_fields import AmountField, GestationField, Positive
from prepkit.kit.spans import Edge, Span, find_wrong_edges
from prepkit.quantities.gestation import Gestation

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
