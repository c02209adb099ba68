"""Write the figures of docs/mutation.md from what mutmut left in mutants/. Run it after `mutmut run`.

The reasons why a survivor is let live stand in mutation-survivors.toml, by the change itself: the numbers that mutmut
gives its mutants change with the code. A survivor without a reason, or a reason without its survivor, ends it with 1.
"""

import difflib
import json
import sys
import tomllib
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime
from importlib.metadata import version
from pathlib import Path

from mutmut.mutation.data import MutantLineSpans
from mutmut.stats import status_by_exit_code

_HERE = Path(__file__).parent
_MUTANTS = Path("mutants")
_PAGE = _HERE / "mutation.md"
_REASONS = _HERE / "mutation-survivors.toml"
_MARKS = ("<!-- figures: written by make_mutation.py -->", "<!-- end of figures -->")
# A mutant that never ends, or that breaks the interpreter, is found out as surely as one that fails a test.
_KILLED = {"killed", "timeout", "segfault", "caught by type check"}


@dataclass(frozen=True, slots=True)
class Survivor:
    """One mutant that no test found out."""

    function: str
    was: str
    became: str

    @property
    def key(self) -> tuple[str, str, str]:
        """What it is known by, whatever its number."""
        return self.function, self.was, self.became


@dataclass(frozen=True, slots=True)
class Measured:
    """One module: how many mutants came to which end, and those that were not found out."""

    module: str
    ends: Counter[str]
    survivors: tuple[Survivor, ...]

    @property
    def killed(self) -> int:
        """How many were found out."""
        return sum(count for end, count in self.ends.items() if end in _KILLED)


def read_modules() -> Iterator[Measured]:
    """Read each module's results."""
    for path in sorted(_MUTANTS.rglob("*.py.meta")):
        module = path.relative_to(_MUTANTS).as_posix().removesuffix(".meta")
        codes = json.loads(path.read_text("utf-8"))["exit_code_by_key"]
        ends = {name.rpartition(".")[2]: status_by_exit_code[code] for name, code in codes.items()}
        spans = MutantLineSpans.load(module)
        if spans is None:
            sys.exit(f"{module}: no index of its mutants; run `mutmut run` again from an empty {_MUTANTS}/")
        survivors = tuple(_describe(spans, name) for name, end in ends.items() if end not in _KILLED)
        yield Measured(module, Counter(ends.values()), survivors)


def _describe(spans: MutantLineSpans, name: str) -> Survivor:
    stem = name.rpartition("__mutmut_")[0]
    old, new = (
        [line for line in text.splitlines() if "__mutmut_" not in line]
        for text in spans.read_function_sources([f"{stem}__mutmut_orig", name])
    )
    changed = [line for line in difflib.unified_diff(old, new, n=0, lineterm="") if line[:3] not in {"---", "+++"}]
    was, became = (" ".join(line[1:].strip() for line in changed if line[0] == sign) for sign in "-+")
    return Survivor(stem.removeprefix("x_").replace("xǁ", "").replace("ǁ", "."), was, became)


def read_reasons() -> dict[tuple[str, str, str], str]:
    """Read why each known survivor is let live."""
    tables = tomllib.loads(_REASONS.read_text("utf-8"))["survivor"]
    return {(each["function"], each["was"], each["became"]): each["reason"] for each in tables}


def _write_table(modules: list[Measured]) -> Iterator[str]:
    yield "| Module | mutants | killed | not killed | score |"
    yield "|---|---:|---:|---:|---:|"
    for each in modules:
        yield _write_row(f"`{each.module}`", each.killed, each.ends.total())
    yield _write_row("all", sum(each.killed for each in modules), sum(each.ends.total() for each in modules))


def _write_row(name: str, killed: int, total: int) -> str:
    # Rounded down: a score is never better than it is.
    tenths = killed * 1000 // total
    return f"| {name} | {total} | {killed} | {total - killed} | {tenths // 10}.{tenths % 10} % |"


def _write_survivors(modules: list[Measured], reasons: dict[tuple[str, str, str], str]) -> Iterator[str]:
    for module in (each for each in modules if each.survivors):
        yield f"\n### `{module.module}`\n"
        for each in module.survivors:
            yield f"- `{each.function}`: {reasons.get(each.key, '**not explained**')}\n"
            yield f"  ```diff\n  - {each.was}\n  + {each.became}\n  ```"


def write_figures(modules: list[Measured], reasons: dict[tuple[str, str, str], str]) -> str:
    """Write the part of the page that is measured."""
    ends = sum((each.ends for each in modules), Counter[str]())
    lines = (
        f"Measured on {datetime.now(UTC):%Y-%m-%d} with mutmut {version('mutmut')}.\n",  # noqa: TID251
        *_write_table(modules),
        f"\nHow they ended: {', '.join(f'{count} {end}' for end, count in ends.most_common())}.\n",
        "## What lives, and why",
        *_write_survivors(modules, reasons),
    )
    return "\n".join(lines)


def main() -> int:
    """Write the figures into the page; 1 where a survivor has no reason or a reason no survivor."""
    modules, reasons = list(read_modules()), read_reasons()
    head, _, rest = _PAGE.read_text("utf-8").partition(_MARKS[0])
    tail = rest.partition(_MARKS[1])[2]
    _PAGE.write_text(f"{head}{_MARKS[0]}\n{write_figures(modules, reasons)}\n{_MARKS[1]}{tail}", "utf-8")
    found = {each.key for module in modules for each in module.survivors}
    for function, was, became in sorted(found - set(reasons)):
        print(f"not explained: {function}\n  - {was}\n  + {became}")
    for function, was, became in sorted(set(reasons) - found):
        print(f"explained, but killed or gone: {function}\n  - {was}\n  + {became}")
    return int(found != set(reasons))


if __name__ == "__main__":
    sys.exit(main())
