"""Laws of the locator: texts written in random layouts by a writer that keeps count, and texts of random pieces."""

import re
import string
from collections.abc import Iterator
from contextlib import suppress
from dataclasses import dataclass, field
from typing import Any, TypeAlias

import tomli
from hypothesis import given
from hypothesis import strategies as st

from prepkit.kit.toml_text import KeyPath, locate_keys

Tree: TypeAlias = Any
"""A text (one TOML value as written), a list of trees or a table of trees."""

TQ = '"""'
TS = "'''"


def list_paths(value: object, path: KeyPath = ()) -> Iterator[KeyPath]:
    """List every path of a document as the parser sees it."""
    if path:
        yield path
    steps = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    for step, inside in steps:
        yield from list_paths(inside, (*path, step))


@dataclass
class Writer:
    """Writes a tree as TOML in a layout drawn at random, and keeps the line of each path."""

    draw: st.DataObject
    parts: list[str] = field(default_factory=list)
    line: int = 1
    lines: dict[KeyPath, int] = field(default_factory=dict)

    def choose(self, *choices: str) -> str:
        return self.draw.draw(st.sampled_from(choices))

    def put(self, text: str) -> None:
        self.parts.append(text)
        self.line += text.count("\n")

    def put_gap(self) -> None:
        """Put what may stand between the parts of an array."""
        self.put(self.choose("", " ", "\n", ' # ] , """ \' [x] = {\n', "\t\n\n  "))

    def put_blank_lines(self) -> None:
        self.put(self.choose("", "\n", "# [no] = 1\n", "  \t\n\n"))

    def note(self, path: KeyPath) -> None:
        """Keep the line of a path and of the tables that it is the first to name."""
        for length in range(1, len(path) + 1):
            self.lines.setdefault(path[:length], self.line)

    def write_key(self, keys: tuple[str, ...]) -> str:
        return self.choose(".", " . ").join(map(self.write_part, keys))

    def write_part(self, key: str) -> str:
        forms = ['"' + "".join(c if c in PLAIN else f"\\U{ord(c):08x}" for c in key) + '"']
        if re.fullmatch("[A-Za-z0-9_-]+", key):
            forms.append(key)
        if "'" not in key and "\n" not in key:
            forms.append(f"'{key}'")
        return self.choose(*forms)

    def put_table(self, header: tuple[str, ...], path: KeyPath, table: dict[str, Tree]) -> None:
        """Put the pairs of a table, then the tables in it under headers of their own."""
        under_headers = []
        for key, tree in table.items():
            if self.may_have_header(tree) and self.choose("header", "here") == "header":
                under_headers.append(key)
            else:
                self.put_pair(path, (key,), tree)
        for key in under_headers:
            self.put_headers((*header, key), (*path, key), table[key])

    def may_have_header(self, tree: Tree) -> bool:
        return isinstance(tree, dict) or (
            bool(tree) and isinstance(tree, list) and all(isinstance(t, dict) for t in tree)
        )

    def put_headers(self, header: tuple[str, ...], path: KeyPath, tree: Tree) -> None:
        if isinstance(tree, dict):
            self.put(self.choose("", "  ") + f"[{self.write_key(header)}]")
            self.note(path)
            self.put(" # x\n")
            self.put_table(header, path, tree)
            return
        for place, element in enumerate(tree):
            self.put(f"[[ {self.write_key(header)} ]]")
            self.note((*path, place))
            self.put("\n")
            self.put_table(header, (*path, place), element)

    def put_pair(self, path: KeyPath, keys: tuple[str, ...], tree: Tree) -> None:
        """Put `key = value`, or the pairs of a table with dotted keys."""
        if isinstance(tree, dict) and tree and self.choose("dotted", "inline") == "dotted":
            for key, inside in tree.items():
                self.put_pair(path, (*keys, key), inside)
            return
        self.put_blank_lines()
        self.put_inline_pair(path, keys, tree)
        self.put(self.choose("\n", " # , ] }\n"))

    def put_inline_pair(self, path: KeyPath, keys: tuple[str, ...], tree: Tree) -> None:
        self.put(self.write_key(keys))
        self.note((*path, *keys))
        self.put(self.choose("=", " = ", "\t="))
        self.put_value((*path, *keys), tree)

    def put_value(self, path: KeyPath, tree: Tree) -> None:
        if isinstance(tree, str):
            self.put(tree)
        elif isinstance(tree, list):
            self.put_array(path, tree)
        else:
            self.put_inline_table(path, tree)

    def put_array(self, path: KeyPath, trees: list[Tree]) -> None:
        self.put("[")
        for place, tree in enumerate(trees):
            self.put_gap()
            self.note((*path, place))
            self.put_value((*path, place), tree)
            self.put_gap()
            self.put("," if place < len(trees) - 1 else self.choose("", ","))
        self.put_gap()
        self.put("]")

    def put_inline_table(self, path: KeyPath, table: dict[str, Tree]) -> None:
        self.put("{ ")
        for place, (key, tree) in enumerate(table.items()):
            self.put(" , " if place else "")
            self.put_inline_pair(path, (key,), tree)
        self.put(" }")


# What a quoted key need not escape; the rest is written as an escape.
PLAIN = set(string.ascii_letters + string.digits + " .#=[]{},'é")

SCALARS = [
    "1", "-0.5", "true", "inf", "1979-05-27 07:32:00Z", "1979-05-27", "07:32:00", '""', "''",
    '"# [x] = \\" \\\\"', "'# = ] } \\'", '"it\'s"', '"\\U0001F600"',
    f'{TQ}x\n[not]\n# no = "" q{TQ}""', f"{TS}it''s\nb = 1\n\\{TS}'", f"{TQ}\\\n  folded\\{TQ}{TQ}", TQ + TQ, TS + TS,
]  # fmt: skip

keys = st.text(alphabet="ab1-.#=[]{},'\"\\ é日\n\t", max_size=4)


def tables_of(inside: st.SearchStrategy[Tree]) -> st.SearchStrategy[dict[str, Tree]]:
    return st.dictionaries(keys, inside, max_size=3)


trees: st.SearchStrategy[Tree] = st.recursive(
    st.sampled_from(SCALARS),
    lambda inside: st.lists(inside, max_size=3) | st.lists(tables_of(inside), max_size=3) | tables_of(inside),
    max_leaves=12,
)


@given(tables_of(trees), st.data())
def test_the_lines_found_are_those_where_the_keys_were_written(table: dict[str, Tree], data: st.DataObject) -> None:
    writer = Writer(data)
    writer.put_table((), (), table)
    text = "".join(writer.parts).replace("\n", data.draw(st.sampled_from(["\n", "\r\n"])))
    assert dict(locate_keys(text)) == writer.lines
    assert set(list_paths(tomli.loads(text))) == set(writer.lines)


PIECES = [
    "a",
    "1",
    " ",
    ".",
    "=",
    ",",
    "[",
    "]",
    "{",
    "}",
    "'",
    '"',
    TQ,
    TS,
    "\\",
    "\n",
    "#",
    "a = 1",
    "[a]\n",
    "[[b]]\n",
    "b = [",
]


@given(st.lists(st.sampled_from(PIECES), max_size=8).map("".join))
def test_a_text_of_random_pieces_has_the_paths_the_parser_gives_or_ends_in_a_value_error(text: str) -> None:
    try:
        document = tomli.loads(text)
    except tomli.TOMLDecodeError:
        with suppress(ValueError):
            locate_keys(text)
    else:
        assert set(locate_keys(text)) == set(list_paths(document))
