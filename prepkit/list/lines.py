"""What a list holds: lines with what was found for them, reasons, a verdict; and the fingerprint of a line.

A tick and a check are made for a line's fingerprint. It covers what stands on the tray and on what ground: name,
amounts, size, syringe and air, recipe, vials, parts, block, approval. It leaves out the exact number behind a mark and
the sentences around it: what did not change on the tray is not un-ticked.

It holds kinds with their values, and of words only those of the kit and the ward file, so that a sentence of ours may
change without a tick falling. Of the details, those that say again what stands in a field are left out (`_REPEATED`).
The others are of the tray or its ground: what the mark reaches per kg moves with the weight under a dose that is capped
or of whole containers; an order, a ward's own value beside the kit's, a second method's depth, "outside its label" are
why it is what it is. Working, instructions, cautions and source only tell.
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
from prepkit.rules.criteria import Reason, Verdict
from prepkit.rules.findings import Citation, Finding, Kind, finding
from prepkit.rules.plain import write_plain
from prepkit.rules.rule import Outcome

_REPEATED = frozenset(
    {
        *(Kind.STRENGTH, Kind.MAKE_FIRST, Kind.SYRINGE_AND_AIR, Kind.SYRINGE_OF_ROUTE, Kind.ROUTE),
        *(Kind.OPEN, Kind.DISCARD),
    }
)
"""Details of recipe, syringe, air, route, vials and discard, each of which is a field beside them."""


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
    def parts(self) -> tuple[Finding | str, ...]:
        """What is laid out with it and ticked with it: what was found to be wanted, then what the line always has."""
        return (*self.outcome.parts, *self.declared.line.parts)

    @property
    def how(self) -> tuple[Finding | str, ...]:
        """What was found to do with it, then what the line always says."""
        return (*self.outcome.how, *self.declared.line.how)

    @property
    def cautions(self) -> tuple[Finding | str, ...]:
        """What was found that can hurt, then what the line always says."""
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
    value = (
        *(declared.id, declared.name, declared.kind, line.declared.route, found.blocked),
        *(found.due, found.in_syringe, found.amount, found.low, found.high, found.air, found.discard),
        *(found.sizes, found.syringe, found.syringes, found.recipe, found.vials, found.standing, found.show),
        tuple([each for each in found.details if each.kind not in _REPEATED]),
        line.parts,
    )
    return hashlib.sha256(write_unchecked(write_plain(value)).encode()).hexdigest()
