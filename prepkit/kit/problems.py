"""Problems: what is wrong in a file or in a typed fact, collected rather than raised.

A mistake becomes a problem when its key path is given its place in the file.
"""

from collections.abc import Iterable
from difflib import get_close_matches

from msgspec import Struct

from prepkit.quantities.text import show_safely

_MOST_QUOTED = 40


class Mistake(Struct, frozen=True):
    """Something wrong with what stands at a key path of a file."""

    path: tuple[str | int, ...]
    wrong: str
    hint: str = ""
    kit: str = ""
    """The kit that places it, where a row of a fragment is wrong beside the rest of that kit."""


def suggest(got: str, known: Iterable[str]) -> str:
    """A hint for a name that is not known: the closest that is, or else all of them."""
    names = list(known)
    return suggest_close(got, names) or f"declared: {show_safely(', '.join(names)) or 'none'}"


def suggest_close(got: str, known: Iterable[str]) -> str:
    """A hint for a name that is not known: the closest that is; empty where none is close."""
    close = get_close_matches(got, list(known), n=1)
    return f'did you mean "{show_safely(close[0])}"?' if close else ""


class Problem(Struct, frozen=True):
    """One thing wrong: where, what, and what to do."""

    file: str
    line: int
    """Counted from 1; 0 where the problem has no place in a file."""
    where: str
    """The part of the file in its own words (`line "atropine"`); may be empty."""
    wrong: str
    """What is wrong: expected this, got that."""
    hint: str = ""
    excerpt: str = ""
    """The line of the file, as it stands."""

    def headline(self) -> str:
        """The problem in one line: "kits/x.toml:41: line "atropine": strength must be ..."."""
        place = f"{self.file}:{self.line}" if self.line else self.file
        return ": ".join(part for part in (place, self.where, self.wrong) if part)

    def words(self) -> str:
        """The problem as it is printed: one line, then the excerpt and the hint where there are any."""
        rows = [self.headline()]
        if self.excerpt:
            rows.append(f"    {self.excerpt}")
        if self.hint:
            rows.append(f"    hint: {self.hint}")
        return "\n".join(rows)


class NotGiven(Problem, frozen=True):
    """A fact that every list needs, and nobody gave."""


def explain_all(problems: tuple[Problem, ...]) -> str:
    """Every problem, one under the other."""
    return "\n".join(problem.words() for problem in problems)


def quote(typed: str) -> str:
    """What was typed, as it is quoted: never more than fits a screen, never what a terminal could obey."""
    cut = "..." if len(typed) > _MOST_QUOTED else ""
    return f'"{show_safely(typed[:_MOST_QUOTED])}{cut}"'
