"""The SQL with which a server's administrator creates the store and its wards."""

from pathlib import Path

from psycopg import sql

_FOLDER = Path(__file__).parent


def write_setup() -> str:
    """The tables, the functions and both roles."""
    return (_FOLDER / "setup.sql").read_text("utf-8")


def write_ward(ward: str, login: str) -> str:
    """One more ward, and the role that its devices log in as; names are quoted as the server wants it."""
    text = (_FOLDER / "ward.sql").read_text("utf-8")
    named = {"login": sql.Identifier(login), "login_text": sql.Literal(login), "ward": sql.Literal(ward)}
    return text.format(**{name: value.as_string(None) for name, value in named.items()})
