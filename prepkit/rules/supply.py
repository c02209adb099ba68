"""The rules of `supply` and `trial` lines: how many to lay out, which, and what to try. May import: `prepkit.rules`."""

from prepkit.kit.lines import CountBand, SupplyLine, TrialLine
from prepkit.rules.case import Case, Outcome, cite, cite_short, holds_for
from prepkit.rules.depth import Depth, find_depth
from prepkit.rules.size import find_bands, join_sizes


def compute_supply(line: SupplyLine, case: Case) -> Outcome:
    """How many, of which size, how far in."""
    count = next((band for band in line.count if holds_for(band, case.baby)), None)
    bands = find_bands(line.size, case) if line.size else []
    if line.size and not bands:
        reason = f"no size is stated for {case.baby.words()}"
        return Outcome(blocked=reason, working=(f"None of its bands holds {case.baby.words()}.",))
    depth = find_depth(line.id, line.length, line.step, case) if line.length and line.step else None
    sizes = bands[0].size if bands else ()
    return Outcome(
        exact=depth.exact if depth else None,
        amount=depth.mark if depth else None,
        low=depth.low if depth else None,
        high=depth.high if depth else None,
        sizes=sizes,
        show=_show(count, sizes, depth),
        working=_explain(line, case, count, depth),
        basis=depth.method.basis if depth else None,
        source=cite(case.kit, depth.method.basis, depth.method.source) if depth else None,
    )


def _show(count: CountBand | None, sizes: tuple[str, ...], depth: Depth | None) -> str:
    many = f"{count.count} ×" if count and (count.count > 1 or sizes) else ""
    length = f"to {depth.show}" if depth else ""
    return " ".join(part for part in (many, join_sizes(sizes), length) if part)


def _explain(line: SupplyLine, case: Case, count: CountBand | None, depth: Depth | None) -> tuple[str, ...]:
    working = []
    if count is not None:
        basis, source = (count.basis, count.source) if count.basis else (line.basis, line.source)
        ground = "" if count.words() == "any baby" else f" ({count.words()})"
        working.append(f"Count: {count.count}{ground}. {cite_short(case.kit, basis, source)}")
    if line.size:
        band = find_bands(line.size, case)[0]
        basis, source = (band.basis, band.source) if band.basis else (line.basis, line.source)
        working.append(f"Size by {line.size.by}: {band.words()} gives {join_sizes(band.size)}. {cite_short(case.kit, basis, source)}")
    if depth:
        working.append(f"Length. {depth.words}")
    return tuple(working) or (f"Lay it out. {cite_short(case.kit, line.basis, line.source)}",)


def compute_trial(line: TrialLine, case: Case) -> Outcome:
    """Something to try before the cot, with the values it is tried for: a tick then states them, and falls with them."""
    names = {row.id: row.name for row in case.kit.line}
    followed = [(names[name], case.found[name]) for name in line.of]
    words = f"Try it now, not at the cot. {cite_short(case.kit, line.basis, line.source)}"
    waiting = [name for name, outcome in followed if outcome.blocked]
    if waiting:
        return Outcome(blocked=f"waits for what is blocked: {', '.join(waiting)}", working=(words,))
    shows = [f"{name}: {outcome.show}" for name, outcome in followed if outcome.show]
    show = " and ".join(outcome.show for _, outcome in followed if outcome.show)
    return Outcome(show=show, working=(words, *shows))
