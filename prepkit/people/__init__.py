"""The staff list: who may sign in, with which role and PIN, and how often a PIN may be tried.

It is a stream of events in the same store as the preparations: it travels with them, is chained and only ever added to.
"""

STAFF_STREAM = "staff"
"""The id of the staff list's stream in the store; no preparation has it."""
