"""`--store`: the store as it is named on the command line.

Light, because the parser needs it before anything else loads.
"""

import argparse
import re
from pathlib import Path

from prepkit.paths import read_store_location

_SECRET = re.compile(r":/{0,2}[^@?]*:[^?]*@|(^|[\s?&])password\s*=")
_SEEN = (
    "a password on the command line is seen by everybody on this machine:"
    " keep it in a password file (~/.pgpass), or give the address in PREPKIT_STORE"
)


def read_store_option(text: str) -> Path | str:
    """Read the value of --store. An address with a password in it is refused, and not repeated."""
    if _SECRET.search(text):
        raise argparse.ArgumentTypeError(_SEEN)
    return read_store_location(text)
