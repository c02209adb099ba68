"""The rules of `supply` and `trial` lines: how many to lay out, which, and what to try. May import: `prepkit.rules`."""

from prepkit.kit.lines import Band, CountBand, SizeBand, SupplyLine, TrialLine
from prepkit.rules.case import Case, Outcome, cite_short, holds_for
from prepkit.rules.depth import Depth, caution_other_size, cite_depth, find_depth
from prepkit.rules.size import block_waiting, find_bands, join_sizes


def compute_supply(line: SupplyLine, case: Case) -> Outcome:
    """Find how many, of which size, how far in."""
    count = next((band for band in line.count if holds_for(band, case.baby)), None)
    size = next(iter(find_bands(line.size, case)), None) if line.size else None
    depth = find_depth(line.id, line.length, line.step, case) if line.length and line.step else None
    if line.size and size is None and (waiting := block_waiting((line.size,), case)):
        return waiting
    wanted = {"count": (line.count, count), "size": (line.size, size), "length": (line.length, depth)}
    for name, (stated, found) in wanted.items():
        if stated and found is None:
            return _block(name, line, case)
    if depth and depth.blocked:
        return Outcome(blocked=depth.blocked, working=(depth.words,))
    return _lay_out(line, case, count, size, depth)


def _block(name: str, line: SupplyLine, case: Case) -> Outcome:
    facts = case.baby.words()
    unused = caution_other_size(line.id, line.length, case) if line.length else ()
    working = (f"Nothing gives a {name} for {facts}.", *unused)
    return Outcome(blocked=f"no {name} is stated for {facts}", working=working)


def _lay_out(
    line: SupplyLine, case: Case, count: CountBand | None, size: SizeBand | None, depth: Depth | None
) -> Outcome:
    sizes = size.size if size else ()
    return Outcome(
        exact=depth.exact if depth else None,
        amount=depth.mark if depth else None,
        low=depth.low if depth else None,
        high=depth.high if depth else None,
        sizes=sizes,
        count=count.count if count else None,
        show=_show(line, count, sizes, depth),
        working=_explain(line, case, count, size, depth),
        basis=depth.method.basis if depth else None,
        source=cite_depth(depth, case) if depth else None,
        cautions=caution_other_size(line.id, line.length, case) if line.length else (),
    )


def _show(line: SupplyLine, count: CountBand | None, sizes: tuple[str, ...], depth: Depth | None) -> str:
    many = f"{count.count} \N{MULTIPLICATION SIGN}" if count and (count.count > 1 or sizes) else ""
    length = f"to {depth.show}" if depth else ""
    return " ".join(part for part in (many, line.says or "", join_sizes(sizes), length) if part)


def _explain(
    line: SupplyLine, case: Case, count: CountBand | None, size: SizeBand | None, depth: Depth | None
) -> tuple[str, ...]:
    working = []
    if count is not None:
        ground = "" if count.words() == "any baby" else f" ({count.words()})"
        working.append(f"Count: {count.count}{ground}. {_tag(line, count, case)}")
    if line.size and size:
        by = f"Size by {line.size.by}: {size.when_size or size.words()}"
        working.append(f"{by} gives {join_sizes(size.size)}. {_tag(line, size, case)}")
    if depth:
        working.append(f"Length. {depth.words}")
    return tuple(working) or (f"Lay it out. {cite_short(case.kit, line.basis, line.source)}",)


def _tag(line: SupplyLine, band: Band, case: Case) -> str:
    basis, source = (band.basis, band.source) if band.basis else (line.basis, line.source)
    return cite_short(case.kit, basis, source)


def compute_trial(line: TrialLine, case: Case) -> Outcome:
    """Find what to try before the cot, with the values it is tried for: a tick states them, and falls with them."""
    names = {row.id: row.name for row in case.kit.line}
    followed = [(names[name], case.found[name]) for name in line.of]
    words = f"Try it now, not at the cot. {cite_short(case.kit, line.basis, line.source)}"
    waiting = [name for name, outcome in followed if outcome.blocked]
    if waiting:
        return Outcome(blocked=f"waits for what is blocked: {', '.join(waiting)}", working=(words,))
    shows = [f"{name}: {outcome.show}" for name, outcome in followed if outcome.show]
    show = " and ".join(outcome.show for _, outcome in followed if outcome.show)
    standing = "; ".join(_write_value(outcome) for _, outcome in followed)
    return Outcome(show=show, standing=standing, working=(words, *shows))


def _write_value(outcome: Outcome) -> str:
    """Write all that a trial hangs on: the same 3.6 mL of another product, or in another syringe, is another trial."""
    return ", ".join(part for part in (outcome.standing, outcome.show, *outcome.details) if part)
