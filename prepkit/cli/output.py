"""How a command answers: its exit code, and data on standard output, whatever the terminal can show."""

import io
import os
import sys
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


# Plain signs in place of ours, for an output that is not Unicode; a number must not lose its dash.
_PLAIN = str.maketrans(
    {
        "\N{EN DASH}": "-",
        "\N{MINUS SIGN}": "-",
        "\N{MULTIPLICATION SIGN}": "x",
        "\N{DIVISION SIGN}": "/",
        "\N{MIDDLE DOT}": "|",
        "\N{NARROW NO-BREAK SPACE}": " ",
        "\N{FULL BLOCK}": "#",
        "\N{CHECK MARK}": "+",
        "\N{BALLOT X}": "!",
        "\N{WHITE CIRCLE}": "o",
        "\N{CLOCKWISE OPEN CIRCLE ARROW}": "~",
    }
)

_MANY = 500


def write_out(text: str, *, utf8: bool = False) -> bool:
    """Write data to standard output; True if it was written. A reader that stops reading is no error.

    Args:
        text: what is written.
        utf8: whether it is UTF-8 whatever the terminal is set to, as JSON is (RFC 8259); other text falls back to plain
            signs where the terminal does not know ours.
    """
    if utf8 and isinstance(sys.stdout, io.TextIOWrapper):
        sys.stdout.reconfigure(encoding="utf-8")
    try:
        sys.stdout.write(text if utf8 else _fit(text, sys.stdout.encoding or "ascii"))
        sys.stdout.flush()
    except BrokenPipeError:
        _drop_output()
    except OSError as error:
        _drop_output()
        sys.stderr.write(f"prepkit: the output cannot be written: {(error.strerror or str(error)).lower()}\n")
        return False
    return True


def _drop_output() -> None:
    """Discard what is still to be written, so that Python's own last flush does not fail in its turn."""
    os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


def _fit(text: str, encoding: str) -> str:
    try:
        text.encode(encoding)
    except UnicodeEncodeError:
        plain = text.translate(_PLAIN)
        return plain.encode(encoding, "backslashreplace").decode(encoding)
    return text


def tell_progress(done: int, of: int) -> None:
    """Show the progress of a long reading; only a first one over many records takes long enough to be worth it."""
    if of > _MANY and (done % _MANY == 0 or done == of):
        sys.stderr.write(f"prepkit: {done} of {of} records read; the next time they need not be.\n")
        sys.stderr.flush()
