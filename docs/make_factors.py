"""Write prepkit/quantities/factors.json: pint's exact factor for every pairing of the vocabulary that has one."""

import json
from itertools import product
from pathlib import Path

from prepkit.quantities.amount import DimensionMismatchError, ask_factor, compute_definitions
from prepkit.quantities.units import UNITS

FILE = Path(__file__).parents[1] / "prepkit" / "quantities" / "factors.json"


def main() -> None:
    """Write it anew."""
    kept = {"units": compute_definitions(), "factors": make_factors()}
    FILE.write_text(json.dumps(kept, indent=0) + "\n", "utf-8")


def make_factors() -> dict[str, str]:
    """Conversions, products and quotients of the units, as the arithmetic of amounts asks for them."""
    names = tuple(dict.fromkeys(unit.pint for unit in UNITS.values()))
    pairs = [f"({left}) {sign} ({right})" for left, right in product(names, names) for sign in "*/"]
    factors = {}
    for source, target in product((*names, *pairs), names):
        try:
            factors[f"{source} -> {target}"] = str(ask_factor(source, target))
        except DimensionMismatchError:
            continue
    return factors


if __name__ == "__main__":
    main()
