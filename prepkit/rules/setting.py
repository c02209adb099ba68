"""The rules of `setting` and `amount` lines: a value by facts, a range, a floor, or a fact taken over."""

from msgspec import Struct
from msgspec.structs import replace

from prepkit.kit.baby import Baby
from prepkit.kit.facts import find_default
from prepkit.kit.kit import Kit
from prepkit.kit.lines import AmountBand, AmountLine, SettingBand, SettingLine
from prepkit.kit.ward import SyringeStock, Ward, WardSetting
from prepkit.quantities.amount import Amount, convert
from prepkit.rules.condition import Condition, prepare_condition
from prepkit.rules.findings import Citation, Kind, cite, finding
from prepkit.rules.rule import Entry, Outcome, RuleContext, take_entered
from prepkit.rules.syringe_parts import list_syringe_parts


class _Copied(Struct, frozen=True):
    """A fact of the baby's that is taken over as it is."""

    name: str
    label: str
    band: AmountBand
    cited: Citation
    default: Amount | None = None
    """The kit's default, where it is not confirmed ..."""
    usual: Outcome | None = None
    """... and what that gives."""

    def take_over(self, context: RuleContext) -> Outcome:
        """Give the fact's amount; or say that it is taken over as it is, where nobody wrote it down."""
        value, is_assumed = context.baby.facts.get(self.name), self.name in context.baby.assumed
        if self.usual is not None and is_assumed and value is self.default:
            return self.usual
        if not isinstance(value, Amount):
            working = finding(Kind.VALUE_UNKNOWN, where=self.band, label=self.label, cited=self.cited)
            show = finding(Kind.AS_IT_IS)
            return Outcome(show=show, working=(working,), basis=self.cited.basis, source=(self.cited,))
        return self.give(value, is_assumed=is_assumed)

    def give(self, value: Amount, *, is_assumed: bool) -> Outcome:
        """Give an amount, and say where it was assumed."""
        label, where = self.label, self.band
        working = finding(
            Kind.VALUE_COPIED, where=where, value=value, label=label, is_assumed=is_assumed, cited=self.cited
        )
        return Outcome(
            amount=value,
            exact=value,
            show=finding(Kind.AMOUNT, amount=value),
            working=(working,),
            how=(finding(Kind.LOOK_AND_ENTER, label=label),) if is_assumed else (),
            cautions=(finding(Kind.ASSUMED, label=label),) if is_assumed else (),
            basis=self.cited.basis,
            source=(self.cited,),
        )


class _Choice(Struct, frozen=True):
    """One band with what it gives: an outcome as it stands, or a fact taken over."""

    condition: Condition
    gives: Outcome | _Copied


class BandRule(Struct, frozen=True):
    """A line that gives what the first of its bands does that holds the baby."""

    line: str
    """The line's id."""
    choices: tuple[_Choice, ...]

    @property
    def fixed(self) -> tuple[Outcome, ...]:
        """What its bands give, but for facts that somebody gave."""
        gives = (each.gives if isinstance(each.gives, Outcome) else each.gives.usual for each in self.choices)
        return tuple(outcome for outcome in gives if outcome is not None)

    def is_settled(self, baby: Baby) -> bool:
        """Say whether what is not known about the baby cannot change which band is its own."""
        first = next((each.condition for each in self.choices if each.condition.may_hold_for(baby)), None)
        return first is None or first.holds_for(baby)

    def work_out(self, context: RuleContext) -> Outcome:
        """Find what the baby's band gives; or say that there is none."""
        for choice in self.choices:
            if choice.condition.holds_for(context.baby):
                gives = choice.gives
                if isinstance(gives, Outcome):
                    return take_entered(gives, self.line, context)
                return gives.take_over(context)
        size = context.baby.size
        return Outcome(blocked=finding(Kind.NOTHING_STATED, size=size), working=(finding(Kind.NO_BAND, size=size),))


def prepare_setting(line: SettingLine, kit: Kit, ward: Ward | None) -> BandRule:
    """Prepare what to set or keep; what the kit leaves to the ward is the ward file's own value, or not set."""
    own = next((each for each in (ward.setting if ward else ()) if each.line == line.id), None)
    bands = ((prepare_condition(band), _prepare_setting(line, band, kit, own)) for band in line.band)
    return BandRule(line.id, tuple(_Choice(condition, gives) for condition, gives in bands))


def _prepare_setting(line: SettingLine, band: SettingBand, kit: Kit, own: WardSetting | None) -> Outcome | _Copied:
    if band.ward_sets is None:
        return _prepare_band(line, band, kit)
    if own is None:
        enters = Entry("setting", band.ward_sets.least, band.ward_sets.most)
        told = (finding(Kind.ENTER_WITH_TICK),)
        return Outcome(show=finding(Kind.NOT_SET), enters=enters, working=told, basis="local")
    cited, show = Citation("local", (own.source,)), finding(Kind.AMOUNT, amount=own.value)
    working = finding(Kind.VALUE_STATED, where=band, show=show, cited=cited)
    return Outcome(amount=own.value, exact=own.value, show=show, working=(working,), basis="local", source=(cited,))


def prepare_amount(line: AmountLine, kit: Kit, ward: Ward | None) -> BandRule:
    """Prepare a volume by facts, and the smallest stocked syringe of its route that measures it."""
    choices = []
    for band in line.band:
        condition, gives = prepare_condition(band), _prepare_band(line, band, kit)
        choices.append(_Choice(condition, _add_syringe(gives, line, ward) if isinstance(gives, Outcome) else gives))
    return BandRule(line.id, tuple(choices))


def _add_syringe(found: Outcome, line: AmountLine, ward: Ward | None) -> Outcome:
    if ward is None:
        return found._replace(cautions=(*found.cautions, finding(Kind.NO_WARD_FOR_SYRINGE)))
    low, high = found.low or found.amount, found.high or found.amount
    stock = [syringe for syringe in ward.syringe if syringe.route == line.route]
    if low is None or high is None:
        return found
    syringe = _find_syringe(low, high, stock)
    if syringe is None:
        blocked = finding(Kind.NO_SYRINGE_MEASURES, route=line.route, low=low, high=high)
        return found._replace(
            blocked=blocked, is_unmeasured=True, amount=None, exact=None, low=None, high=None, show=None
        )
    holds, cautions = syringe.holds, found.cautions
    if line.route != "intravenous":
        cautions = (*cautions, finding(Kind.NOT_FOR_INJECTION, route=line.route))
    return found._replace(
        syringe=syringe,
        details=(finding(Kind.SYRINGE_OF_ROUTE, holds=holds, route=line.route), *found.details),
        working=(
            *found.working,
            finding(Kind.SMALLEST_SYRINGE, holds=holds, route=line.route),
            finding(Kind.ROUTE_AND_CONNECTOR, route=line.route),
        ),
        parts=list_syringe_parts(syringe),
        cautions=cautions,
    )


def _find_syringe(low: Amount, high: Amount, stock: list[SyringeStock]) -> SyringeStock | None:
    serving = [one for one in stock if one.least <= low and high <= one.holds]
    exact = [one for one in serving if _on_mark(low, one) and _on_mark(high, one)]
    return min(exact, key=lambda one: convert(one.holds, "mL").value, default=None)


def _on_mark(volume: Amount, syringe: SyringeStock) -> bool:
    return (convert(volume, "mL").value / convert(syringe.marks, "mL").value).denominator == 1


def _prepare_band(line: SettingLine | AmountLine, band: AmountBand, kit: Kit) -> Outcome | _Copied:
    basis, source = (band.basis, band.source) if band.basis else (line.basis, line.source)
    cited = cite(kit, basis, source)
    if isinstance(band, SettingBand) and band.copies is not None:
        fact = next(fact for fact in kit.fact if fact.id == band.copies)
        copied, default = _Copied(band.copies, fact.label, band, cited), find_default(fact)
        if not isinstance(default, Amount):
            return copied
        return replace(copied, default=default, usual=copied.give(default, is_assumed=True))
    found = _show_band(band)
    working = finding(Kind.VALUE_STATED, where=band, show=found.show, cited=cited)
    return found._replace(working=(working,), basis=basis, source=(cited,))


def _show_band(band: AmountBand) -> Outcome:
    if band.value is not None:
        return Outcome(amount=band.value, exact=band.value, show=finding(Kind.AMOUNT, amount=band.value))
    if band.low is not None and band.high is not None:
        return Outcome(low=band.low, high=band.high, show=finding(Kind.RANGE, low=band.low, high=band.high))
    if isinstance(band, SettingBand) and band.floor is not None:
        return Outcome(low=band.floor, show=finding(Kind.FLOOR, low=band.floor))
    raise ValueError("a band without a value passed the kit's checks")
