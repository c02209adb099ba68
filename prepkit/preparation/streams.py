"""Which stream of a store is no preparation: known without a look into any event.

The first screen asks this before it loads the events. May import: nothing.
"""

STAFF = "staff"
"""The id of the staff list's stream in the store; no preparation has it."""
