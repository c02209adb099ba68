"""Values and tables cut from the shipped files, for the reference: never typed, so that they never go stale."""

import re
from collections.abc import Callable, Iterator
from functools import cache
from pathlib import Path

import tomli

from prepkit.quantities.text import UnreadableAmountError, read_amount
from prepkit.quantities.units import Dimension

_ROOT = Path(__file__).parent.parent
_LONGEST = 24
_FRAGMENT = re.compile(r"^(\[+)fragment\.[^.\]]+\.", re.MULTILINE)
_BLOCK = re.compile(r"^```toml\n(.*?)^```", re.DOTALL | re.MULTILINE)


@cache
def read_shipped() -> tuple[str, ...]:
    """The texts that examples are cut from: fragments as if in a kit, the kits, the demo ward."""
    kits = _ROOT / "kits"
    paths = (*sorted(kits.glob("*/*.toml")), *sorted(kits.glob("*.toml")), _ROOT / "demo" / "ward.toml")
    return tuple(_FRAGMENT.sub(r"\1", path.read_text("utf-8")) for path in paths)


@cache
def _read_guide() -> tuple[str, ...]:
    """The tested blocks of the guide to ward files, for what no shipped file has."""
    return tuple(_BLOCK.findall((_ROOT / "docs" / "how-to-write-a-ward-file.md").read_text("utf-8")))


@cache
def _list_values() -> tuple[tuple[str, object], ...]:
    """Every key and value of the shipped files, in their order."""
    return tuple(pair for text in (*read_shipped(), *_read_guide()) for pair in _walk("", tomli.loads(text)))


def _walk(key: str, value: object) -> Iterator[tuple[str, object]]:
    if isinstance(value, dict):
        for name, inside in value.items():
            yield from _walk(name, inside)
    elif isinstance(value, list):
        for inside in value:
            yield from _walk(key, inside)
    else:
        yield key, value


def find_value(key: str, fits: Callable[[object], bool]) -> object:
    """A value that fits, as it stands in a shipped file: under this key where there is one; else any, or nothing."""
    fitting = [(name, value) for name, value in _list_values() if fits(value)]
    return next((value for name, value in fitting if name == key), fitting[0][1] if fitting else "")


def measures(dimensions: tuple[Dimension, ...], *, positive: bool = False) -> Callable[[object], bool]:
    """Make a test of whether a value is an amount of one of these dimensions."""

    def fits(value: object) -> bool:
        try:
            amount = read_amount(value) if isinstance(value, str) else None
        except UnreadableAmountError:
            return False
        return amount is not None and amount.dimension in dimensions and (amount.value > 0 or not positive)

    return fits


def find_example(table: str, kind: str, keys: set[str]) -> str:
    """The table from a shipped file that shows the most keys without being long; empty where no file has one.

    Args:
        table: its name; empty for the top of a file.
        kind: a row that it has to hold; may be empty.
        keys: the keys that may stand in it.
    """
    for texts in (read_shipped(), _read_guide()):
        blocks = [block for text in texts for block in _cut(text, table) if kind in block and block]
        fitting = [block for block in blocks if set(_list_keys(block.partition("\n[")[0])) <= keys]
        if fitting:
            return _choose(fitting)
    return ""


def _choose(fitting: list[str]) -> str:
    short = [block for block in fitting if block.count("\n") <= _LONGEST]
    if short:
        return max(short, key=lambda block: len(set(_list_keys(block))))
    return min(fitting, key=len)


def _list_keys(block: str) -> list[str]:
    return re.findall(r"^(\w+) = ", block, re.MULTILINE)


def _cut(text: str, table: str) -> Iterator[str]:
    """Every table of this name with what belongs to it, without comments; of the top, its own keys."""
    rows = [row for row in text.splitlines() if not row.startswith("#")]
    heads = [at for at, row in enumerate(rows) if row.startswith("[")]
    starts = [at for at in heads if re.match(rf"\[\[?{table}\]|\[{table}\.[^.]+\]$", rows[at])] if table else [0]
    for start in starts:
        part = rows[start].strip("[]") + "."
        end = next((at for at in heads if at > start and not rows[at].strip("[]").startswith(part)), len(rows))
        end = end if table else next(iter(heads), len(rows))
        yield re.sub(r" +#.*$", "", "\n".join(rows[start:end]).strip(), flags=re.MULTILINE)
