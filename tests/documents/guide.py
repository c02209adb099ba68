"""A guide in Markdown taken at its word: its blocks in order, each written, changed or run as a reader would.

A note in a comment stands before a block: `file NAME` and `add NAME` before a toml block write that file or add to it,
`change NAME` before a diff block changes it, `screen KIT WEIGHT GESTATION` before a text block holds the list on the
screen to it. A console block needs none: each `$ prepkit ...` is run (of `... | head -N` the first rows are kept) and
what it prints is held to what stands there. With PREPKIT_GOLDEN=write what was printed is put into the guide.
"""

import os
import re
import shlex
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

from prepkit.paths import find_shipped

DOCS = find_shipped("kits").parent / "docs"
_BLOCK = re.compile(r"(?:^<!-- (?P<note>[^>]+) -->\n)?^```(?P<form>\w+)\n(?P<body>.*?)^```$", re.DOTALL | re.MULTILINE)
Run = Callable[[list[str]], str]
Show = Callable[[str, str, str], str]


@dataclass(frozen=True)
class Block:
    """One fenced block, and the note before it."""

    note: str
    form: str
    body: str
    start: int
    end: int


def read_blocks(text: str) -> Iterator[Block]:
    for found in _BLOCK.finditer(text):
        yield Block(found["note"] or "", found["form"], found["body"], found.start("body"), found.end("body"))


def follow(name: str, folder: Path, run: Run, show: Show) -> list[tuple[str, str]]:
    """Do what the guide says in an empty folder; what it shows beside what came out, block by block."""
    path = DOCS / name
    text = path.read_text("utf-8")
    results, parts, end = [], [], 0
    for block in read_blocks(text):
        said = _do(block, folder, run, show)
        results.append((block.body, said))
        parts += [text[end : block.start], said]
        end = block.end
    if os.environ.get("PREPKIT_GOLDEN") == "write":
        path.write_text("".join([*parts, text[end:]]), "utf-8")
        return [(said, said) for _, said in results]
    return results


def _do(block: Block, folder: Path, run: Run, show: Show) -> str:
    """Carry one block out; the block as it should stand."""
    what, _, rest = block.note.partition(" ")
    match block.form, what:
        case "toml", "file":
            (folder / rest).parent.mkdir(exist_ok=True)
            (folder / rest).write_text(block.body, "utf-8")
        case "toml", "add":
            with (folder / rest).open("a", encoding="utf-8") as file:
                file.write(f"\n{block.body}")
        case "diff", "change":
            _change(folder / rest, block.body)
        case "console", "":
            commands = [row for row in block.body.splitlines() if row.startswith("$ ")]
            return "".join(f"{command}\n{_run(command, run)}" for command in commands)
        case "text", "screen":
            return show(*rest.split())
        case _:
            raise AssertionError(f"a block that nobody tries: <!-- {block.note} --> {block.form}\n{block.body}")
    return block.body


def _run(command: str, run: Run) -> str:
    """What a command prints; of `... | head -N` its first rows."""
    asked, _, rows = command.partition(" | head -")
    said = run(shlex.split(asked)[2:])
    return "".join(said.splitlines(keepends=True)[: int(rows)]) if rows else said


def _change(path: Path, change: str) -> None:
    rows = change.splitlines(keepends=True)
    old, new = ("".join(row[2:] or "\n" for row in rows if row[0] in signs) for signs in ("- ", "+ "))
    text = path.read_text("utf-8")
    assert text.count(old) == 1, f"{text.count(old)} of\n{old}"
    path.write_text(text.replace(old, new), "utf-8")
