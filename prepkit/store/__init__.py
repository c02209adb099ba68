"""The store: what was done, by whom and when, kept for good in the order in which it was done.

A store only ever adds. It keeps records, each with the hash of the one before, so that a record that was changed,
removed, inserted or moved is detected. It never looks inside a record's body and reads no clock: times come in as
arguments.
"""

from prepkit.store.chain import START, ChainProblem, check_chain, check_store, compute_hash
from prepkit.store.copies import move_records, open_backup, put_in_place
from prepkit.store.derived import CLOSING, Projection, StreamIndexEntry
from prepkit.store.interface import Store
from prepkit.store.opener import StoreAt, is_address, open_store
from prepkit.store.records import Draft, Record, is_kept
from prepkit.store.sqlite.store import SqliteStore, open_sqlite

__all__ = [
    "CLOSING",
    "START",
    "ChainProblem",
    "Draft",
    "Projection",
    "Record",
    "SqliteStore",
    "Store",
    "StoreAt",
    "StreamIndexEntry",
    "check_chain",
    "check_store",
    "compute_hash",
    "is_address",
    "is_kept",
    "move_records",
    "open_backup",
    "open_sqlite",
    "open_store",
    "put_in_place",
]
