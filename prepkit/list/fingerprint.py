"""The fingerprint of a line: what a tick and a check are made for. May import: `prepkit.list`, `prepkit.quantities`.

It covers what stands on the tray and on what ground: name, amounts, size, syringe and air, recipe, vials, block,
approval. It does not cover the exact number behind a mark that stays, nor the sentences around it: what did not change
on the tray is not un-ticked.
"""

import hashlib
import json

from prepkit.list.lines import ListLine
from prepkit.quantities.amount import Amount

_CANONICAL = json.JSONEncoder(ensure_ascii=False, separators=(",", ":"))


def compute_line_fingerprint(line: ListLine) -> str:
    """sha256 in hex of the line's value, written canonically."""
    value = [
        line.id,
        line.name,
        line.kind,
        line.route,
        line.blocked,
        *(_write(amount) for amount in (line.dose, line.amount, line.low, line.high, line.air, line.discard)),
        line.size,
        [_write(amount) for amount in (line.syringe.holds, line.syringe.marks)] if line.syringe else None,
        [line.recipe.id, line.recipe.words] if line.recipe else None,
        [[_write(vial.size), vial.count] for vial in line.vials],
        line.standing,
        line.show,
        list(line.details),
    ]
    return hashlib.sha256(_CANONICAL.encode(value).encode()).hexdigest()


def _write(amount: Amount | None) -> list[str] | None:
    return None if amount is None else [str(amount.value), amount.unit.text]
