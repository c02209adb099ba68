"""A server's address, and a name for it that anybody may see. May import: psycopg, `prepkit.errors`."""

import re
from typing import Any

import psycopg
from psycopg.conninfo import conninfo_to_dict, make_conninfo

from prepkit.errors import StoreUnreachable

_SCHEMES = ("postgresql://", "postgres://")
# What keeps a dead network from holding up a screen for long; an address may say otherwise. Seconds, but the last one.
_PATIENCE = {
    "connect_timeout": "3",
    "keepalives_idle": "5",
    "keepalives_interval": "2",
    "keepalives_count": "3",
    "tcp_user_timeout": "8000",
    "application_name": "prepkit",
    "client_encoding": "UTF8",
}


def read_address(address: str) -> tuple[str, str]:
    """Read an address like "postgresql://host/database" into what the driver takes, and a name without the password.

    Raises StoreUnreachable where it is no address; the driver's own words for that may quote a password, and are not
    passed on.
    """
    try:
        given = conninfo_to_dict(address) if address.startswith(_SCHEMES) else None
    except psycopg.Error:
        given = None
    if given is None or _is_torn(given):
        words = "the address of the store cannot be read: expected postgresql://LOGIN@HOST:PORT/DATABASE"
        raise StoreUnreachable(f"{words}, with %2F for / and %40 for @ in a password") from None
    place = given.get("host") or given.get("hostaddr") or given.get("service") or "this machine"
    port, database = given.get("port"), given.get("dbname")
    name = f"{place}{f':{port}' if port else ''}{f'/{database}' if database else ''}"
    return make_conninfo(address, **{key: value for key, value in _PATIENCE.items() if key not in given}), name


def _is_torn(given: dict[str, Any]) -> bool:
    """Whether a "/" or "@" in a password tore the address apart: the rest of it is in the name then."""
    seen = (given.get("host"), given.get("port"), given.get("dbname"))
    return any("@" in (part or "") for part in seen) or not re.fullmatch(r"[\d,]*", given.get("port") or "")
