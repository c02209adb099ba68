"""The rule of a `size` line: bands over the facts, a device's label, the ward's approval. May import: `prepkit.rules`."""

from collections.abc import Sequence
from dataclasses import replace
from datetime import timedelta

from prepkit.kit.lines import SizeBand, SizeLine, SizeMethod
from prepkit.kit.ward import Approval
from prepkit.rules.case import Case, Outcome, cite, cite_short, holds_for

REVIEW_SOON = timedelta(days=60)


def compute_size(line: SizeLine, case: Case) -> Outcome:
    """The size or sizes to lay out; or why there is none."""
    found = [(method, find_bands(method, case)) for method in line.method]
    bands = [(method, band) for method, fits in found for band in fits]
    if not bands:
        return _find_approval(line, case) if line.label else _block(line, case)
    sizes = tuple(dict.fromkeys(size for _, band in bands for size in band.size))
    working = [_explain(line, method, band, case) for method, band in bands]
    below = _find_below(line, sizes) if line.also_below else ""
    if line.also_below:
        smallest = f"No smaller size than {sizes[0]} is listed."
        working.append(f"The size below is laid out too: {below}." if below else smallest)
    outcome = Outcome(
        sizes=sizes,
        standing="label" if line.label else "",
        show=_show_sizes(line, sizes, below),
        working=tuple(working),
        cautions=_caution_disagreement(line, found),
    )
    return _with_source(line, bands, case, outcome)


def find_bands(method: SizeMethod, case: Case) -> list[SizeBand]:
    """The bands of one method that fit the baby (or the followed line's size)."""
    if method.follows is not None:
        sizes = case.found[method.follows].sizes
        return [band for band in method.band if band.when_size in sizes and holds_for(band, case.baby)]
    return [band for band in method.band if holds_for(band, case.baby)]


def join_sizes(sizes: Sequence[str], word: str = "or") -> str:
    """ "5 or 6 Fr", "3.0 mm": sizes in words, a shared unit said once. """
    units = {size.partition(" ")[2] for size in sizes}
    if len(units) == 1 and len(sizes) > 1 and "" not in units:
        return f" {word} ".join(size.partition(" ")[0] for size in sizes) + f" {units.pop()}"
    return f" {word} ".join(sizes)


def _show_sizes(line: SizeLine, sizes: tuple[str, ...], below: str) -> str:
    word = {"one": "or", "every": "and", "any": "or"}[line.choose]
    shown = join_sizes(sizes, word)
    if line.label and " " not in shown:
        shown = f"size {shown}"
    return f"{shown} + {below}" if below else shown


def _find_below(line: SizeLine, sizes: tuple[str, ...]) -> str:
    at = min(line.sizes.index(size) for size in sizes)
    return line.sizes[at - 1] if at else ""


def _explain(line: SizeLine, method: SizeMethod, band: SizeBand, case: Case) -> str:
    basis, source = (band.basis, band.source) if band.basis else (line.basis, line.source)
    ground = band.when_size or band.words()
    return f"By {method.by}: {ground} gives {join_sizes(band.size)}. {cite_short(case.kit, basis, source)}"


def _caution_disagreement(line: SizeLine, found: list[tuple[SizeMethod, list[SizeBand]]]) -> tuple[str, ...]:
    if line.choose != "one" or len(found) == 1:
        return ()
    said = {method.by: join_sizes(bands[0].size) for method, bands in found if bands}
    if len(set(said.values())) == 1:
        return ()
    words = ", ".join(f"{size} by {by}" for by, size in said.items())
    return (f"The methods differ: {words}. Lay out both.",)


def _with_source(line: SizeLine, bands: list[tuple[SizeMethod, SizeBand]], case: Case, outcome: Outcome) -> Outcome:
    own = {(band.basis, band.source) for _, band in bands if band.basis}
    if len(own) != 1 or not all(band.basis for _, band in bands):
        return outcome
    basis, source = own.pop()
    return replace(outcome, basis=basis, source=cite(case.kit, basis or line.basis, source))


def _block(line: SizeLine, case: Case) -> Outcome:
    facts = case.baby.words()
    return Outcome(blocked=f"no size is stated for {facts}", working=(f"None of its bands holds {facts}.",))


def _find_approval(line: SizeLine, case: Case) -> Outcome:
    label = _words_of_label(line)
    outside = f"{case.baby.weight_g} g is outside every label: {label}"
    tag = cite_short(case.kit, line.basis, line.source)
    if case.ward is None:
        reason = f"{outside}; no ward file, so no approval on file"
        return Outcome(blocked=reason, working=(f"Label: {label}. {tag}", "Outside its label: a ward's own approval, or do not use."))
    fitting = [approval for approval in case.ward.approval if approval.line == line.id and _covers(approval, case)]
    if not fitting:
        reason = f"{outside}, and the ward has no approval on file for {case.baby.words()}"
        return Outcome(blocked=reason, working=(f"Label: {label}. {tag}", "Outside its label: a ward's own approval, or do not use."))
    return _apply_approval(fitting[0], f"Label: {label}. {tag}", case)


def _words_of_label(line: SizeLine) -> str:
    bands = [band for method in line.method for band in method.band]
    return "; ".join(f"size {join_sizes(band.size)} is for {band.words()}" for band in bands)


def _covers(approval: Approval, case: Case) -> bool:
    return approval.weight.contains(case.baby.weight) and approval.gestation.contains(case.baby.gestation)


def _apply_approval(approval: Approval, label: str, case: Case) -> Outcome:
    today = case.now.date()
    ground = f"{approval.reference}, approved by {approval.approver} on {approval.approved_on:%d %b %Y}"
    spans = f"{approval.weight.words()}, gestation {approval.gestation.words()}"
    working = (label, f"Ward approval: size {approval.size} for {spans}: {ground}; review by {approval.review_by:%d %b %Y}. [local]")
    if approval.review_by < today:
        blocked = f"the ward's approval {approval.reference} was due for review by {approval.review_by:%d %b %Y}"
        return Outcome(blocked=blocked, working=working)
    if today < approval.approved_on:
        return Outcome(blocked=f"the ward's approval {approval.reference} begins on {approval.approved_on:%d %b %Y}", working=working)
    cautions = [f"Outside its label: used on the ward's approval {approval.reference}."]
    if approval.review_by - today <= REVIEW_SOON:
        cautions.append(f"The approval is due for review by {approval.review_by:%d %b %Y}.")
    return Outcome(
        sizes=(approval.size,),
        standing=f"approval {approval.reference}",
        show=f"size {approval.size}",
        details=("outside its label, on ward approval",),
        working=working,
        cautions=tuple(cautions),
        basis="local",
        source=ground,
    )
