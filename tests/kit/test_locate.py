"""Lines of key paths: a corpus of small texts with the line of every path in them, and long hostile texts."""

from collections.abc import Iterator

import pytest
import tomli

from prepkit.kit.toml_text import KeyPath, find_line, locate_keys

TQ = '"""'
TS = "'''"


def read_expected(words: str) -> dict[KeyPath, int]:
    """Read "line:1 line.0:1 line.0.dose:2": paths with dots, digits for places in an array, and the line of each."""
    pairs = (word.rsplit(":", 1) for word in words.split())
    return {tuple(int(p) if p.isdigit() else p for p in path.split(".")): int(line) for path, line in pairs}


def list_paths(value: object, path: KeyPath = ()) -> Iterator[KeyPath]:
    """List every path of a document as the parser sees it."""
    if path:
        yield path
    steps = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    for step, inside in steps:
        yield from list_paths(inside, (*path, step))


SMALL_KIT = """\
kit = 1

[sources.cps-2011]
title = "x"

[[line]]
id = "a"
bands = [
  { at_most = "1 kg", size = "1" },
]

[[line]]
id = "b"
[line.when]
fact = "line"
"""

# Each text, and the paths in it with their lines. Paths with odd keys are written out as tuples.
CORPUS: dict[str, tuple[str, str | dict[KeyPath, int]]] = {
    "nothing at all": ("", ""),
    "blank lines only": ("\n \n\t\n", ""),
    "comments only": ("# a = 1\n# [b]\n", ""),
    "one key": ("a = 1", "a:1"),
    "one key with a line end": ("a = 1\n", "a:1"),
    "no spaces": ("a=1\nb=2", "a:1 b:2"),
    "blank lines and comments between": ("\n# x\na = 1 # y = 2\n\n\nb = 2", "a:3 b:6"),
    "indented": ("\t a\t =\t 1\n   b = 2", "a:1 b:2"),
    "a table": ("[kit]\nid = 'x'\n", "kit:1 kit.id:2"),
    "a header with spaces and a comment": (" [ a . b ] # [c]\nd = 1", "a:1 a.b:1 a.b.d:2"),
    "a header at the end of the text": ("[a]\n[b]", "a:1 b:2"),
    "a table within a table": (
        "[sources.cps-2011]\ntitle = 'x'",
        "sources:1 sources.cps-2011:1 sources.cps-2011.title:2",
    ),
    "the outer header after the inner": ("[a.b]\nc = 1\n[a]\nd = 2", "a:3 a.b:1 a.b.c:2 a.d:4"),
    "dotted keys": ("a.b.c = 1\na.b.d = 2\na.e = 3", "a:1 a.b:1 a.b.c:1 a.b.d:2 a.e:3"),
    "dotted keys with spaces": ("a . b\t.  c = 1", "a:1 a.b:1 a.b.c:1"),
    "dotted keys in a table": ("[t]\na.b = 1\na.c = 2", "t:1 t.a:2 t.a.b:2 t.a.c:3"),
    "keys of digits and hyphens": ("-a- = 1\n_ = 2", {("-a-",): 1, ("_",): 2}),
    "keys of digits are text": ("12 = 1\n3.4 = 2", {("12",): 1, ("3",): 2, ("3", "4"): 2}),
    "keys that look like values": (
        "true = 1\ninf = 2\n1979-05-27 = 3",
        {("true",): 1, ("inf",): 2, ("1979-05-27",): 3},
    ),
    "an array of tables": (
        "[[line]]\ndose = 1\n[[line]]\ndose = 2",
        "line:1 line.0:1 line.0.dose:2 line.1:3 line.1.dose:4",
    ),
    "the fourth table": ("[[l]]\n[[l]]\n[[l]]\n[[l]]\na = 1", "l:1 l.0:1 l.1:2 l.2:3 l.3:4 l.3.a:5"),
    "a table within the last element": (
        "[[a]]\n[a.b]\nc = 1\n[[a]]\n[a.b]\nc = 2",
        "a:1 a.0:1 a.0.b:2 a.0.b.c:3 a.1:4 a.1.b:5 a.1.b.c:6",
    ),
    "an array of tables within the last element": (
        "[[a]]\n[[a.b]]\nx = 1\n[[a.b]]\n[[a]]\n[[a.b]]",
        "a:1 a.0:1 a.0.b:2 a.0.b.0:2 a.0.b.0.x:3 a.0.b.1:4 a.1:5 a.1.b:6 a.1.b.0:6",
    ),
    "a table two arrays down": (
        "[[a]]\n[[a.b]]\n[a.b.c.d]\ne = 1",
        "a:1 a.0:1 a.0.b:2 a.0.b.0:2 a.0.b.0.c:3 a.0.b.0.c.d:3 a.0.b.0.c.d.e:4",
    ),
    "an array of tables in a table": ("[a]\nx = 1\n[[a.b]]\ny = 2", "a:1 a.x:2 a.b:3 a.b.0:3 a.b.0.y:4"),
    "an array of tables with nothing before": ("[[a.b]]\n[a]\nx = 1", "a:2 a.b:1 a.b.0:1 a.x:3"),
    "another table between elements": ("[[a]]\n[c]\nd = 1\n[[a]]\ne = 2", "a:1 a.0:1 c:2 c.d:3 a.1:4 a.1.e:5"),
    "an array on one line": ("vials = [1.5, 3, ]\nb = 1", "vials:1 vials.0:1 vials.1:1 b:2"),
    "an array over lines": ("vials = [\n  1,\n  2,\n\n  3,\n]\nb = 1", "vials:1 vials.0:2 vials.1:3 vials.2:5 b:7"),
    "an array with comments": (
        "a = [ # ] one, two\n 1 # , 7\n # 8,\n , # ]\n 2 # ]\n] # ]\nb = 1",
        "a:1 a.0:2 a.1:5 b:7",
    ),
    "empty arrays": ("a = []\nb = [\n\n# ]\n]\nc = [[], [\n], ]", "a:1 b:2 c:6 c.0:6 c.1:6"),
    "arrays in arrays": ("a = [[1,\n2], [\n[3]]]", "a:1 a.0:1 a.0.0:1 a.0.1:2 a.1:2 a.1.0:3 a.1.0.0:3"),
    "an inline table": ("a = { b = 1, c.d = 2 }\ne = 3", "a:1 a.b:1 a.c:1 a.c.d:1 e:2"),
    "empty inline tables": ("a = {}\nb = { }\nc = [{}, {\t}]", "a:1 b:2 c:3 c.0:3 c.1:3"),
    "inline tables in inline tables": ("a = {b={c={d=1}},e={}}", "a:1 a.b:1 a.b.c:1 a.b.c.d:1 a.e:1"),
    "inline tables in an array over lines": (
        "a = [\n  { x = 1, y = [\n    1,\n    { z = 2 } ] },\n  # none\n  { x = 3 },\n]",
        "a:1 a.0:2 a.0.x:2 a.0.y:2 a.0.y.0:3 a.0.y.1:4 a.0.y.1.z:4 a.1:6 a.1.x:6",
    ),
    "an inline table over lines": ("a = {\n  b = 1, # }\n  c = 2,\n}\nd = 3", "a:1 a.b:2 a.c:3 d:5"),
    "brackets in strings": ("a = '[x]'\nb = \"]\"\nc = ['[', ']', \"}{\"]\nd = 1", "a:1 b:2 c:3 c.0:3 c.1:3 c.2:3 d:4"),
    "hash and equals in strings": ("a = '# b = 1'\nc = \"x # y = z\" # d = 1\ne = 1", "a:1 c:2 e:3"),
    "commas in strings": ("a = ['1, 2', \"3, 4\"]", "a:1 a.0:1 a.1:1"),
    "escaped quotes": (r'a = "\" # \\\"" # "' + "\n" + r'b = ["\"]", "\\"]' + "\nc = 1", "a:1 b:2 b.0:2 b.1:2 c:3"),
    "a backslash ends a literal string": ("a = 'x\\'\nb = [ 'x\\', 'y' ]", "a:1 b:2 b.0:2 b.1:2"),
    "quotes of the other kind": ("a = \"it's\"\nb = 'say \"'\nc = 1", "a:1 b:2 c:3"),
    "empty strings": ("a = \"\"\nb = ''\nc = ['', \"\"]", "a:1 b:2 c:3 c.0:3 c.1:3"),
    "a basic string over lines": (f"a = {TQ}\n[b]\nc = 1\n# {TQ}\nd = 1", "a:1 d:5"),
    "a literal string over lines": (f"a = {TS}\n[b]\nc = '1'\n\\{TS}\nd = 1", "a:1 d:5"),
    "a string over lines with quotes at its end": (f'a = {TQ}x"{TQ}\nb = {TQ}x""{TQ}\nc = 1', "a:1 b:2 c:3"),
    "a literal string over lines with quotes at its end": (f"a = {TS}x'{TS}\nb = {TS}\nx''{TS}\nc = 1", "a:1 b:2 c:4"),
    "quotes within strings over lines": (f"a = {TQ}\"x\"\"y\n{TQ}\nb = {TS}'x''y\n{TS}\nc = 1", "a:1 b:3 c:5"),
    "nothing but quotes": (f"a = {TQ}\"\"{TQ}\nb = {TS}''{TS}\nc = 1", "a:1 b:2 c:3"),
    "the other three quotes inside": (f"a = {TQ}\n{TS}\n{TQ}\nb = {TS}\n{TQ}\n{TS}\nc = 1", "a:1 b:4 c:7"),
    "empty strings over lines": (f"a = {TQ}{TQ}\nb = {TS}{TS}\nc = {TQ}\n{TQ}\nd = 1", "a:1 b:2 c:3 d:5"),
    "escaped quotes in a string over lines": (f"a = {TQ}\n\\{TQ}\n\\\\{TQ}\nb = 1", "a:1 b:4"),
    "a string folded with a backslash": (f"a = {TQ}x \\\n\n   y{TQ}\nb = 1", "a:1 b:4"),
    "strings over lines in an array": (f"a = [ {TQ}\n]\n{TQ}, {TS},\n{TS}\n, 1 ]", "a:1 a.0:1 a.1:3 a.2:5"),
    "dates and times": (
        "a = 1979-05-27 07:32:00 #\nb = 1979-05-27T00:32:00Z\nc = 07:32:00\nd = [1979-05-27 07:32:00, 1979-05-27]",
        "a:1 b:2 c:3 d:4 d.0:4 d.1:4",
    ),
    "numbers and booleans": (
        "a = [+1, -0.5e-3, 0xFF, 1_000, inf, -nan, true, false]",
        "a:1 a.0:1 a.1:1 a.2:1 a.3:1 a.4:1 a.5:1 a.6:1 a.7:1",
    ),
    "windows line ends": (
        f"# x\r\n[a]\r\nb = [\r\n  1, # y\r\n  2,\r\n]\r\nc = {TQ}\r\nx\r\n{TQ}\r\nd = 1\r\n",
        "a:2 a.b:3 a.b.0:4 a.b.1:5 a.c:7 a.d:10",
    ),
    "separators that end no line in TOML": ("a = 'x\u2028y\x85z' # \u2029\nb = 1", "a:1 b:2"),
    "quoted keys": (
        "'a.b' = 1\n\"c d\" = 2\n\"e\".'f'.g = 3",
        {("a.b",): 1, ("c d",): 2, ("e",): 3, ("e", "f"): 3, ("e", "f", "g"): 3},
    ),
    "empty keys": (
        "\"\" = 1\n[a]\n'' = 2\n\"b\".'' = 3",
        {("",): 1, ("a",): 2, ("a", ""): 3, ("a", "b"): 4, ("a", "b", ""): 4},
    ),
    "marks in quoted keys": (
        "'[a] # = ' = 1\n\"}, ]\" = 2\nx = { '}' = 3 }",
        {("[a] # = ",): 1, ("}, ]",): 2, ("x",): 3, ("x", "}"): 3},
    ),
    "escapes in quoted keys": (
        '"\\"" = 1\n"\\u00e9\\\\" = 2\n"\\U0001F600\\t" = 3\n\'\\u00e9\' = 4',
        {('"',): 1, ("é\\",): 2, ("\U0001f600\t",): 3, ("\\u00e9",): 4},
    ),
    "keys beyond ASCII": ('"é" = 1\n[\'日本\']\n"ß.ß" = 2', {("é",): 1, ("日本",): 2, ("日本", "ß.ß"): 3}),
    "quoted headers": (
        '["a]".\'b.c\']\nd = 1\n[["#"]]',
        {("a]",): 1, ("a]", "b.c"): 1, ("a]", "b.c", "d"): 2, ("#",): 3, ("#", 0): 3},
    ),
    "the same key written in three ways": ("[a]\nx = 1\n[\"a\".b]\n['a'.c]", "a:1 a.x:2 a.b:3 a.c:4"),
    "a kit in small": (
        SMALL_KIT,
        {
            ("kit",): 1,
            ("sources",): 3,
            ("sources", "cps-2011"): 3,
            ("sources", "cps-2011", "title"): 4,
            ("line",): 6,
            ("line", 0): 6,
            ("line", 0, "id"): 7,
            ("line", 0, "bands"): 8,
            ("line", 0, "bands", 0): 9,
            ("line", 0, "bands", 0, "at_most"): 9,
            ("line", 0, "bands", 0, "size"): 9,
            ("line", 1): 12,
            ("line", 1, "id"): 13,
            ("line", 1, "when"): 14,
            ("line", 1, "when", "fact"): 15,
        },
    ),
}


@pytest.mark.parametrize("name", CORPUS)
def test_every_path_of_the_corpus_is_found_on_its_line(name: str) -> None:
    text, expected = CORPUS[name]
    assert dict(locate_keys(text)) == (read_expected(expected) if isinstance(expected, str) else expected)


@pytest.mark.parametrize("name", CORPUS)
def test_the_paths_of_the_corpus_are_those_the_parser_gives(name: str) -> None:
    text, _ = CORPUS[name]
    places = locate_keys(text)
    paths = list(list_paths(tomli.loads(text)))
    assert sorted(map(repr, places)) == sorted(map(repr, paths))
    assert len(places) == len(paths)


def test_the_longest_known_part_of_a_path_gives_the_line() -> None:
    places = locate_keys("\n[[line]]\nid = 'a'\n[[line]]\ndose.amount = 1\n")
    assert find_line(places, ("line", 1, "dose", "amount")) == 5
    assert find_line(places, ("line", 1, "dose", "amount", "unit")) == 5
    assert find_line(places, ("line", 1, "strength", "id")) == 4
    assert find_line(places, ("line", 0, "id")) == 3
    assert find_line(places, ("line", 2, "id")) == 2
    assert find_line(places, ("line", "1", "dose")) == 2


@pytest.mark.parametrize("path", [(), ("ward",), (0,), ("ward", 0, "line")])
def test_a_path_of_which_nothing_is_known_is_on_line_1(path: KeyPath) -> None:
    assert find_line(locate_keys("\n\n[kit]\nid = 1"), path) == 1


def test_a_path_that_is_not_there_is_a_key_error() -> None:
    places = locate_keys("a.b = 1")
    assert places["a", "b"] == 1
    assert ("a", "b") in places
    for path in ((), ("b",), ("a", "b", "c"), ("a", 0)):
        assert path not in places


MILLION = 1_000_000
LONG_HEADER = "[[" + ".".join("a" * 400) + "]]\n"


@pytest.mark.parametrize(
    ("text", "count"),
    [
        ("a = [" + "\n" * MILLION + "]", 1),
        ("a = [" + "#\n" * (MILLION // 2) + "]", 1),
        (f"a = {TQ}" + '"" \\" ' * (MILLION // 6) + TQ, 1),
        (f"a = {TS}" + "'' " * (MILLION // 3) + TS, 1),
        ('"' + "\\\\" * (MILLION // 2) + '" = 1', 1),
        (LONG_HEADER * (MILLION // 800), 400 + MILLION // 800),
        ("[" + ".".join("a" * 900) + "]\n" + "\n".join(f"k{n} = 1" for n in range(10_000)), 900 + 10_000),
        ("a = [" + "{}," * (MILLION // 6) + "]", 1 + MILLION // 6),
        ("a = [" + ("[" * 300 + "]" * 300 + ",") * 300 + "]", 1 + 300 * 300),
    ],
    ids=[
        "line ends",
        "comments",
        "quotes",
        "single quotes",
        "escapes",
        "long headers",
        "deep tables",
        "empty tables",
        "deep arrays",
    ],
)
def test_a_long_text_that_the_parser_accepts_is_walked_to_its_end(text: str, count: int) -> None:
    assert len(locate_keys(text)) == count


@pytest.mark.parametrize(
    "text",
    [
        "[" * MILLION,
        "{" * MILLION,
        "=" * MILLION,
        '"' * MILLION,
        "a = " + "'" * MILLION,
        'a = "' + "\\" * MILLION,
        f"a = {TQ}" + '"" ' * (MILLION // 3),
        f"a = {TS}" + "'' " * (MILLION // 3),
        "a = [" + "," * 200_000,
        "a = " + "[" * 200_000,
        "a = " + "{ a = " * 50_000,
    ],
    ids=lambda text: text[:8],
)
def test_a_long_text_that_the_parser_refuses_ends_in_an_error_and_no_endless_depth(text: str) -> None:
    with pytest.raises(ValueError, match="line 1"):
        locate_keys(text)


def test_a_key_of_very_many_parts_needs_no_recursion() -> None:
    places = locate_keys("a" + ".a" * 100_000 + " = 1")
    assert len(places) == 100_001
    assert find_line(places, ("a",) * 100_001) == 1
