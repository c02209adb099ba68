"""The exit codes of `prepkit`. May import: the standard library."""

from enum import IntEnum


class Exit(IntEnum):
    """How a command ended."""

    DONE = 0
    NOT_READY = 1
    """A blocked line, or a baby that is not suitable."""
    USAGE = 2
    INVALID = 3
    """An invalid kit, ward file or fact."""
    STORE = 4
