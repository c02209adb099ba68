"""What a list holds: finished lines, reasons, a verdict; and the fingerprint of a line.

A tick and a check are made for a line's fingerprint. It covers what stands on the tray and on what ground: name,
amounts, size, syringe and air, recipe, vials, block, approval. It leaves out the exact number behind a mark and the
sentences around it: what did not change on the tray is not un-ticked.
"""

import hashlib
from typing import NamedTuple

from msgspec import Struct

from prepkit.canonical import write_unchecked
from prepkit.kit.baby import Baby
from prepkit.kit.fields import Basis
from prepkit.kit.kit import Kit
from prepkit.kit.read import ParsedFile
from prepkit.kit.ward import SyringeStock, Ward
from prepkit.quantities.amount import Amount
from prepkit.rules.criteria import Reason, Verdict
from prepkit.rules.rule import Dilution, Prescribed, VialCount


class ListLine(NamedTuple):
    """One thing to lay out, draw up, set or try, with its amount, working, source and cautions.

    A named tuple for the reason that `Outcome` is one.
    """

    id: str
    group: str
    name: str
    kind: str
    route: str | None
    essential: bool
    aloud: bool
    blocked: str
    """Why it cannot be prepared as it stands; empty where it can."""
    dose: Amount | None
    exact: Amount | None
    amount: Amount | None
    low: Amount | None
    high: Amount | None
    size: str | None
    sizes: tuple[str, ...]
    syringe: SyringeStock | None
    product: str
    """The id of the product it is drawn up from; empty where there is none."""
    air: Amount | None
    """What stays behind a dose in its syringe."""
    recipe: Dilution | None
    vials: tuple[VialCount, ...]
    discard: Amount | None
    kits_own: str
    """The kit's own value in words, where the ward file changed it; empty where it did not."""
    standing: str
    """On what ground it stands where that can change while the value stays: a label, an approval, the values tried."""
    show: str
    """The biggest thing on the line, in words; empty for a thing without amount, size or setting."""
    details: tuple[str, ...]
    working: tuple[str, ...]
    how: tuple[str, ...]
    """What to do with it, in the kit's words."""
    cautions: tuple[str, ...]
    basis: Basis
    source: str
    check: bool
    """Whether a second person has to work it out again."""
    prescribed: Prescribed | None
    """What that person gets, for a dose."""
    choices: tuple[str, ...]
    """For a thing that comes in sizes: all the sizes that the line and the ward's approvals name."""


class TrayList(Struct, frozen=True):
    """The list: what the kit, the ward and the baby give together."""

    kit: ParsedFile[Kit]
    ward: ParsedFile[Ward] | None
    laid: Kit
    """The kit with the ward file laid over it: what the lines were made from."""
    baby: Baby
    reasons: tuple[Reason, ...]
    verdict: Verdict
    lines: tuple[ListLine, ...]
    fingerprints: tuple[str, ...]
    """Of each line in turn, what a tick and a check of it are made for."""
    overdue: tuple[str, ...]
    """That the kit, the ward file or an approval is past the date by which it was to be looked at again, or an approval
    of a criterion nearly so, a sentence each."""

    @property
    def blocked(self) -> tuple[ListLine, ...]:
        """The lines that cannot be prepared as they stand."""
        return tuple(line for line in self.lines if line.blocked)


def compute_line_fingerprint(line: ListLine) -> str:
    """Compute the fingerprint of a line's value: what a tick and a check vouch for."""
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
    return hashlib.sha256(write_unchecked(value).encode()).hexdigest()


def _write(amount: Amount | None) -> list[str] | None:
    return None if amount is None else [str(amount.value), amount.unit.text]
