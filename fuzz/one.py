"""One target under atheris, in a process of its own: `python -m fuzz.one TARGET [libFuzzer options] [folders]`."""

import sys

import atheris

with atheris.instrument_imports(include=["prepkit", "tomli"]):
    from fuzz.targets import TARGETS


def main() -> None:
    """Fuzz until the time is up, or until something is found."""
    target = TARGETS[sys.argv[1]]
    atheris.Setup([sys.argv[0], *sys.argv[2:]], target)
    atheris.Fuzz()


if __name__ == "__main__":
    main()
