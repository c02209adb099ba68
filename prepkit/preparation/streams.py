"""Which streams of a store are preparations in progress: known without a look into any event.

The first screen asks this before it loads the events. May import: nothing.
"""

CLOSING_KINDS = frozenset({"stood-down", "closed"})
"""Kinds after which a preparation is no longer in progress."""

STAFF = "staff"
"""The id of the staff list's stream in the store; no preparation has it."""
