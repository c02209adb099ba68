"""The rules of `setting` and `amount` lines: a value by facts, a range, a floor, or a fact taken over.

May import: `prepkit.rules`.
"""

from dataclasses import replace

from prepkit.kit.lines import AmountBand, AmountLine, SettingBand, SettingLine
from prepkit.kit.ward import SyringeStock
from prepkit.quantities.amount import Amount, convert
from prepkit.quantities.show import show_amount, show_range
from prepkit.rules.case import Case, Outcome, cite, cite_short, holds_for, say_route


def compute_setting(line: SettingLine, case: Case) -> Outcome:
    """Find what to set or keep."""
    return _find_band(line, line.band, case)


def compute_amount(line: AmountLine, case: Case) -> Outcome:
    """Find a volume by facts, and the smallest stocked syringe of its route that measures it."""
    found = _find_band(line, line.band, case)
    if found.blocked or case.ward is None:
        return found if found.blocked else _caution_no_ward(found)
    low, high = found.low or found.amount, found.high or found.amount
    stock = [syringe for syringe in case.ward.syringe if syringe.route == line.route]
    if low is None or high is None:
        return found
    syringe = _find_syringe(low, high, stock)
    if syringe is None:
        reason = f"no {line.route} syringe in stock measures {show_range(low, high)}"
        return replace(found, blocked=reason, is_unmeasured=True, amount=None, exact=None, low=None, high=None, show="")
    words = f"Syringe: {show_amount(syringe.holds)} {line.route}, the smallest in stock that measures it. [local]"
    details = (f"{show_amount(syringe.holds)} {line.route} syringe", *found.details)
    cautions = found.cautions
    if line.route != "intravenous":
        cautions = (*cautions, "Not for injection: its own syringe, labelled with its route.")
    return replace(
        found,
        syringe=syringe,
        details=details,
        working=(*found.working, words, say_route(line.route)),
        cautions=cautions,
    )


def _caution_no_ward(found: Outcome) -> Outcome:
    return replace(found, cautions=(*found.cautions, "No ward file: which syringe to use is not known."))


def _find_syringe(low: Amount, high: Amount, stock: list[SyringeStock]) -> SyringeStock | None:
    serving = [one for one in stock if one.least <= low and high <= one.holds]
    exact = [one for one in serving if _on_mark(low, one) and _on_mark(high, one)]
    return min(exact, key=lambda one: convert(one.holds, "mL").value, default=None)


def _on_mark(volume: Amount, syringe: SyringeStock) -> bool:
    return (convert(volume, "mL").value / convert(syringe.marks, "mL").value).denominator == 1


def _find_band(
    line: SettingLine | AmountLine, bands: tuple[AmountBand, ...] | tuple[SettingBand, ...], case: Case
) -> Outcome:
    band = next((band for band in bands if holds_for(band, case.baby)), None)
    if band is None:
        reason = f"nothing is stated for {case.baby.words()}"
        return Outcome(blocked=reason, working=(f"None of its bands holds {case.baby.words()}.",))
    basis, source = (band.basis, band.source) if band.basis else (line.basis, line.source)
    tag = cite_short(case.kit, basis, source)
    ground = "" if band.words() == "any baby" else f"For {band.words()}: "
    outcome = _show_band(band, case)
    words = f"{ground}{outcome.blocked or outcome.show}{outcome.standing}. {tag}"
    return replace(outcome, standing="", working=(words,), basis=basis, source=cite(case.kit, basis, source))


def _show_band(band: AmountBand, case: Case) -> Outcome:
    """Give the band's value; `standing` carries where a copied fact came from, for the working."""
    if band.value is not None:
        return Outcome(amount=band.value, exact=band.value, show=show_amount(band.value))
    if band.low is not None and band.high is not None:
        return Outcome(low=band.low, high=band.high, show=show_range(band.low, band.high))
    if isinstance(band, SettingBand) and band.floor is not None:
        return Outcome(low=band.floor, show=f"{show_amount(band.floor)} or more")
    if isinstance(band, SettingBand) and band.copies is not None:
        return _copy_fact(band.copies, case)
    raise ValueError("a band without a value passed the kit's checks")


def _copy_fact(name: str, case: Case) -> Outcome:
    value = case.baby.facts.get(name)
    label = next(fact.label for fact in case.kit.fact if fact.id == name)
    if not isinstance(value, Amount):
        return Outcome(blocked=f"{label} is not known")
    assumed = " (assumed: nobody gave it)" if name in case.baby.assumed else ""
    cautions = (f"{label} was assumed, not given: look at what the baby is on.",) if assumed else ()
    origin = f", the same as {label}{assumed}"
    return Outcome(amount=value, exact=value, show=show_amount(value), standing=origin, cautions=cautions)
