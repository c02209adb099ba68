"""The types of the fields that people write in kits and ward files.

A table is a class of these fields. msgspec reads a file straight into them and takes nothing that is not allowed;
`prepkit.kit.forms` tells what is wrong with a file that was refused, from the same annotations.
"""

from collections.abc import Iterable, Iterator, Mapping
from typing import Annotated, Any, ClassVar, Literal, get_args

from msgspec import Meta, Struct

from prepkit.quantities.amount import Amount
from prepkit.quantities.units import Dimension

MOST_TEXT = 600
# Control characters and those that are invisible or turn the direction of reading: a screen would not show what stands
# in the file. Written out as ranges, which JSON Schema's regular expressions know too.
_UNSEEN = r"\u0000-\u001f\u007f-\u009f\u200b-\u200f\u2028-\u202e\u2060-\u206f\ufeff"


class Measures(Struct, frozen=True):
    """Marks a field that holds an amount: of one of these dimensions, and more than zero where that is said."""

    dimensions: tuple[Dimension, ...]
    positive: bool = True

    def takes(self, amount: Amount) -> bool:
        """Whether the field may hold an amount."""
        return amount.dimension in self.dimensions and not (self.positive and amount.value <= 0)


class Spec(Struct, frozen=True, forbid_unknown_fields=True, tag_field="kind"):
    """A table of a kit or a ward file: every key known, every type exact, never changed after reading."""

    _measured: ClassVar[tuple[tuple[str, Measures], ...]] = ()

    def __init_subclass__(cls, **options: Any) -> None:  # noqa: ANN401  (those of the library)
        super().__init_subclass__(**options)
        found = ((name, mark) for name, annotation in cls.__annotations__.items() if (mark := _find_mark(annotation)))
        cls._measured = (*cls._measured, *found)

    def __post_init__(self) -> None:
        """Refuse an amount that does not measure what its field holds.

        Raises:
            ValueError: what the library tells of it, with its place.
        """
        for name, mark in self._measured:
            if not all(mark.takes(amount) for amount in _list_amounts(getattr(self, name))):
                raise ValueError(f"{name} is not {' or '.join(mark.dimensions)}, or not more than zero")


def _find_mark(annotation: Any) -> Measures | None:  # noqa: ANN401  (any annotation)
    """What the amounts of a field measure, as its annotation says; None where it holds none of its own."""
    if isinstance(annotation, Measures):
        return annotation
    return next((mark for part in get_args(annotation) if (mark := _find_mark(part))), None)


def list_inside(value: object) -> Iterable[object]:
    """What is directly inside a table, an array or a table of tables; nothing where it is none of them."""
    if isinstance(value, Spec):
        return [getattr(value, name) for name in value.__struct_fields__]
    if isinstance(value, Mapping):
        return value.values()
    return value if isinstance(value, tuple | list) else ()


def _list_amounts(value: object) -> Iterator[Amount]:
    """The amounts that a field holds: itself, the entries of an array, the edges of a span."""
    if isinstance(value, Amount):
        yield value
    for inside in list_inside(value):
        yield from _list_amounts(inside)


Mass = Annotated[Amount, Measures((Dimension.MASS,))]
Volume = Annotated[Amount, Measures((Dimension.VOLUME,))]
AnyVolume = Annotated[Amount, Measures((Dimension.VOLUME,), positive=False)]
BodyWeight = Annotated[Amount, Measures((Dimension.BODY_WEIGHT,))]
Length = Annotated[Amount, Measures((Dimension.LENGTH,))]
Strength = Annotated[Amount, Measures((Dimension.STRENGTH,))]
DosePerWeight = Annotated[Amount, Measures((Dimension.MASS_PER_WEIGHT,))]
LengthPerWeight = Annotated[Amount, Measures((Dimension.LENGTH_PER_WEIGHT,))]
Share = Annotated[Amount, Measures((Dimension.SHARE,))]
Time = Annotated[Amount, Measures((Dimension.TIME,))]
AnyAmount = Annotated[Amount, Measures(tuple(Dimension), positive=False)]

# The end of a text is written \\Z here, since "$" of Python's own expressions stands before a last line break too.
Id = Annotated[str, Meta(pattern=r"^[a-z0-9]+(-[a-z0-9.]+)*\Z", max_length=60)]
FactId = Annotated[str, Meta(pattern=r"^[a-z0-9]+(_[a-z0-9]+)*\Z", max_length=60)]
Text = Annotated[
    str, Meta(pattern=rf"^[^\s{_UNSEEN}]([^{_UNSEEN}]*[^\s{_UNSEEN}])?\Z", min_length=1, max_length=MOST_TEXT)
]
Texts = tuple[Text, ...]
Ids = tuple[Id, ...]

GtinText = Annotated[str, Meta(pattern=r"^([0-9]{8}|[0-9]{12,14})\Z")]
"""A GTIN as printed under a barcode; its check digit is checked with the file."""
Gtins = tuple[GtinText, ...]

Basis = Literal["published", "common practice", "local", "from memory"]
Route = Literal["intravenous", "enteral", "tracheal"]


class Based(Spec, frozen=True, kw_only=True):
    """Whatever states a figure says where the figure comes from."""

    basis: Annotated[Basis, Meta(description="published (cite it), common practice, local, or from memory")]
    source: Annotated[Ids, Meta(description="ids of the kit's sources; needed where the basis is published")] = ()
