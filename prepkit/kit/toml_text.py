"""A TOML text itself: the line of every key path, and what the parser refuses in plain words.

TOML parsers give positions for errors only, never for valid values. The text to be located must be one that `tomli` has
accepted. The walk leans on that and checks next to nothing: it tells apart keys, brackets, strings and "anything else".
It keeps its own stack instead of recursing, and its places in a tree instead of a table of paths, so that time and
memory grow with the length of the text, whatever the text holds.
"""

import re
from collections.abc import Iterator, Mapping, Sequence
from typing import TypeAlias

import tomli

KeyPath: TypeAlias = tuple[str | int, ...]

_SPACE = re.compile(r"[ \t]*+")
_BLANK = re.compile(r"(?:[ \t\r\n]++|#[^\n]*+)*+")
_BARE_KEY = re.compile(r"[A-Za-z0-9_-]++")
# Everything that is neither string nor bracket: numbers, booleans, dates (which may hold a space).
_PLAIN = re.compile(r"[^,\[\]{}#\n\"']*+")
# By opening quotes, the longest first. A string in three quotes may hold and end with one or two quotes of its own.
_STRINGS = (
    ('"""', re.compile(r'"""(?:[^"\\]++|\\.|"(?!""))*+"{3,5}', re.DOTALL)),
    ("'''", re.compile(r"'''(?:[^']++|'(?!''))*+'{3,5}")),
    ('"', re.compile(r'"(?:[^"\\\n]++|\\.)*+"')),
    ("'", re.compile(r"'[^'\n]*+'")),
)
_KEYS = {quotes: body for quotes, body in _STRINGS if len(quotes) == 1}


class Node:
    """One place in the text: its line, and the places inside it by key or index."""

    __slots__ = ("inside", "line")

    def __init__(self, line: int) -> None:
        self.line = line
        self.inside: dict[str | int, Node] | None = None

    def enter(self, step: str | int, line: int) -> "Node":
        """Go to the place under a key or index, which is on this line if it was not known before."""
        if self.inside is None:
            self.inside = {}
        found = self.inside.get(step)
        if found is None:
            found = self.inside[step] = Node(line)
        return found

    def append(self, line: int) -> "Node":
        """Add the next element of an array."""
        return self.enter(len(self.inside or ()), line)


class Places(Mapping[KeyPath, int]):
    """The line, from 1, of every key path in a text: keys as text, elements of arrays by index, as in ("line", 3)."""

    __slots__ = ("_root",)

    def __init__(self, root: Node) -> None:
        self._root = root

    def __getitem__(self, path: KeyPath) -> int:
        lines = self.follow(path)
        if not path or len(lines) < len(path):
            raise KeyError(path)
        return lines[-1]

    def __iter__(self) -> Iterator[KeyPath]:
        waiting: list[tuple[KeyPath, Node]] = [((), self._root)]
        while waiting:
            path, node = waiting.pop()
            if path:
                yield path
            inside = node.inside or {}
            waiting += [((*path, step), inside[step]) for step in reversed(inside)]

    def __len__(self) -> int:
        waiting, count = [self._root], 0
        while waiting:
            inside = waiting.pop().inside or {}
            count += len(inside)
            waiting += inside.values()
        return count

    def follow(self, path: Sequence[str | int]) -> list[int]:
        """Give the lines of the steps of a path, as far as they are known."""
        lines: list[int] = []
        node = self._root
        for step in path:
            found = (node.inside or {}).get(step)
            if found is None:
                break
            lines.append(found.line)
            node = found
        return lines


def locate_keys(text: str) -> Places:
    """Find the line of every key path of a text that `tomli.loads` has accepted.

    A table has the line of its own header, or of the first line that names it where it has none; an array of tables
    has that of its first header; a key, and an element of an array, has the line where it starts. A line ends with a
    line feed, as TOML has it, and with nothing else.

    Raises:
        ValueError: for some texts that tomli would not accept; for others the places found are of no use.

    """
    return Places(_Walk(text).walk())


def find_line(places: Places, path: Sequence[str | int]) -> int:
    """Give the line of the longest part of the path, from its start, that is in the text; 1 where nothing of it is."""
    lines = places.follow(path)
    return lines[-1] if lines else 1


class _Walk:
    """One pass over one text."""

    def __init__(self, text: str) -> None:
        self.text = text
        self.at = 0
        self.line = 1
        self.root = Node(1)

    def walk(self) -> Node:
        """Visit each header and each key; keys belong to the last header's table."""
        table = self.root
        self.skip(_BLANK)
        while self.at < len(self.text):
            if self.peek() == "[":
                table = self.read_header()
            else:
                self.read_pair(table)
            self.skip(_BLANK)
        return self.root

    def read_header(self) -> Node:
        """Read `[a.b]` or `[[a.b]]`; the table named is the one that the keys below go into."""
        brackets = 2 if self.text.startswith("[[", self.at) else 1
        self.at += brackets
        *before, last = self.read_key()
        self.expect("]" * brackets)
        node = self.root
        for part in before:
            node = _find_last(node.enter(part, self.line))
        node = node.enter(last, self.line)
        if brackets == len("[["):
            return node.append(self.line)
        node.line = self.line
        return node

    def read_pair(self, table: Node) -> None:
        """Read `key = value` and everything inside the value, with the open brackets on a stack."""
        open_brackets: list[tuple[Node, str]] = []
        self.read_key_and_start(table, open_brackets)
        while open_brackets:
            self.skip(_BLANK)
            node, bracket = open_brackets[-1]
            mark = self.peek()
            if mark in "]}":
                open_brackets.pop()
                self.at += 1
            elif mark == ",":
                self.at += 1
            elif bracket == "[":
                self.start_value(node.append(self.line), open_brackets)
            else:
                self.read_key_and_start(node, open_brackets)

    def read_key_and_start(self, table: Node, open_brackets: list[tuple[Node, str]]) -> None:
        """Read `key =` inside a table and start its value."""
        node, line = table, self.line
        for part in self.read_key():
            node = node.enter(part, line)
        self.expect("=")
        self.skip(_SPACE)
        self.start_value(node, open_brackets)

    def start_value(self, node: Node, open_brackets: list[tuple[Node, str]]) -> None:
        """Step over a value, or into it where it opens a bracket."""
        mark = self.peek()
        if mark in "[{":
            open_brackets.append((node, mark))
            self.at += 1
        else:
            self.skip(next((body for quotes, body in _STRINGS if self.text.startswith(quotes, self.at)), _PLAIN))

    def read_key(self) -> list[str]:
        """Read a key with its dots, and the space on both sides of it."""
        parts = [self.read_part()]
        while self.text.startswith(".", self.at):
            self.at += 1
            parts.append(self.read_part())
        return parts

    def read_part(self) -> str:
        """Read one part of a dotted key, bare or in quotes, and the space on both sides of it."""
        self.skip(_SPACE)
        mark = self.peek()
        written = self.skip(_KEYS.get(mark, _BARE_KEY))
        self.skip(_SPACE)
        if "\\" in written:
            return str(tomli.loads(f"key = {written}")["key"])
        return written[1:-1] if mark in _KEYS else written

    def peek(self) -> str:
        """Give the character that comes next."""
        if self.at >= len(self.text):
            raise ValueError(f"the text ends too early, in line {self.line}")
        return self.text[self.at]

    def expect(self, mark: str) -> None:
        """Step over a mark that must be here."""
        if not self.text.startswith(mark, self.at):
            raise ValueError(f'expected "{mark}" in line {self.line}')
        self.at += len(mark)

    def skip(self, shape: re.Pattern[str]) -> str:
        """Step over what has this shape, counting lines, and give it."""
        found = shape.match(self.text, self.at)
        if found is None:
            raise ValueError(f"cannot read line {self.line}")
        self.line += self.text.count("\n", self.at, found.end())
        self.at = found.end()
        return found[0]


def _find_last(node: Node) -> Node:
    """Find the last table of an array of tables, which a header means by its name; any other place is itself."""
    inside = node.inside or {}
    return inside.get(len(inside) - 1, node)


_TABLE = re.compile(r"\s*\[\[?([^\[\]]+)\]\]?\s*(?:#.*)?$")
_KEY_AND_VALUE = re.compile(r"\s*[A-Za-z0-9_-]+\s*=\s*(.*?)\s*$")
_MEANS_DEFINED_TWICE = ("Duplicate", "overwrite", "twice", "Cannot mutate")
# The parser names a table by its Python parts: ('sources', 'example').
_NAME = r"'([^']+)'"
_NAMES = re.compile(rf"\({_NAME}(?:, {_NAME})*,?\)")
# What a value looks like that was meant to be another kind of value, and what to do about it.
_LOOKS = (
    (re.compile(r"[\N{LEFT DOUBLE QUOTATION MARK}\N{RIGHT DOUBLE QUOTATION MARK}\N{DOUBLE LOW-9 QUOTATION MARK}]"),
     'these quotes are a word processor\'s: write straight ones, "..."'),
    (re.compile(r"(?i)(yes|no|on|off|true|false)\s*(#|$)"), "write true or false, in small letters and without quotes"),
    (re.compile(r"\d{1,2}[-./]\d{1,2}[-./]\d{2,4}"), "dates are written year-month-day, such as 2027-11-30"),
    (re.compile(r"\d{4}-\d\d-\d\d"), "there is no such day: dates are written year-month-day, such as 2027-11-30"),
    (re.compile(r"\d+,\d"), "amounts stand in quotes, with a decimal point and a unit, such as \"1.5 mL\""),
    (re.compile(r"\d+\+\d"), "gestations stand in quotes, such as \"28+0\""),
    (re.compile(r"[0-9.]+ *[A-Za-z%/]"), "amounts stand in quotes, such as \"1.5 mL\""),
    (re.compile(r"[A-Za-z]"), "text stands in quotes, \"...\""),
    (re.compile(r"\"[^\"]*$"), "the text has no quote at its end"),
)  # fmt: skip


def explain_syntax(error: tomli.TOMLDecodeError, rows: Sequence[str]) -> tuple[str, str]:
    """What is wrong with the row the parser stopped at, and what to do about it as far as the row shows it."""
    row = rows[error.lineno - 1] if 0 < error.lineno <= len(rows) else ""
    said = _NAMES.sub(lambda found: f"[{'.'.join(re.findall(_NAME, found[0]))}]", error.msg)
    wrong = f"is not TOML: {said} (column {error.colno})"
    if any(word in error.msg for word in _MEANS_DEFINED_TWICE):
        return wrong, _explain_defined_twice(row, rows[: error.lineno - 1])
    written = _KEY_AND_VALUE.match(row)
    return wrong, next((hint for looks, hint in _LOOKS if written and looks.match(written[1])), "")


def _explain_defined_twice(row: str, before: Sequence[str]) -> str:
    table = _TABLE.match(row)
    if table is None:
        return "each key may stand once in its table"
    single, name = re.compile(rf"\s*\[{re.escape(table[1])}\]"), table[1]
    first = next((at for at, earlier in enumerate(before, 1) if single.match(earlier)), 0)
    if first and row.lstrip().startswith("[["):
        return f"write [[{name}]] on line {first} too: a table that stands several times has two brackets each time"
    if "." in name:
        return "each table may stand once, and so may each id"
    return f"each table may stand once; one that stands several times has two brackets each time, [[{name}]]"
