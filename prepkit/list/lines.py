"""What a list holds: lines with what was found for them, reasons, a verdict; and the fingerprint of a line.

A tick and a check are made for a line's fingerprint. It covers what stands on the tray and on what ground: name,
amounts, size, syringe and air, recipe, vials, block, approval. It leaves out the exact number behind a mark and the
sentences around it: what did not change on the tray is not un-ticked. It covers words as they are today, since stored
ticks do: it is the one place of this room where a finding is put into words.
"""

import hashlib

from msgspec import Struct

from prepkit.canonical import write_unchecked
from prepkit.kit.axes import OF_TODAY, Axis
from prepkit.kit.baby import Baby
from prepkit.kit.fields import Basis
from prepkit.kit.kit import Kit
from prepkit.kit.lines import Line
from prepkit.kit.read import ParsedFile
from prepkit.kit.ward import Ward
from prepkit.quantities.amount import Amount
from prepkit.rules.criteria import Reason, Verdict
from prepkit.rules.findings import Citation, Finding, Kind, finding
from prepkit.rules.rule import Outcome
from prepkit.wording.say import say, say_all, say_joined
from prepkit.wording.things import join_sizes, say_dilution


class DeclaredLine(Struct, frozen=True):
    """A line as the kit and the ward file declare it, whatever the baby."""

    line: Line
    cited: Citation
    """The line's own citation."""
    route: str | None
    check: bool
    """Whether a second person has to work it out again."""
    choices: tuple[str, ...]
    """For a thing that comes in sizes: all the sizes that the line and the ward's approvals name."""
    reads: frozenset[Axis] = frozenset()
    """The weights and gestations that it, its approvals and the lines that it follows go by, and the age."""


class ListLine(Struct, frozen=True):
    """One thing to lay out, draw up, set or try: as it is declared, and what its rule found for this baby."""

    declared: DeclaredLine
    outcome: Outcome

    @property
    def id(self) -> str:
        """The line's id."""
        return self.declared.line.id

    @property
    def group(self) -> str:
        """The id of its group."""
        return self.declared.line.group

    @property
    def name(self) -> str:
        """The line's name."""
        return self.declared.line.name

    @property
    def kind(self) -> str:
        """The kind of line, by which its rule is chosen."""
        return self.declared.line.kind

    @property
    def cautions(self) -> tuple[Finding | str, ...]:
        """What was found to look out for, then what the line always says."""
        return (*self.outcome.cautions, *self.declared.line.cautions)

    @property
    def basis(self) -> Basis:
        """The basis of what was found, else the line's own."""
        return self.outcome.basis or self.declared.line.basis

    @property
    def source(self) -> tuple[Citation | Finding, ...]:
        """Where what was found comes from, else the line's own citation."""
        return self.outcome.source or (self.declared.cited,)


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
    overdue: tuple[Finding, ...]
    """That the kit, the ward file or an approval is past the date by which it was to be looked at again, or an approval
    of a criterion nearly so."""

    def asks_birth(self, line: ListLine) -> bool:
        """Whether the line stands only if the baby was born today, which nobody said yet: it is asked before a tick."""
        return self.baby.is_birth_assumed and not OF_TODAY.isdisjoint(line.declared.reads)

    def list_remarks(self, line: ListLine) -> tuple[Finding, ...]:
        """What stands beside the line's value: that it is by another weight, or only if the baby was born today."""
        by_now = self.baby.size.birth_weight_g is None and Axis.BIRTH_WEIGHT in line.declared.reads
        return (
            *((finding(Kind.BY_WEIGHT_NOW),) if by_now else ()),
            *((finding(Kind.IF_BORN_TODAY),) if self.asks_birth(line) else ()),
        )

    @property
    def blocked(self) -> tuple[ListLine, ...]:
        """The lines that cannot be prepared as they stand."""
        return tuple(line for line in self.lines if line.outcome.blocked)


def compute_line_fingerprint(line: ListLine) -> str:
    """Compute the fingerprint of a line's value: what a tick and a check vouch for."""
    declared, found = line.declared.line, line.outcome
    value = [
        declared.id,
        declared.name,
        declared.kind,
        line.declared.route,
        say(found.blocked),
        *(_write(amount) for amount in (found.dose, found.amount, found.low, found.high, found.air, found.discard)),
        join_sizes(found.sizes) if found.sizes else None,
        [_write(amount) for amount in (found.syringe.holds, found.syringe.marks)] if found.syringe else None,
        [found.recipe.id, say_dilution(found.recipe)] if found.recipe else None,
        [[_write(vial.size), vial.count] for vial in found.vials],
        say_joined(found.standing),
        say(found.show),
        say_all(found.details),
    ]
    return hashlib.sha256(write_unchecked(value).encode()).hexdigest()


def _write(amount: Amount | None) -> list[str] | None:
    return None if amount is None else [str(amount.value), amount.unit.text]
