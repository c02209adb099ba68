"""One service per task of an open preparation: lines, second check, bedside, batches, handover.

A service decides with the session's state and list, and records through the session's `act`.
"""
