"""What is looked at and set on every new connection before anything is asked of it.

May import: psycopg and the rest of this package, `prepkit.errors`.
"""

from typing import TYPE_CHECKING

from prepkit.errors import StoreFailed, StoreForeign, StoreNewer, StoreReadOnly

if TYPE_CHECKING:
    from prepkit.store.postgres.link import Connection

FORMAT = 1
"""The store's format, as prepkit.format() of setup.sql says it."""

_SETTINGS = (
    "SET default_transaction_isolation = 'read committed'; SET default_transaction_read_only = off;"
    " SET synchronous_commit = on; SET idle_session_timeout = 0; SET row_security = on"
)
_ASKED = """SELECT prepkit.format(), prepkit.my_ward(), pg_is_in_recovery(),
    current_setting('fsync') = 'on' AND current_setting('full_page_writes') = 'on',
    (SELECT rolsuper OR rolbypassrls FROM pg_roles WHERE rolname = session_user)
        OR pg_has_role(session_user, 'prepkit_owner', 'MEMBER')"""


def settle(connection: "Connection", name: str) -> None:
    """Make a new connection safe and let it hear of its ward's records.

    Raises StoreForeign, StoreNewer, StoreReadOnly or StoreFailed where it is no store that can be relied on.
    """
    connection.execute(_SETTINGS)
    row = connection.execute(_ASKED).fetchone()
    form, ward, is_standby, is_durable, is_above = row or (None,) * 5
    if form != FORMAT:
        words = f"expected format {FORMAT}, got {form}; install the prepkit that fits it"
        raise StoreNewer(f'"{name}" was set up by another prepkit: {words}')
    if is_above:
        # Such a login would see every ward, and could take the triggers away.
        words = "is opened by a login that may do anything there; log in as a ward's own role"
        raise StoreForeign(f'"{name}" {words}')
    if ward is None:
        raise StoreForeign(f'"{name}" knows no ward for this login; see prepkit store-setup --ward NAME --login ROLE')
    if is_standby:
        raise StoreReadOnly(f'"{name}" is a standby that takes no changes; name the server that does')
    if not is_durable:
        words = "may lose what it was told is kept: set fsync and full_page_writes to on in its postgresql.conf"
        raise StoreFailed(f'"{name}" {words}')
    connection.execute(f"LISTEN prepkit_{int(ward)}".encode())
