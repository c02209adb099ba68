"""JSON with exact decimals: numbers are written digit by digit, never through a binary float."""

import json
from collections.abc import Iterator, Mapping, Sequence
from typing import TypeAlias

from msgspec import Struct

_STEP = "  "


class JsonNumber(Struct, frozen=True):
    """A JSON number as it is to be written: "3.6"."""

    digits: str

    def __post_init__(self) -> None:
        whole, _, decimals = self.digits.removeprefix("-").partition(".")
        if not whole.isdecimal() or not whole.isascii() or (decimals and not decimals.isdecimal()):
            raise ValueError(f"not a JSON number: {self.digits!a}")


JsonValue: TypeAlias = "Mapping[str, JsonValue] | Sequence[JsonValue] | JsonNumber | str | bool | int | None"


def write_exact_json(value: JsonValue) -> str:
    """Write a value as JSON, indented, ending in a line break."""
    return "".join(_write(value, "\n")) + "\n"


def _write(value: JsonValue, line: str) -> Iterator[str]:
    if isinstance(value, JsonNumber):
        yield value.digits
    elif isinstance(value, Mapping):
        inside = [
            f"{json.dumps(key, ensure_ascii=False)}: {''.join(_write(value[key], line + _STEP))}" for key in value
        ]
        yield from _enclose("{", inside, "}", line)
    elif isinstance(value, Sequence) and not isinstance(value, str):
        yield from _enclose("[", ["".join(_write(each, line + _STEP)) for each in value], "]", line)
    else:
        yield json.dumps(value, ensure_ascii=False)


def _enclose(begin: str, inside: list[str], end: str, line: str) -> Iterator[str]:
    yield begin
    yield ",".join(f"{line}{_STEP}{each}" for each in inside)
    yield f"{line}{end}" if inside else end
