"""Event payloads to canonical JSON and back; reading is strict, so what was written is what is read.

One `Codec` serves one kind of stream and knows only the payload classes it is given.
"""

from functools import cache
from typing import Generic, TypeVar

from msgspec.json import Decoder

from prepkit.canonical import write_struct
from prepkit.preparation.events import PAYLOADS, Payload
from prepkit.preparation.payload import StoredPayload

MAX_BODY = 2_000_000
"""Characters in one body: room for a kit and a ward file many times the usual size."""
_MOST_SAID = 200


_Payload = TypeVar("_Payload", bound=StoredPayload)


class RecordUnreadable(ValueError):  # noqa: N818 - the word a person is shown
    """A stored event that cannot be taken for true; its message says which one and what is wrong with it."""


class _WrongShapeError(ValueError):
    """What is wrong inside one body; always turned into `RecordUnreadable`."""


class Codec(Generic[_Payload]):
    """Reads and writes the payloads of one sort of stream; a class that was not named is unknown to it."""

    def __init__(self, classes: tuple[type[_Payload], ...]) -> None:
        """Make a codec for these payload classes, of which no field is a number with a point."""
        self._classes = {(each.KIND, each.FORM): each for each in classes}
        self._kinds = frozenset(kind for kind, _ in self._classes)

    def encode(self, payload: _Payload) -> tuple[str, int, str]:
        """Encode a payload as (kind, form, body), the body in canonical JSON.

        Raises `ValueError` for a body that could not be read back: too long, or with half of a surrogate pair in it.
        """
        body = write_struct(payload)
        if len(body) > MAX_BODY:
            raise ValueError(f"{payload.KIND}: {len(body)} characters are too many to store (at most {MAX_BODY})")
        return payload.KIND, payload.FORM, body

    def read(self, seq: int, kind: object, form: object, body: object) -> _Payload:
        """Read a stored payload. Raises `RecordUnreadable`, and nothing else, for anything `encode` did not write.

        `seq` is only for the message.
        """
        try:
            return self._read_body(self._find_class(kind, form), body)
        except (ValueError, RecursionError) as error:
            what = f"event {seq} ({_cut(kind)}, form {_cut(form)}): {_say_error(error)}"
            raise RecordUnreadable(what) from error

    def _find_class(self, kind: object, form: object) -> type[_Payload]:
        if not isinstance(kind, str) or kind not in self._kinds:
            raise _WrongShapeError("the kind is not known to this edition of prepkit")
        if type(form) is not int or (kind, form) not in self._classes:
            raise _WrongShapeError("the form is not known to this edition of prepkit")
        return self._classes[kind, form]

    def _read_body(self, cls: type[_Payload], body: object) -> _Payload:
        if not isinstance(body, str):
            raise _WrongShapeError(f"expected text, got {type(body).__name__}")
        if len(body) > MAX_BODY:
            raise _WrongShapeError(f"expected at most {MAX_BODY} characters, got {len(body)}")
        payload: _Payload = _make_decoder(cls).decode(body)
        # One text for one value: repeated and unknown keys, spaces and odd escapes would make two records of one event.
        if write_struct(payload) != body:
            raise _WrongShapeError("the body is not in canonical form")
        return payload


@cache
def _make_decoder(cls: type[_Payload]) -> Decoder[_Payload]:
    """What reads one class: strictly, since the library turns nothing into another type."""
    return Decoder(cls)


def _say_error(error: Exception) -> str:
    """What is wrong with a body that may be hostile, cut short and in plain ASCII."""
    return "it is nested too deeply" if isinstance(error, RecursionError) else ascii(str(error))[1:-1][:_MOST_SAID]


def _cut(value: object) -> str:
    """Quote at most 40 characters of something that may be hostile, in plain ASCII."""
    if isinstance(value, str):
        return ascii(value[:40])[:40]
    # A number of thousands of digits cannot even be turned into text.
    is_short = isinstance(value, int) and value.bit_length() <= 64  # noqa: PLR2004 - an SQL integer
    return str(value) if is_short else type(value).__name__


PREPARATION_CODEC: Codec[Payload] = Codec(PAYLOADS)
"""For the stream of a preparation."""
encode_payload = PREPARATION_CODEC.encode
"""Encode a payload of a preparation; see `Codec.encode`."""
read_payload = PREPARATION_CODEC.read
"""Read a stored payload of a preparation; see `Codec.read`."""
