"""The store: what was done, by whom and when, kept for good in the order in which it was done.

A store only ever adds. It keeps records, each naming the hash of the one before, so that a record that was changed,
taken out, put in or moved is found again. It never looks inside a record's body, and it reads no clock: times come in
as arguments. May be imported by the desk and the front ends; imports the standard library and `prepkit.errors`.
"""

from prepkit.store.chain import START, ChainProblem, check_chain, check_store, compute_hash
from prepkit.store.copies import open_backup, put_in_place
from prepkit.store.derived import CLOSING, Gist, Head
from prepkit.store.interface import Store
from prepkit.store.moving import move_records
from prepkit.store.opener import StoreAt, is_address, open_store
from prepkit.store.records import Draft, Record, is_kept
from prepkit.store.sqlite import SqliteStore, open_sqlite

__all__ = [
    "CLOSING",
    "START",
    "ChainProblem",
    "Draft",
    "Gist",
    "Head",
    "Record",
    "SqliteStore",
    "Store",
    "StoreAt",
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
