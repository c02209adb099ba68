"""Payloads to canonical JSON and back; reading is strict, so that what was written is what is read.

May import: the events and canonical JSON of this layer, and the standard library.
"""

import json
from collections.abc import Callable
from dataclasses import fields

from prepkit.preparation.canonical import compute_fingerprint, write_canonical
from prepkit.preparation.events import PAYLOADS, Answer, Because, LineStamp, Payload

__all__ = ["MAX_BODY", "RecordUnreadable", "compute_fingerprint", "encode_payload", "read_payload"]

MAX_BODY = 2_000_000
"""Characters in one body: room for a kit and a ward file many times the usual size."""

_CLASSES: dict[tuple[str, int], type[Payload]] = {(each.KIND, each.VERSION): each for each in PAYLOADS}
_KINDS = frozenset(each.KIND for each in PAYLOADS)


class RecordUnreadable(ValueError):  # noqa: N818 - the word a person is shown
    """A stored event that cannot be taken for true; its message says which one and what is wrong with it."""


class _WrongShapeError(ValueError):
    """What is wrong inside one body; always turned into `RecordUnreadable`."""


def encode_payload(payload: Payload) -> tuple[str, int, str]:
    """Encode a payload as (kind, version, body), the body in canonical JSON.

    Raises `ValueError` for a body that could not be read back: too long, or with half of a surrogate pair in it.
    """
    body = write_canonical(_to_plain(payload))
    if len(body) > MAX_BODY:
        raise ValueError(f"{payload.KIND}: {len(body)} characters are too many to store (at most {MAX_BODY})")
    return payload.KIND, payload.VERSION, body


def read_payload(seq: int, kind: object, version: object, body: object) -> Payload:
    """Read a stored payload. Raises `RecordUnreadable`, and nothing else, for anything `encode_payload` did not write.

    `seq` is only for the message.
    """
    try:
        return _read_body(_find_class(kind, version), body)
    except (ValueError, RecursionError) as error:
        what = "it is nested too deeply" if isinstance(error, RecursionError) else error
        raise RecordUnreadable(f"event {seq} ({_cut(kind)}, version {_cut(version)}): {what}") from error


def _find_class(kind: object, version: object) -> type[Payload]:
    if not isinstance(kind, str) or kind not in _KINDS:
        raise _WrongShapeError("the kind is not known to this edition of prepkit")
    if type(version) is not int or (kind, version) not in _CLASSES:
        raise _WrongShapeError("the version is not known to this edition of prepkit")
    return _CLASSES[kind, version]


def _read_body(cls: type[Payload], body: object) -> Payload:
    if not isinstance(body, str):
        raise _WrongShapeError(f"expected text, got {type(body).__name__}")
    if len(body) > MAX_BODY:
        raise _WrongShapeError(f"expected at most {MAX_BODY} characters, got {len(body)}")
    plain: object = json.loads(body, parse_float=_refuse_number, parse_constant=_refuse_number)
    payload = _build_payload(cls, plain)
    # One text for one value: repeated keys, spaces and odd escapes would make two records of one event.
    if encode_payload(payload)[2] != body:
        raise _WrongShapeError("the body is not in canonical form")
    return payload


def _refuse_number(text: str) -> object:
    raise _WrongShapeError(f"expected no number with a point or exponent, no nan and no infinity, got {_cut(text)}")


def _build_payload(cls: type[Payload], plain: object) -> Payload:
    make: Callable[..., Payload] = cls
    return make(**_read_fields(cls, plain, ""))


def _read_fields(cls: type[Payload | LineStamp], plain: object, where: str) -> dict[str, object]:
    wanted = fields(cls)
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
    if isinstance(value, Payload | LineStamp):
        return {field.name: _to_plain(getattr(value, field.name)) for field in fields(value)}
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
