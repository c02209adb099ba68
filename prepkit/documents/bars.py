"""Bar charts and spreads: counted here, drawn in text cells or in HTML."""

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from fractions import Fraction

from msgspec import Struct

from prepkit.documents.safe_text import escape
from prepkit.quantities.text import write_decimal

_CELLS = 40
_BLOCK = "█"


class Bar(Struct, frozen=True):
    """One bar."""

    name: str
    count: int


class BarChart(Struct, frozen=True):
    """Some bars under a title."""

    title: str
    bars: tuple[Bar, ...]


class Spread(Struct, frozen=True):
    """The middle and the ends of some numbers; empty texts where there are none."""

    name: str
    unit: str
    count: int
    least: str
    median: str
    most: str

    def words(self) -> str:
        """The spread in words: "median 198.6 mg/kg (100-200, 9 known)"."""
        if not self.count:
            return "not known"
        ends = f"{self.least}\N{EN DASH}{self.most}"
        return f"median {self.median} {self.unit} ({ends}, {self.count} known)"


def compute_spread(name: str, unit: str, values: Iterable[Fraction]) -> Spread:
    """The least, the median (of an even count the mean of the middle two) and the most, to one decimal."""
    counts = Counter(values)
    # Exact fractions are slow to compare and quick to count, and among many thousands only a few differ.
    found = [value for value in sorted(counts) for _ in range(counts[value])]
    if not found:
        return Spread(name, unit, 0, "", "", "")
    middle = (found[(len(found) - 1) // 2] + found[len(found) // 2]) / 2
    return Spread(name, unit, len(found), *(write_decimal(value, 1) for value in (found[0], middle, found[-1])))


def count_words(title: str, words: Iterable[str]) -> BarChart:
    """How often each word comes, the most frequent first, then by the alphabet."""
    counts: dict[str, int] = {}
    for word in words:
        counts[word] = counts.get(word, 0) + 1
    ordered = sorted(counts.items(), key=lambda each: (-each[1], each[0]))
    return BarChart(title, tuple(Bar(word, count) for word, count in ordered))


def make_bins(title: str, values: Sequence[Fraction], width: int) -> BarChart:
    """How many lie in each span of `width`, the lower end included; spans without any in between are shown."""
    if not values:
        return BarChart(title, ())
    places = Counter(int(value // width) for value in values)
    return BarChart(
        title,
        tuple(
            Bar(f"{place * width} to under {(place + 1) * width}", places[place])
            for place in range(min(places), max(places) + 1)
        ),
    )


def draw_text(chart: BarChart) -> Iterator[str]:
    """The chart in text cells: name, bar, count. A count above zero has a bar of at least one cell."""
    most = max((bar.count for bar in chart.bars), default=0)
    room = max((len(bar.name) for bar in chart.bars), default=0)
    for bar in chart.bars:
        drawn = _BLOCK * _scale(bar.count, most, _CELLS)
        yield f"  {bar.name:<{room}}  {drawn}{' ' if drawn else ''}{bar.count}"


def draw_html(chart: BarChart) -> str:
    """The chart as a table whose bars are as wide as their counts, with the number beside each."""
    most = max((bar.count for bar in chart.bars), default=0)
    rows = "".join(
        f'<tr><th scope="row">{escape(bar.name)}</th>'
        f'<td><span class="bar" style="width: {_scale(bar.count, most, 100)}%"></span></td><td>{bar.count}</td></tr>'
        for bar in chart.bars
    )
    return f"<table>{rows}</table>" if rows else "<p>None.</p>"


def _scale(count: int, most: int, cells: int) -> int:
    return 0 if not count else max(1, count * cells // most)
