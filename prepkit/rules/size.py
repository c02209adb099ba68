"""The rule of a `size` line: bands over the facts, a device's label, the ward's approval."""

from collections.abc import Mapping, Sequence
from itertools import chain, product

from msgspec import Struct

from prepkit.kit.fields import EXCERPT, Basis
from prepkit.kit.kit import Kit
from prepkit.kit.lines import SizeBand, SizeLine, SizeMethod
from prepkit.kit.ward import Approval, Ward
from prepkit.rules.approvals import caution_review, choose_in_force, explain_out_of_force
from prepkit.rules.condition import Condition, prepare_condition
from prepkit.rules.findings import Citation, Finding, Kind, cite, finding
from prepkit.rules.rule import Outcome, RuleContext, block_missing

_WEAKEST_FIRST = ("from memory", "common practice", "local", EXCERPT, "published")
_BESIDE = 2


class SizeChoice(Struct, frozen=True):
    """One band of a method, with whom it fits."""

    follows: str | None
    """The line whose size decides, where one does."""
    condition: Condition
    band: SizeBand

    def fits(self, context: RuleContext) -> bool:
        """Say whether it fits the baby, and the followed line's size."""
        if self.follows is not None:
            followed = context.found[self.follows]
            if self.band.when_size not in (*followed.sizes, followed.below):
                return False
        return self.condition.holds_for(context.baby)


class _Fit(Struct, frozen=True):
    """A band with the ground it stands on, its own or its line's, and what is said of it."""

    choice: SizeChoice
    by: str
    ground: tuple[Basis, tuple[str, ...]]
    cited: Citation
    working: Finding


class _Approved(Struct, frozen=True):
    """An approval of the ward's, with whom it covers and what is said of it."""

    approval: Approval
    covers: Condition
    working: tuple[Finding, ...]


class SizeRule(Struct, frozen=True):
    """A thing that comes in sizes: its bands with what they give, and the ward's approvals."""

    line: SizeLine
    fits: tuple[_Fit, ...]
    laid_out: Mapping[tuple[int, ...], Outcome]
    """What is given where these bands fit and no others: each alone, and of two methods one of each together."""
    label: Finding
    """What the label covers, for a thing with one."""
    label_working: Finding
    approved: tuple[_Approved, ...]

    @property
    def fixed(self) -> tuple[Outcome, ...]:
        """What its bands give."""
        return tuple(self.laid_out.values())

    def work_out(self, context: RuleContext) -> Outcome:
        """Find the size or sizes to lay out; or why there is none."""
        found = tuple([at for at, fit in enumerate(self.fits) if fit.choice.fits(context)])
        if found:
            return self.laid_out.get(found) or _lay_out(self.line, [self.fits[at] for at in found])
        return self._find_approval(context) if self.line.label else _block(self.line, context)

    def _find_approval(self, context: RuleContext) -> Outcome:
        """Find what the ward's approvals say of a baby outside the label: one in force, or why there is none."""
        baby, has_ward = context.baby, context.ward is not None
        fitting = [each for each in self.approved if each.covers.holds_for(baby)]
        chosen = choose_in_force([each.approval for each in fitting], context.now.date())
        if chosen is None:
            # One of them may cover the baby, for all that is known: it is asked for before it is refused.
            covering = [each.covers for each in self.approved if each.covers.may_hold_for(baby)]
            if missing := baby.find_missing([each.axis for covers in covering for each in covers.ends]):
                return block_missing(missing)
            blocked = finding(Kind.OUTSIDE_LABELS, label=self.label, size=baby.size, has_ward=has_ward)
            return Outcome(blocked=blocked, working=(self.label_working, finding(Kind.OFF_LABEL)))
        return _apply_approval(next(each for each in fitting if each.approval is chosen), context)


def prepare_size(line: SizeLine, kit: Kit, ward: Ward | None) -> SizeRule:
    """Prepare the bands of a size line, its label and the ward's approvals."""
    fits = [[_make_fit(line, method, choice, kit) for choice in prepare_choices(method)] for method in line.method]
    bands = tuple((fit.choice.band.size, fit.choice.condition.where) for fit in chain.from_iterable(fits))
    label = finding(Kind.LABEL, bands=bands)
    working = finding(Kind.LABEL_CITED, label=label, cited=cite(kit, line.basis, line.source))
    rows = [row for row in ward.approval if row.line == line.id] if ward and line.label else []
    approved = tuple(_prepare_approval(row, working) for row in rows)
    every = tuple(chain.from_iterable(fits))
    return SizeRule(line, every, _prepare_together(line, fits, every), label, working, approved)


def prepare_choices(method: SizeMethod) -> tuple[SizeChoice, ...]:
    """Prepare the bands of one method."""
    return tuple(SizeChoice(method.follows, prepare_condition(band), band) for band in method.band)


def _prepare_together(
    line: SizeLine, methods: Sequence[Sequence[_Fit]], every: Sequence[_Fit]
) -> Mapping[tuple[int, ...], Outcome]:
    """Prepare what each band gives alone and, where there are two methods, what one of each gives together."""
    alone = [(at,) for at in range(len(every))]
    # Of more methods there would be too many to prepare: those are put together for the baby.
    pairs = product(range(len(methods[0])), range(len(methods[0]), len(every))) if len(methods) == _BESIDE else ()
    return {group: _lay_out(line, [every[at] for at in group]) for group in (*alone, *pairs)}


def _lay_out(line: SizeLine, fits: Sequence[_Fit]) -> Outcome:
    """Give the sizes of the bands that fit."""
    sizes = tuple(dict.fromkeys(size for fit in fits for size in fit.choice.band.size))
    below = _find_below(line, sizes) if line.also_below else ""
    cautions = _caution_disagreement(line, fits)
    is_every = len(sizes) > 1 and (bool(cautions) or line.choose == "every")
    working = [fit.working for fit in fits]
    if line.also_below:
        working.append(finding(Kind.SIZE_BELOW, below=below, first=sizes[0]))
    return Outcome(
        sizes=sizes,
        below=below,
        standing=(finding(Kind.ON_LABEL),) if line.label else (),
        show=_show(sizes, line, below, is_every=is_every),
        working=tuple(working),
        cautions=cautions,
        basis=min((fit.ground[0] for fit in fits), key=_WEAKEST_FIRST.index),
        source=tuple({fit.ground: fit.cited for fit in fits}.values()),
    )


def _show(sizes: tuple[str, ...], line: SizeLine, below: str, *, is_every: bool) -> Finding:
    # A device's one size without a unit is called by its number: "size 1".
    is_number = line.label and len(sizes) == 1 and " " not in sizes[0]
    return finding(Kind.SIZES, sizes=sizes, is_every=is_every, is_number=is_number, below=below)


def _make_fit(line: SizeLine, method: SizeMethod, choice: SizeChoice, kit: Kit) -> _Fit:
    band = choice.band
    basis, source = (band.basis, band.source) if band.basis else (line.basis, line.source)
    cited = cite(kit, basis, source)
    working = finding(Kind.SIZES_BY_BAND, by=method.by, band=band, cited=cited)
    return _Fit(choice, method.by, (basis, source), cited, working)


def _find_below(line: SizeLine, sizes: tuple[str, ...]) -> str:
    at = min(line.sizes.index(size) for size in sizes)
    return line.sizes[at - 1] if at else ""


def _caution_disagreement(line: SizeLine, fits: Sequence[_Fit]) -> tuple[Finding, ...]:
    if line.choose != "one":
        return ()
    sizes = {fit.by: fit.choice.band.size for fit in fits}
    return (finding(Kind.SIZES_DIFFER, sizes=sizes),) if len(set(sizes.values())) > 1 else ()


def _block(line: SizeLine, context: RuleContext) -> Outcome:
    if waiting := block_waiting(line.method, context):
        return waiting
    size = context.baby.size
    return Outcome(blocked=finding(Kind.NO_SIZE, size=size), working=(finding(Kind.NO_BAND, size=size),))


def block_waiting(methods: Sequence[SizeMethod], context: RuleContext) -> Outcome | None:
    """Give the block of a size that follows a blocked line; None where none of what is followed is blocked."""
    followed = {method.follows for method in methods if method.follows and context.found[method.follows].blocked}
    if not followed:
        return None
    names = tuple(row.name for row in context.kit.line if row.id in followed)
    return Outcome(blocked=finding(Kind.WAITS, names=names), working=(finding(Kind.SIZE_FOLLOWS, names=names),))


def _prepare_approval(approval: Approval, label: Finding) -> _Approved:
    working = finding(Kind.APPROVED_SIZE, approval=approval)
    return _Approved(approval, prepare_condition(approval.where), (label, working))


def _apply_approval(approved: _Approved, context: RuleContext) -> Outcome:
    approval, today = approved.approval, context.now.date()
    if blocked := explain_out_of_force(approval, today):
        return Outcome(blocked=blocked, working=approved.working)
    sizes, reference = (approval.size,), approval.reference
    return Outcome(
        sizes=sizes,
        standing=(finding(Kind.ON_APPROVAL, reference=reference),),
        show=finding(Kind.SIZES, sizes=sizes, is_every=False, is_number=True, below=""),
        details=(finding(Kind.OFF_LABEL_DETAIL),),
        working=approved.working,
        cautions=(finding(Kind.OFF_LABEL_ALLOWED, reference=reference), *caution_review(approval, today)),
        basis="local",
        source=(finding(Kind.APPROVAL_GROUND, approved=approval),),
    )
