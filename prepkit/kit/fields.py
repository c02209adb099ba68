"""The types of the fields that people write in kits and ward files, and how a table of them is read.

A table is a class of these fields. msgspec reads a file straight into them and takes nothing that is not allowed;
`prepkit.kit.mistakes` tells what is wrong with a file that was refused, from the same annotations.
"""

from collections.abc import Iterable, Iterator, Mapping
from typing import Annotated, Any, ClassVar, Final, Literal, TypeVar, get_args

from msgspec import Meta, Struct, convert
from msgspec.structs import FieldInfo, fields

from prepkit.quantities.amount import Amount
from prepkit.quantities.gestation import Gestation, read_gestation
from prepkit.quantities.text import UnreadableAmountError, read_amount
from prepkit.quantities.units import Dimension, list_units

MOST_TEXT = 600
# Control characters and those that are invisible or turn the direction of reading: a screen would not show what stands
# in the file. Written out as ranges, which JSON Schema's regular expressions know too.
_UNSEEN = r"\u0000-\u001f\u007f-\u009f\u200b-\u200f\u2028-\u202e\u2060-\u206f\ufeff"


KIND, FORM = "kind", "form"
_MEASURES = "measures"


class Measures(Struct, frozen=True):
    """Marks a field that holds an amount: of one of these dimensions, and more than zero where that is said."""

    dimensions: tuple[Dimension, ...]
    positive: bool = True

    def takes(self, amount: Amount) -> bool:
        """Whether the field may hold an amount."""
        return amount.dimension in self.dimensions and not (self.positive and amount.value <= 0)

    def read(self, text: str) -> Amount:
        """Read an amount of one of the dimensions; it may be nothing, which `takes` tells.

        Raises:
            UnreadableAmountError: with the column and what was expected, where the text is anything else.
        """
        if len(self.dimensions) == 1:
            return read_amount(text, self.dimensions[0])
        amount = read_amount(text)
        if amount.dimension not in self.dimensions:
            expected = " or ".join(self.dimensions)
            raise UnreadableAmountError(f"is {amount.dimension}, where {expected} is due", text.index(" ") + 2)
        return amount


class Spec(Struct, frozen=True, forbid_unknown_fields=True):
    """A table of a kit or a ward file: every key known, every type exact, never changed after reading."""

    _measured: ClassVar[tuple[tuple[str, Measures], ...]] = ()

    def __init_subclass__(cls, **options: Any) -> None:  # noqa: ANN401  (those of the library)
        super().__init_subclass__(**options)
        found = (
            (name, mark) for name, annotation in cls.__annotations__.items() if (mark := find_measures(annotation))
        )
        cls._measured = (*cls._measured, *found)

    def __post_init__(self) -> None:
        """Refuse an amount that does not measure what its field holds.

        Raises:
            ValueError: what the library tells of it, with its place.
        """
        for name, mark in self._measured:
            if not all(mark.takes(amount) for amount in _list_amounts(getattr(self, name))):
                raise ValueError(f"{name} is not {' or '.join(mark.dimensions)}, or not more than zero")


Table = TypeVar("Table", bound=Spec)


def read_table(written: object, table: type[Table]) -> Table:
    """Read one table of a file, such as the ward's `people`.

    Raises:
        msgspec.ValidationError: a ValueError, where anything in it is not allowed.
    """
    return convert(written, table, dec_hook=read_written)


def list_keys(table: type[Spec]) -> list[FieldInfo]:
    """The keys of a table, those that it shares with others first; its kind, if it has one, stands among its own."""
    known = {field.name: field for field in fields(table)}
    if table.__struct_config__.tag is not None:
        known[KIND] = FieldInfo(KIND, KIND, get_args(table.__annotations__[KIND])[0])
    names = [name for base in reversed(table.__mro__) for name in vars(base).get("__annotations__", ())]
    return [known[name] for name in names if name in known]


def read_written(kind: type, written: object) -> Amount | Gestation:
    """What the library does not know how to read: an amount or a gestation, from its text.

    Raises:
        ValueError: where the text is none; the library tells it with its place.
    """
    if not isinstance(written, str):
        raise ValueError("is not text")  # noqa: TRY004  (the library tells the place of a ValueError)
    return read_amount(written) if kind is Amount else read_gestation(written)


def find_measures(annotation: Any) -> Measures | None:  # noqa: ANN401  (any annotation)
    """What the amounts of a field measure, as its annotation says; None where it holds none of its own."""
    if isinstance(annotation, Meta):
        return (annotation.extra or {}).get(_MEASURES)
    parts = (*get_args(annotation), *getattr(annotation, "__orig_bases__", ()))
    return next((mark for part in parts if (mark := find_measures(part))), None)


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


def _measure(*dimensions: Dimension, positive: bool = True) -> Meta:
    """Mark a field as holding an amount of one of these dimensions, for its reading and for its schema."""
    units = [unit for dimension in dimensions for unit in list_units(dimension)]
    rates = "".join(f"|{unit}" for unit in units if unit.startswith("/"))  # they may stand close to their number
    schema = {
        "type": "string",
        "pattern": rf"^(0|[1-9][0-9]*)(\.[0-9]{{1,6}})?( ({'|'.join(units)}){rates})$",
        "description": f"{' or '.join(dimensions)}, such as 1.5 {units[0]}",
    }
    return Meta(extra={_MEASURES: Measures(dimensions, positive)}, extra_json_schema=schema)


Mass = Annotated[Amount, _measure(Dimension.MASS)]
Volume = Annotated[Amount, _measure(Dimension.VOLUME)]
AnyVolume = Annotated[Amount, _measure(Dimension.VOLUME, positive=False)]
BodyWeight = Annotated[Amount, _measure(Dimension.BODY_WEIGHT)]
Length = Annotated[Amount, _measure(Dimension.LENGTH)]
Strength = Annotated[Amount, _measure(Dimension.STRENGTH)]
DosePerWeight = Annotated[Amount, _measure(Dimension.MASS_PER_WEIGHT)]
LengthPerWeight = Annotated[Amount, _measure(Dimension.LENGTH_PER_WEIGHT)]
Share = Annotated[Amount, _measure(Dimension.SHARE)]
Time = Annotated[Amount, _measure(Dimension.TIME)]
AnyAmount = Annotated[Amount, _measure(*Dimension, positive=False)]

# The end of a text is written \\Z here, since "$" of Python's own expressions stands before a last line break too.
ID_FORM, FACT_ID_FORM = r"^[a-z0-9]+(-[a-z0-9.]+)*\Z", r"^[a-z0-9]+(_[a-z0-9]+)*\Z"
GTIN_FORM = r"^([0-9]{8}|[0-9]{12,14})\Z"
Id = Annotated[str, Meta(pattern=ID_FORM, max_length=60)]
FactId = Annotated[str, Meta(pattern=FACT_ID_FORM, max_length=60)]
Text = Annotated[
    str, Meta(pattern=rf"^[^\s{_UNSEEN}]([^{_UNSEEN}]*[^\s{_UNSEEN}])?\Z", min_length=1, max_length=MOST_TEXT)
]
Texts = tuple[Text, ...]
Ids = tuple[Id, ...]

GtinText = Annotated[str, Meta(pattern=GTIN_FORM)]
"""A GTIN as printed under a barcode; its check digit is checked with the file."""
Gtins = tuple[GtinText, ...]

FORM_KNOWN = 1
"""What a text of this form means, chooses and refuses is the same for ever once a release has closed it; until then it
changes freely. Sentences are no part of it."""
Form = Annotated[Literal[1], Meta(description="the form that the file is written in; this edition knows form 1")]

Basis = Literal["published", "published, read in an excerpt or account", "common practice", "local", "from memory"]
EXCERPT: Final = "published, read in an excerpt or account"
"""Of a document that nobody here read whole: a passage, an abstract, or what somebody else says of it."""
PUBLISHED: Final = ("published", EXCERPT)
Route = Literal["intravenous", "enteral", "tracheal"]


class Based(Spec, frozen=True, kw_only=True):
    """Whatever states a figure says where the figure comes from."""

    basis: Annotated[
        Basis, Meta(description="what the figure rests on; published only where its document was read whole")
    ]
    source: Annotated[
        Ids, Meta(description="ids of the sources declared; needed where the basis is published, whole or in part")
    ] = ()
