"""A kit's tables with the rows of its fragments in their places, before anything in them is checked."""

import re
from collections.abc import Collection, Iterator, Mapping, Sequence
from difflib import get_close_matches
from typing import Any

from msgspec import Struct

from prepkit.kit.fields import ID_FORM
from prepkit.kit.fragments import NAMED, TABLE
from prepkit.kit.kit import PlacingLine, PlacingRow
from prepkit.kit.mistakes import find_mistakes
from prepkit.kit.problems import Mistake, suggest
from prepkit.quantities.text import show_safely

Path = tuple[str | int, ...]
_PROCEDURE = "procedure"
PLACED: Mapping[str, tuple[str, ...]] = {
    **{table: (table,) for table in ("fact", "criterion", "product", "line")},
    **{table: (_PROCEDURE, table) for table in ("reading", "step", "happening", "follow_up")},
}
"""The tables whose rows a fragment may hold, each with its place in a kit."""
_SOURCES, _SOURCE, _FRAGMENT, _LINE = "sources", "source", "fragment", "line"
_OF_A_LINE = ("group", "check")
"""What a row that places a line may say of it itself."""


class Assembled(Struct, frozen=True):
    """A kit's tables as if every row had been written in them."""

    tables: dict[str, Any]
    origins: dict[Path, Path]
    """Where the rows and sources were written that stand elsewhere in these tables."""
    places: dict[Path, Path]
    """Where the kit places each row."""
    mistakes: tuple[Mistake, ...]
    """What keeps rows from being placed; these rows are left out."""

    def trace(self, mistake: Mistake, kit: str = "") -> Mistake:
        """The same mistake where it was written; of what is wrong beside the rest of a kit, `kit` is its id."""
        length = 3 if mistake.path[:1] == (_PROCEDURE,) else 2
        at, inside = mistake.path[:length], mistake.path[length:]
        if inside and (*at, inside[0]) in self.origins:  # what the row that places it says itself
            return Mistake(self.origins[*at, inside[0]], mistake.wrong, mistake.hint)
        origin = self.origins.get(at, at)
        if kit and inside == ("id",):  # an id that clashes is the doing of the row that places it
            return Mistake((*self.places.get(at, at), "id"), mistake.wrong, mistake.hint)
        is_shared = origin[:1] == (TABLE,) != at[:1]
        return Mistake((*origin, *inside), mistake.wrong, mistake.hint, kit if is_shared else "")


class _Row(Struct, frozen=True):
    """A row as it goes into a kit's table."""

    row: object
    origin: Path
    """Where it was written."""
    at: Path
    """Where the kit places it."""
    own: tuple[str, ...] = ()
    """The keys of it that are written where the kit places it."""


def assemble(tables: Mapping[str, Any], known: Collection[str] = ()) -> Assembled:
    """Put each row of a fragment where the kit places it, and the sources of the fragments beside the kit's own.

    Args:
        tables: those of the kit's text and of its fragments' together.
        known: the fragments that there are, for the closest match of one that is not.
    """
    fragments = {name: each for name, each in _open(tables.get(TABLE)).items() if isinstance(each, dict)}
    names = tables.get(NAMED)
    named = [name for name in names if isinstance(name, str)] if isinstance(names, list) else []
    mistakes = [*_check_names(named, fragments, known)]
    made, origins, places = dict(tables), dict[Path, Path](), dict[Path, Path]()
    if isinstance(procedure := tables.get(_PROCEDURE), dict):
        made[_PROCEDURE] = dict(procedure)
    for path in PLACED.values():
        holder = made if len(path) == 1 else _open(made.get(path[0]))
        if isinstance(rows := holder.get(path[-1]), list):
            found = [each for at, row in enumerate(rows) for each in _place_row(row, (*path, at), named, fragments)]
            mistakes += [each for each in found if isinstance(each, Mistake)]
            placed = [each for each in found if isinstance(each, _Row)]
            holder[path[-1]] = [each.row for each in placed]
            origins |= {(*path, at): each.origin for at, each in enumerate(placed)}
            places |= {(*path, at): each.at for at, each in enumerate(placed)}
            origins |= {(*path, at, key): (*each.at, key) for at, each in enumerate(placed) for key in each.own}
    if isinstance(own := tables.get(_SOURCES, {}), dict):
        shared = {name: _open(fragments.get(name, {}).get(_SOURCES)) for name in dict.fromkeys(named)}
        made[_SOURCES] = {name: said for sources in shared.values() for name, said in sources.items()} | own
        origins |= {(_SOURCES, source): (TABLE, name, _SOURCES, source) for name in shared for source in shared[name]}
        mistakes += _check_sources(own, shared)
    if fragments:
        made[TABLE] = _leave_out_placed(fragments, set(origins.values()))
    if not mistakes:
        mistakes += _find_unused(made, origins, named)
    return Assembled(made, origins, places, tuple(mistakes))


def _leave_out_placed(fragments: Mapping[str, dict[str, Any]], placed: Collection[Path]) -> dict[str, Any]:
    """What a kit leaves of its fragments: it is read too, each row of theirs once."""
    return {
        name: {
            table: [row for at, row in enumerate(rows) if (TABLE, name, table, at) not in placed]
            if table in PLACED and isinstance(rows, list)
            else rows
            for table, rows in tables.items()
            if table != _SOURCES or not isinstance(rows, dict)
        }
        for name, tables in fragments.items()
    }


def _open(written: object) -> dict[str, Any]:
    return written if isinstance(written, dict) else {}


def _check_names(named: Sequence[str], fragments: Collection[str], known: Collection[str]) -> Iterator[Mistake]:
    for at, name in enumerate(named):
        if name not in fragments and re.match(ID_FORM, name):
            yield Mistake((NAMED, at), f'there is no fragment "{name}"', suggest(name, known))
        elif name in named[:at]:
            yield Mistake((NAMED, at), f'fragment "{name}" is named twice')
    for name in fragments:
        if name not in named:
            yield Mistake((TABLE, name), f'fragment "{name}" is not named in {NAMED}', suggest(name, named))


def _check_sources(own: Collection[str], shared: Mapping[str, Mapping[str, object]]) -> Iterator[Mistake]:
    before: dict[str, str] = {}
    for name, sources in shared.items():
        for source in sources:
            if source in before or source in own:
                at = (_SOURCES, source) if source in own else (TABLE, name, _SOURCES, source)
                wrong = f'source "{source}" stands in fragment "{before.get(source, name)}" too'
                yield Mistake(at, wrong, "write it in one of them")
            before.setdefault(source, name)


def _place_row(
    row: object, at: Path, named: Collection[str], fragments: Mapping[str, dict[str, Any]]
) -> Iterator[_Row | Mistake]:
    """The row of a fragment that a row places, or what is wrong with the latter; any other row as it stands."""
    if not isinstance(row, dict) or not _is_placing(row):
        yield _Row(row, at, at)
        return
    own = {key: row[key] for key in _OF_A_LINE if key in row} if at[0] == _LINE else {}
    said = (row.get("id"), row.get(_FRAGMENT), own.get("group", ""))
    if row.keys() - own.keys() != {"id", _FRAGMENT} or not all(isinstance(each, str) for each in said):
        yield from find_mistakes(row, PlacingLine if at[0] == _LINE else PlacingRow, at)
        return
    name, table = row[_FRAGMENT], str(at[-2])
    if name not in fragments:
        if name not in named:  # the fragment that is named and is not there is told where it is named
            wrong = f'fragment "{show_safely(name)}" is not named in {NAMED}'
            yield Mistake((*at, _FRAGMENT), wrong, suggest(name, named))
        return
    rows = fragments[name].get(table)
    rows = rows if isinstance(rows, list) else []
    ids = [_open(each).get("id") for each in rows]
    if row["id"] in ids:
        place = ids.index(row["id"])
        yield _Row({**rows[place], **own}, (TABLE, name, table, place), at, tuple(own))
    else:
        wrong = f'fragment "{name}" has no {table} "{show_safely(row["id"])}"'
        yield Mistake((*at, "id"), wrong, suggest(row["id"], [each for each in ids if isinstance(each, str)]))


def _is_placing(row: Mapping[str, Any]) -> bool:
    """Whether a row places one of a fragment: it names one, or holds beside its id nothing but a key that looks so."""
    others = [key for key in row if key not in {"id", *_OF_A_LINE}]
    return _FRAGMENT in row or (len(others) == 1 and bool(get_close_matches(others[0], [_FRAGMENT])))


def _find_unused(made: Mapping[str, Any], origins: Mapping[Path, Path], named: Sequence[str]) -> Iterator[Mistake]:
    cited = {name for table, rows in made.items() if table not in {TABLE, _SOURCES} for name in _list_cited(rows)}
    used = {origin[1] for at, origin in origins.items() if origin[0] == TABLE and (at[0] != _SOURCES or at[1] in cited)}
    for at, name in enumerate(named):
        if name not in used:
            hint = f'place a row of it (id = "...", {_FRAGMENT} = "{name}") or cite one of its sources'
            yield Mistake((NAMED, at), f'fragment "{name}" is named and not used', hint)


def _list_cited(written: object) -> Iterator[str]:
    """The sources that anything written in a table cites."""
    waiting = [written]
    while waiting:
        node = waiting.pop()
        if isinstance(node, dict):
            waiting += node.values()
            cited = node.get(_SOURCE)
            yield from (name for name in (cited if isinstance(cited, list) else [cited]) if isinstance(name, str))
        elif isinstance(node, list):
            waiting += node
