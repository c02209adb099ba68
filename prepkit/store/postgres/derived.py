"""The stream index and the projections on a server: how they are read and written; setup.sql has their tables."""

from collections.abc import Iterable

from prepkit.store.derived import Projection, StreamIndexEntry
from prepkit.store.postgres.connection import ServerConnection

QUICKLY = 8.0
"""Seconds for what a screen waits for; the server itself gives up waiting for a lock after five."""
SLOWLY = 300.0
"""Seconds for what only a command waits for."""

_INDEX_COLUMNS = "prep, first, last, hash, ended"
_OPEN = "SELECT prep FROM prepkit.head WHERE ended IS NULL ORDER BY first"
_ENDED = f"""SELECT {_INDEX_COLUMNS} FROM prepkit.head
    WHERE ended IS NOT NULL AND ended < coalesce(%s::bigint, {2**63 - 1}) ORDER BY ended DESC LIMIT %s"""  # noqa: S608  our own words
_ALL = f"SELECT {_INDEX_COLUMNS} FROM prepkit.head ORDER BY first"  # noqa: S608  our own words
_WANTING = """SELECT prep FROM prepkit.head h WHERE NOT EXISTS (SELECT 1 FROM prepkit.gist g
    WHERE g.sort = %s AND g.prep = h.prep AND g.maker = %s AND g.hash = h.hash) ORDER BY first"""
_GISTS = """SELECT g.prep, g.hash, g.key, g.body FROM prepkit.gist g
    JOIN prepkit.head h ON h.prep = g.prep AND h.hash = g.hash
    WHERE g.sort = %s AND g.maker = %s AND g.key >= %s AND (%s::text IS NULL OR g.key <= %s::text)
    ORDER BY g.key, g.prep"""
_KEEP = "SELECT prepkit.keep_gists(%s, %s, %s::text[], %s::text[], %s::text[], %s::text[])"


class PostgresDerived:
    """The part of a server's store that keeps the stream index and the projections."""

    def __init__(self, server: ServerConnection) -> None:
        self._server = server

    def read_open(self) -> tuple[str, ...]:
        """See `Store.read_open`."""
        return tuple(prep for (prep,) in self._server.ask(_OPEN, within=QUICKLY))

    def read_ended(self, most: int, before: int | None = None) -> tuple[StreamIndexEntry, ...]:
        """See `Store.read_ended`."""
        return tuple(StreamIndexEntry(*row) for row in self._server.ask(_ENDED, [before, most], within=QUICKLY))

    def read_stream_index(self) -> tuple[StreamIndexEntry, ...]:
        """See `Store.read_stream_index`."""
        return tuple(StreamIndexEntry(*row) for row in self._server.ask(_ALL, within=SLOWLY))

    def rebuild_stream_index(self) -> None:
        """See `Store.rebuild_stream_index`."""
        self._server.ask("SELECT prepkit.rebuild_heads()", within=SLOWLY)

    def read_unprojected(self, kind: str, builder: str) -> tuple[str, ...]:
        """See `Store.read_unprojected`."""
        return tuple(prep for (prep,) in self._server.ask(_WANTING, [kind, builder], within=SLOWLY))

    def read_projections(
        self, kind: str, builder: str, first: str = "", last: str | None = None
    ) -> tuple[Projection, ...]:
        """See `Store.read_projections`."""
        return tuple(
            Projection(*row) for row in self._server.ask(_GISTS, [kind, builder, first, last, last], within=SLOWLY)
        )

    def write_projections(self, kind: str, builder: str, projections: Iterable[Projection]) -> None:
        """See `Store.write_projections`."""
        kept = tuple(projections)
        columns = [[getattr(projection, column) for projection in kept] for column in ("prep", "hash", "key", "body")]
        self._server.ask(_KEEP, [kind, builder, *columns], within=SLOWLY)
