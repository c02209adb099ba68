"""One target under atheris, by itself: `python tests/fuzz/one.py TARGET [options of libFuzzer] [folders]`."""

import shlex
import sys

import atheris

with atheris.instrument_imports(include=["prepkit", "tomli"]):
    from targets import TARGETS


def main() -> None:
    """Fuzz until the time is up, until something is found, or until a corpus is merged."""
    name, *options = sys.argv[1:]
    # A merge starts this program again with a shell, by what it takes for the program's name.
    again = shlex.join([sys.executable, __file__, name])
    atheris.Setup([again, *options], TARGETS[name])
    atheris.Fuzz()


if __name__ == "__main__":
    main()
