"""The rule of a `size` line: bands over the facts, a device's label, the ward's approval."""

from collections.abc import Mapping, Sequence
from itertools import chain, product

from msgspec import Struct

from prepkit.kit.fields import Basis
from prepkit.kit.kit import Kit
from prepkit.kit.lines import SizeBand, SizeLine, SizeMethod
from prepkit.kit.ward import Approval, Ward
from prepkit.rules.approvals import caution_review, choose_in_force, explain_out_of_force, say_ground
from prepkit.rules.condition import Condition, prepare_condition, prepare_spans
from prepkit.rules.rule import Outcome, RuleContext, cite, cite_short

_WEAKEST_FIRST = ("from memory", "common practice", "local", "published")
_BESIDE = 2
_OFF_LABEL = "Outside its label: a ward's own approval, or do not use."


class SizeChoice(Struct, frozen=True):
    """One band of a method, with whom it fits."""

    follows: str | None
    """The line whose size decides, where one does."""
    condition: Condition
    band: SizeBand

    def fits(self, context: RuleContext) -> bool:
        """Say whether it fits the baby, and the followed line's size."""
        if self.follows is not None and self.band.when_size not in context.found[self.follows].sizes:
            return False
        return self.condition.holds_for(context.baby)


class _Fit(Struct, frozen=True):
    """A band with the ground it stands on, its own or its line's, and what is said of it."""

    choice: SizeChoice
    by: str
    shown: str
    ground: tuple[Basis, tuple[str, ...]]
    cited: str
    working: str


class _Approved(Struct, frozen=True):
    """An approval of the ward's, with whom it covers and what is said of it."""

    approval: Approval
    covers: Condition
    ground: str
    working: tuple[str, ...]


class SizeRule(Struct, frozen=True):
    """A thing that comes in sizes: its bands with what they give, and the ward's approvals."""

    line: SizeLine
    fits: tuple[_Fit, ...]
    laid_out: Mapping[tuple[int, ...], Outcome]
    """What is given where these bands fit and no others: each alone, and of two methods one of each together."""
    label: str
    """What the label covers, in words; empty for a thing without one."""
    label_working: str
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
        outside = f"{context.baby.weight_g} g is outside every label: {self.label}"
        unapproved = (self.label_working, _OFF_LABEL)
        if context.ward is None:
            return Outcome(blocked=f"{outside}; no ward file, so no approval on file", working=unapproved)
        fitting = [each for each in self.approved if each.covers.holds_for(context.baby)]
        chosen = choose_in_force([each.approval for each in fitting], context.now.date())
        if chosen is None:
            reason = f"{outside}, and the ward has no approval on file for {context.baby.words()}"
            return Outcome(blocked=reason, working=unapproved)
        return _apply_approval(next(each for each in fitting if each.approval is chosen), context)


def prepare_size(line: SizeLine, kit: Kit, ward: Ward | None) -> SizeRule:
    """Prepare the bands of a size line, its label and the ward's approvals."""
    fits = [[_make_fit(line, method, choice, kit) for choice in prepare_choices(method)] for method in line.method]
    label = _words_of_label(line) if line.label else ""
    working = f"Label: {label}. {cite_short(kit, line.basis, line.source)}" if line.label else ""
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
    return Outcome(
        sizes=sizes,
        standing="label" if line.label else "",
        show=_show_sizes(line, sizes, below, differ=bool(cautions)),
        working=(*(fit.working for fit in fits), *_explain_below(line, sizes, below)),
        cautions=cautions,
        basis=min((fit.ground[0] for fit in fits), key=_WEAKEST_FIRST.index),
        source="; ".join({fit.ground: fit.cited for fit in fits}.values()),
    )


def join_sizes(sizes: Sequence[str], word: str = "or") -> str:
    """Write sizes in words, a shared unit said once: "5 or 6 Fr", "3.0 mm"."""
    units = {size.partition(" ")[2] for size in sizes}
    if len(units) == 1 and len(sizes) > 1 and "" not in units:
        return f" {word} ".join(size.partition(" ")[0] for size in sizes) + f" {units.pop()}"
    return f" {word} ".join(sizes)


def _make_fit(line: SizeLine, method: SizeMethod, choice: SizeChoice, kit: Kit) -> _Fit:
    band, shown = choice.band, join_sizes(choice.band.size)
    basis, source = (band.basis, band.source) if band.basis else (line.basis, line.source)
    ground = band.when_size or choice.condition.words
    working = f"By {method.by}: {ground} gives {shown}. {cite_short(kit, basis, source)}"
    return _Fit(choice, method.by, shown, (basis, source), cite(kit, basis, source), working)


def _show_sizes(line: SizeLine, sizes: tuple[str, ...], below: str, *, differ: bool) -> str:
    shown = join_sizes(sizes, "and" if differ or line.choose == "every" else "or")
    if line.label and " " not in shown:
        shown = f"size {shown}"
    return f"{shown} + {below}" if below else shown


def _find_below(line: SizeLine, sizes: tuple[str, ...]) -> str:
    at = min(line.sizes.index(size) for size in sizes)
    return line.sizes[at - 1] if at else ""


def _explain_below(line: SizeLine, sizes: tuple[str, ...], below: str) -> tuple[str, ...]:
    if not line.also_below:
        return ()
    return (f"The size below is laid out too: {below}." if below else f"No smaller size than {sizes[0]} is listed.",)


def _caution_disagreement(line: SizeLine, fits: Sequence[_Fit]) -> tuple[str, ...]:
    if line.choose != "one":
        return ()
    said = {fit.by: fit.shown for fit in fits}
    if len(set(said.values())) == 1:
        return ()
    words = ", ".join(f"{size} by {by}" for by, size in said.items())
    return (f"The methods differ: {words}. Lay out both.",)


def _block(line: SizeLine, context: RuleContext) -> Outcome:
    if waiting := block_waiting(line.method, context):
        return waiting
    facts = context.baby.words()
    return Outcome(blocked=f"no size is stated for {facts}", working=(f"None of its bands holds {facts}.",))


def block_waiting(methods: Sequence[SizeMethod], context: RuleContext) -> Outcome | None:
    """Give the block of a size that follows a blocked line; None where none of what is followed is blocked."""
    followed = {method.follows for method in methods if method.follows and context.found[method.follows].blocked}
    if not followed:
        return None
    names = ", ".join(row.name for row in context.kit.line if row.id in followed)
    return Outcome(blocked=f"waits for what is blocked: {names}", working=(f"Its size follows from: {names}.",))


def _words_of_label(line: SizeLine) -> str:
    bands = [band for method in line.method for band in method.band]
    return "; ".join(f"size {join_sizes(band.size)} is for {band.words()}" for band in bands)


def _prepare_approval(approval: Approval, label: str) -> _Approved:
    ground = say_ground(approval)
    spans = f"{approval.weight.words()}, gestation {approval.gestation.words()}"
    review = f"review by {approval.review_by:%d %b %Y}"
    words = f"Ward approval: size {approval.size} for {spans}: {ground}; {review}. [local]"
    return _Approved(approval, prepare_spans(approval.weight, approval.gestation), ground, (label, words))


def _apply_approval(approved: _Approved, context: RuleContext) -> Outcome:
    approval, today = approved.approval, context.now.date()
    if blocked := explain_out_of_force(approval, today):
        return Outcome(blocked=blocked, working=approved.working)
    return Outcome(
        sizes=(approval.size,),
        standing=f"approval {approval.reference}",
        show=f"size {approval.size}",
        details=("outside its label, on ward approval",),
        working=approved.working,
        cautions=(
            f"Outside its label: used on the ward's approval {approval.reference}.",
            *caution_review(approval, today),
        ),
        basis="local",
        source=approved.ground,
    )
