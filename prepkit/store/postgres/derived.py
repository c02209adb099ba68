"""Heads and gists on a server: how they are read and kept; setup.sql has their tables.

May import: `link` of this package and `prepkit.store.derived`.
"""

from collections.abc import Iterable

from prepkit.store.derived import Gist, Head
from prepkit.store.postgres.link import Link

QUICKLY = 8.0
"""Seconds for what a screen waits for; the server itself gives up waiting for a lock after five."""
SLOWLY = 300.0
"""Seconds for what only a command waits for."""

_HEADS = "prep, first, last, hash, ended"
_OPEN = "SELECT prep FROM prepkit.head WHERE ended IS NULL ORDER BY first"
_ENDED = f"""SELECT {_HEADS} FROM prepkit.head WHERE ended IS NOT NULL AND ended < coalesce(%s::bigint, {2**63 - 1})
    ORDER BY ended DESC LIMIT %s"""  # noqa: S608  our own words
_ALL = f"SELECT {_HEADS} FROM prepkit.head ORDER BY first"  # noqa: S608  our own words
_WANTING = """SELECT prep FROM prepkit.head h WHERE NOT EXISTS (SELECT 1 FROM prepkit.gist g
    WHERE g.sort = %s AND g.prep = h.prep AND g.maker = %s AND g.hash = h.hash) ORDER BY first"""
_GISTS = """SELECT g.prep, g.hash, g.key, g.body FROM prepkit.gist g
    JOIN prepkit.head h ON h.prep = g.prep AND h.hash = g.hash
    WHERE g.sort = %s AND g.maker = %s AND g.key >= %s AND (%s::text IS NULL OR g.key <= %s::text)
    ORDER BY g.key, g.prep"""
_KEEP = "SELECT prepkit.keep_gists(%s, %s, %s::text[], %s::text[], %s::text[], %s::text[])"


class PostgresDerived:
    """The part of a server's store that keeps heads and gists."""

    def __init__(self, link: Link) -> None:
        self._link = link

    def read_open(self) -> tuple[str, ...]:
        """See `Store.read_open`."""
        return tuple(prep for (prep,) in self._link.ask(_OPEN, within=QUICKLY))

    def read_ended(self, most: int, before: int | None = None) -> tuple[Head, ...]:
        """See `Store.read_ended`."""
        return tuple(Head(*row) for row in self._link.ask(_ENDED, [before, most], within=QUICKLY))

    def read_heads(self) -> tuple[Head, ...]:
        """See `Store.read_heads`."""
        return tuple(Head(*row) for row in self._link.ask(_ALL, within=SLOWLY))

    def rebuild_heads(self) -> None:
        """See `Store.rebuild_heads`."""
        self._link.ask("SELECT prepkit.rebuild_heads()", within=SLOWLY)

    def read_wanting(self, sort: str, maker: str) -> tuple[str, ...]:
        """See `Store.read_wanting`."""
        return tuple(prep for (prep,) in self._link.ask(_WANTING, [sort, maker], within=SLOWLY))

    def read_gists(self, sort: str, maker: str, first: str = "", last: str | None = None) -> tuple[Gist, ...]:
        """See `Store.read_gists`."""
        return tuple(Gist(*row) for row in self._link.ask(_GISTS, [sort, maker, first, last, last], within=SLOWLY))

    def write_gists(self, sort: str, maker: str, gists: Iterable[Gist]) -> None:
        """See `Store.write_gists`."""
        kept = tuple(gists)
        columns = [[getattr(gist, column) for gist in kept] for column in ("prep", "hash", "key", "body")]
        self._link.ask(_KEEP, [sort, maker, *columns], within=SLOWLY)
