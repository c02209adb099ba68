"""A number on a line with spans or named points: a weight on a label and an approval, or between its centiles."""

from collections.abc import Mapping, Sequence

from msgspec import Struct

from prepkit.pictures.drawing import POINTER, Drawing, fit

_BAR = "\N{BOX DRAWINGS LIGHT HORIZONTAL}"
_POINT = "\N{BOX DRAWINGS LIGHT VERTICAL}"


class Stretch(Struct, frozen=True):
    """A named span of whole grams, both ends within it."""

    name: str
    low: int
    high: int


def draw_weight(weight: int, stretches: Sequence[Stretch], width: int) -> Drawing:
    """Draw a weight in g against the spans that allow something: a label, the ward's approval.

    The pointer stands within a span's bar exactly where the weight is within the span.
    """
    edges = sorted({edge for each in stretches for edge in (each.low, each.high)})
    columns = _place([*edges, weight], fit(width))
    rows = []
    for each in stretches:
        low, high = columns[each.low], columns[each.high]
        rows.append(_label(each.name, low, fit(width)))
        rows.append(
            " " * low + "\N{BOX DRAWINGS LIGHT VERTICAL AND RIGHT}" + _BAR * (high - low - 1) + _close(low, high)
        )
    rows.append(_point(columns[weight], f"{weight} g", fit(width)))
    said = [f"{'within' if each.low <= weight <= each.high else 'outside'} {each.name}" for each in stretches]
    return Drawing(tuple(rows), f"{weight} g: {', '.join(said) or 'no span is stated'}.")


def draw_centiles(weight: int, points: Mapping[str, int], width: int) -> Drawing:
    """Draw a weight in g between named points, such as centiles, in order of their weights."""
    columns = _place([*points.values(), weight], fit(width))
    names = {columns[at]: name for name, at in points.items()}
    values = {columns[at]: str(at) for at in points.values()}
    ordered = sorted(points.items(), key=lambda each: each[1])
    rows = (
        _write(names, fit(width)),
        _write(values, fit(width)),
        _write(dict.fromkeys(names, _POINT), fit(width), bar=_BAR),
        _point(columns[weight], f"{weight} g", fit(width)),
    )
    return Drawing(rows, _say_between(weight, ordered))


def _place(values: Sequence[int], width: int) -> dict[int, int]:
    """Give each value a column of its own, in order: values that differ never look the same."""
    ordered = sorted(set(values))
    low, span = ordered[0], max(ordered[-1] - ordered[0], 1)
    room = width - 1 - 2 * _MARGIN
    columns: dict[int, int] = {}
    taken = _MARGIN - 1
    for at, value in enumerate(ordered):
        wanted = _MARGIN + round(room * (value - low) / span)
        left = len(ordered) - 1 - at
        taken = columns[value] = min(max(wanted, taken + 1), _MARGIN + room - left)
    return columns


_MARGIN = 3


def _close(low: int, high: int) -> str:
    return "\N{BOX DRAWINGS LIGHT VERTICAL AND LEFT}" if high > low else ""


def _label(name: str, column: int, width: int) -> str:
    return " " * min(column, max(width - len(name), 0)) + name


def _point(column: int, text: str, width: int) -> str:
    if column + 2 + len(text) <= width:
        return " " * column + f"{POINTER} {text}"
    return f"{text} {POINTER}".rjust(column + 1)


def _write(parts: Mapping[int, str], width: int, bar: str = " ") -> str:
    """Write texts centred on their columns; leave out any that would touch the one before it."""
    cells = [" "] * width
    if bar != " ":
        cells[min(parts) : max(parts) + 1] = bar * (max(parts) + 1 - min(parts))
    free = 0
    for column, text in sorted(parts.items()):
        begin = min(max(column - len(text) // 2, 0), width - len(text))
        if begin >= free:
            cells[begin : begin + len(text)] = text
            free = begin + len(text) + (1 if bar == " " else 0)
    return "".join(cells).rstrip()


def _say_between(weight: int, ordered: Sequence[tuple[str, int]]) -> str:
    below = [name for name, at in ordered if at <= weight]
    above = [name for name, at in ordered if at > weight]
    if not below:
        return f"{weight} g: below {above[0]}."
    if not above:
        return f"{weight} g: at or above {below[-1]}."
    return f"{weight} g: from {below[-1]} to {above[0]}."
