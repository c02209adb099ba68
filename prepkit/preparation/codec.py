"""Payloads to canonical JSON and back; reading is strict, so that what was written is what is read.

One `Codec` serves one sort of stream: it is made from the payload classes that the stream may hold. May import: the
events and canonical JSON of this layer, msgspec and the standard library.
"""

import json
from collections.abc import Callable
from functools import cache
from typing import Any, ClassVar, Generic, Protocol, TypeVar

from msgspec import Struct
from msgspec.structs import FieldInfo, fields

from prepkit.preparation.canonical import compute_fingerprint, write_canonical
from prepkit.preparation.events import PAYLOADS, Answer, Because, LineStamp, Payload

__all__ = [
    "MAX_BODY",
    "PREPARATION",
    "Codec",
    "RecordUnreadable",
    "compute_fingerprint",
    "encode_payload",
    "read_payload",
]

MAX_BODY = 2_000_000
"""Characters in one body: room for a kit and a ward file many times the usual size."""


class Storable(Protocol):
    """A payload that may be stored: a frozen struct with its stable kind and the version of its shape."""

    __struct_fields__: ClassVar[tuple[str, ...]]

    @property
    def KIND(self) -> str: ...  # noqa: N802 - a constant of the payload's class

    @property
    def VERSION(self) -> int: ...  # noqa: N802 - as above


_Payload = TypeVar("_Payload", bound=Storable)


class RecordUnreadable(ValueError):  # noqa: N818 - the word a person is shown
    """A stored event that cannot be taken for true; its message says which one and what is wrong with it."""


class _WrongShapeError(ValueError):
    """What is wrong inside one body; always turned into `RecordUnreadable`."""


_list_fields: Callable[[Any], tuple[FieldInfo, ...]] = cache(fields)
"""Asked for each line of each list that is read, and of a class always the same."""


class Codec(Generic[_Payload]):
    """Reads and writes the payloads of one sort of stream; a class that was not named is unknown to it."""

    def __init__(self, classes: tuple[type[_Payload], ...]) -> None:
        """Make a codec for these payload classes, whose fields have the types in `_READERS`."""
        self._classes = {_name_class(each): each for each in classes}
        self._kinds = frozenset(kind for kind, _ in self._classes)

    def encode(self, payload: _Payload) -> tuple[str, int, str]:
        """Encode a payload as (kind, version, body), the body in canonical JSON.

        Raises `ValueError` for a body that could not be read back: too long, or with half of a surrogate pair in it.
        """
        body = write_canonical(_to_plain(payload))
        if len(body) > MAX_BODY:
            raise ValueError(f"{payload.KIND}: {len(body)} characters are too many to store (at most {MAX_BODY})")
        return payload.KIND, payload.VERSION, body

    def read(self, seq: int, kind: object, version: object, body: object) -> _Payload:
        """Read a stored payload. Raises `RecordUnreadable`, and nothing else, for anything `encode` did not write.

        `seq` is only for the message.
        """
        try:
            return self._read_body(self._find_class(kind, version), body)
        except (ValueError, RecursionError) as error:
            what = "it is nested too deeply" if isinstance(error, RecursionError) else error
            raise RecordUnreadable(f"event {seq} ({_cut(kind)}, version {_cut(version)}): {what}") from error

    def _find_class(self, kind: object, version: object) -> type[_Payload]:
        if not isinstance(kind, str) or kind not in self._kinds:
            raise _WrongShapeError("the kind is not known to this edition of prepkit")
        if type(version) is not int or (kind, version) not in self._classes:
            raise _WrongShapeError("the version is not known to this edition of prepkit")
        return self._classes[kind, version]

    def _read_body(self, cls: type[_Payload], body: object) -> _Payload:
        if not isinstance(body, str):
            raise _WrongShapeError(f"expected text, got {type(body).__name__}")
        if len(body) > MAX_BODY:
            raise _WrongShapeError(f"expected at most {MAX_BODY} characters, got {len(body)}")
        plain: object = json.loads(body, parse_float=_refuse_number, parse_constant=_refuse_number)
        make: Callable[..., _Payload] = cls
        payload = make(**_read_fields(cls, plain, ""))
        # One text for one value: repeated keys, spaces and odd escapes would make two records of one event.
        if self.encode(payload)[2] != body:
            raise _WrongShapeError("the body is not in canonical form")
        return payload


def _name_class(cls: type[Storable]) -> tuple[str, int]:
    """The kind and version that stand on the class itself."""
    constants: Any = cls
    return constants.KIND, constants.VERSION


def _refuse_number(text: str) -> object:
    raise _WrongShapeError(f"expected no number with a point or exponent, no nan and no infinity, got {_cut(text)}")


def _read_fields(cls: type[Storable | LineStamp], plain: object, where: str) -> dict[str, object]:
    wanted = _list_fields(cls)
    if not isinstance(plain, dict):
        raise _WrongShapeError(f"{where}expected named fields, got {type(plain).__name__}")
    if plain.keys() != {field.name for field in wanted}:
        names = ", ".join(sorted(field.name for field in wanted))
        raise _WrongShapeError(f"{where}expected the fields {names}; got {_cut(', '.join(sorted(plain)))}")
    return {field.name: _READERS[field.type](plain[field.name], f"{where}{field.name}: ") for field in wanted}


def _read_text(plain: object, where: str) -> str:
    if not isinstance(plain, str):
        raise _WrongShapeError(f"{where}expected text, got {type(plain).__name__}")
    return plain


def _read_text_or_none(plain: object, where: str) -> str | None:
    return None if plain is None else _read_text(plain, where)


def _read_yes_or_no(plain: object, where: str) -> bool:
    if not isinstance(plain, bool):
        raise _WrongShapeError(f"{where}expected true or false, got {type(plain).__name__}")
    return plain


def _read_texts(plain: object, where: str) -> tuple[str, ...]:
    if not isinstance(plain, list):
        raise _WrongShapeError(f"{where}expected a list of texts, got {type(plain).__name__}")
    return tuple(_read_text(each, f"{where}text {at}: ") for at, each in enumerate(plain, 1))


def _read_lines(plain: object, where: str) -> tuple[LineStamp, ...]:
    if not isinstance(plain, list):
        raise _WrongShapeError(f"{where}expected a list of lines, got {type(plain).__name__}")
    make: Callable[..., LineStamp] = LineStamp
    return tuple(make(**_read_fields(LineStamp, each, f"{where}line {at}: ")) for at, each in enumerate(plain, 1))


_READERS: dict[object, Callable[[object, str], object]] = {
    str: _read_text,
    # The payload's constructor knows the words that are allowed.
    Answer: _read_text,
    Because: _read_text,
    str | None: _read_text_or_none,
    bool: _read_yes_or_no,
    tuple[str, ...]: _read_texts,
    tuple[LineStamp, ...]: _read_lines,
}


def _to_plain(value: object) -> object:
    if isinstance(value, Struct):
        return {name: _to_plain(getattr(value, name)) for name in value.__struct_fields__}
    if isinstance(value, tuple):
        return [_to_plain(item) for item in value]
    return value


def _cut(value: object) -> str:
    """Quote at most 40 characters of something that may be hostile, in plain ASCII."""
    if isinstance(value, str):
        return ascii(value[:40])[:40]
    # A number of thousands of digits cannot even be turned into text.
    is_short = isinstance(value, int) and value.bit_length() <= 64  # noqa: PLR2004 - an SQL integer
    return str(value) if is_short else type(value).__name__


PREPARATION: Codec[Payload] = Codec(PAYLOADS)
"""For the stream of a preparation."""
encode_payload = PREPARATION.encode
"""Encode a payload of a preparation; see `Codec.encode`."""
read_payload = PREPARATION.read
"""Read a stored payload of a preparation; see `Codec.read`."""
