"""The rule of a `size` line: bands over the facts, a device's label, the ward's approval.

May import: `prepkit.rules`.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from prepkit.kit.lines import SizeBand, SizeLine, SizeMethod
from prepkit.kit.ward import Approval
from prepkit.rules.approved import caution_review, choose_in_force, explain_out_of_force, say_ground
from prepkit.rules.case import Case, Outcome, cite, cite_short, holds_for

_WEAKEST_FIRST = ("from memory", "common practice", "local", "published")
_OFF_LABEL = "Outside its label: a ward's own approval, or do not use."


@dataclass(frozen=True, slots=True)
class _Fit:
    """One band that fits, with the ground it stands on: its own, or its line's."""

    method: SizeMethod
    band: SizeBand
    basis: str
    source: tuple[str, ...]


def compute_size(line: SizeLine, case: Case) -> Outcome:
    """Find the size or sizes to lay out; or why there is none."""
    fits = [_make_fit(line, method, band) for method in line.method for band in find_bands(method, case)]
    if not fits:
        return _find_approval(line, case) if line.label else _block(line, case)
    sizes = tuple(dict.fromkeys(size for fit in fits for size in fit.band.size))
    below = _find_below(line, sizes) if line.also_below else ""
    cautions = _caution_disagreement(line, fits)
    grounds = dict.fromkeys((fit.basis, fit.source) for fit in fits)
    return Outcome(
        sizes=sizes,
        standing="label" if line.label else "",
        show=_show_sizes(line, sizes, below, differ=bool(cautions)),
        working=(*(_explain(fit, case) for fit in fits), *_explain_below(line, sizes, below)),
        cautions=cautions,
        basis=min((basis for basis, _ in grounds), key=_WEAKEST_FIRST.index),
        source="; ".join(cite(case.kit, basis, source) for basis, source in grounds),
    )


def find_bands(method: SizeMethod, case: Case) -> list[SizeBand]:
    """Find the bands of one method that fit the baby (or the followed line's size)."""
    if method.follows is not None:
        sizes = case.found[method.follows].sizes
        return [band for band in method.band if band.when_size in sizes and holds_for(band, case.baby)]
    return [band for band in method.band if holds_for(band, case.baby)]


def join_sizes(sizes: Sequence[str], word: str = "or") -> str:
    """Write sizes in words, a shared unit said once: "5 or 6 Fr", "3.0 mm"."""
    units = {size.partition(" ")[2] for size in sizes}
    if len(units) == 1 and len(sizes) > 1 and "" not in units:
        return f" {word} ".join(size.partition(" ")[0] for size in sizes) + f" {units.pop()}"
    return f" {word} ".join(sizes)


def _make_fit(line: SizeLine, method: SizeMethod, band: SizeBand) -> _Fit:
    return _Fit(method, band, band.basis or line.basis, band.source if band.basis else line.source)


def _show_sizes(line: SizeLine, sizes: tuple[str, ...], below: str, *, differ: bool) -> str:
    shown = join_sizes(sizes, "and" if differ or line.choose == "every" else "or")
    if line.label and " " not in shown:
        shown = f"size {shown}"
    return f"{shown} + {below}" if below else shown


def _find_below(line: SizeLine, sizes: tuple[str, ...]) -> str:
    at = min(line.sizes.index(size) for size in sizes)
    return line.sizes[at - 1] if at else ""


def _explain(fit: _Fit, case: Case) -> str:
    ground = fit.band.when_size or fit.band.words()
    tag = cite_short(case.kit, fit.basis, fit.source)
    return f"By {fit.method.by}: {ground} gives {join_sizes(fit.band.size)}. {tag}"


def _explain_below(line: SizeLine, sizes: tuple[str, ...], below: str) -> tuple[str, ...]:
    if not line.also_below:
        return ()
    return (f"The size below is laid out too: {below}." if below else f"No smaller size than {sizes[0]} is listed.",)


def _caution_disagreement(line: SizeLine, fits: Sequence[_Fit]) -> tuple[str, ...]:
    said = {fit.method.by: join_sizes(fit.band.size) for fit in fits}
    if line.choose != "one" or len(set(said.values())) == 1:
        return ()
    words = ", ".join(f"{size} by {by}" for by, size in said.items())
    return (f"The methods differ: {words}. Lay out both.",)


def _block(line: SizeLine, case: Case) -> Outcome:
    if waiting := block_waiting(line.method, case):
        return waiting
    facts = case.baby.words()
    return Outcome(blocked=f"no size is stated for {facts}", working=(f"None of its bands holds {facts}.",))


def block_waiting(methods: Sequence[SizeMethod], case: Case) -> Outcome | None:
    """Give the block of a size that follows a blocked line; None where none of what is followed is blocked."""
    followed = {method.follows for method in methods if method.follows and case.found[method.follows].blocked}
    if not followed:
        return None
    names = ", ".join(row.name for row in case.kit.line if row.id in followed)
    return Outcome(blocked=f"waits for what is blocked: {names}", working=(f"Its size follows from: {names}.",))


def _find_approval(line: SizeLine, case: Case) -> Outcome:
    """Find what the ward's approvals say of a baby outside the label: one in force, or why there is none."""
    label = _words_of_label(line)
    outside = f"{case.baby.weight_g} g is outside every label: {label}"
    label = f"Label: {label}. {cite_short(case.kit, line.basis, line.source)}"
    if case.ward is None:
        return Outcome(blocked=f"{outside}; no ward file, so no approval on file", working=(label, _OFF_LABEL))
    fitting = [approval for approval in case.ward.approval if approval.line == line.id and _covers(approval, case)]
    chosen = choose_in_force(fitting, case.now.date())
    if chosen is None:
        reason = f"{outside}, and the ward has no approval on file for {case.baby.words()}"
        return Outcome(blocked=reason, working=(label, _OFF_LABEL))
    return _apply_approval(chosen, label, case)


def _words_of_label(line: SizeLine) -> str:
    bands = [band for method in line.method for band in method.band]
    return "; ".join(f"size {join_sizes(band.size)} is for {band.words()}" for band in bands)


def _covers(approval: Approval, case: Case) -> bool:
    return approval.weight.contains(case.baby.weight) and approval.gestation.contains(case.baby.gestation)


def _apply_approval(approval: Approval, label: str, case: Case) -> Outcome:
    ground, today = say_ground(approval), case.now.date()
    spans = f"{approval.weight.words()}, gestation {approval.gestation.words()}"
    review = f"review by {approval.review_by:%d %b %Y}"
    working = (label, f"Ward approval: size {approval.size} for {spans}: {ground}; {review}. [local]")
    if blocked := explain_out_of_force(approval, today):
        return Outcome(blocked=blocked, working=working)
    return Outcome(
        sizes=(approval.size,),
        standing=f"approval {approval.reference}",
        show=f"size {approval.size}",
        details=("outside its label, on ward approval",),
        working=working,
        cautions=(
            f"Outside its label: used on the ward's approval {approval.reference}.",
            *caution_review(approval, today),
        ),
        basis="local",
        source=ground,
    )
