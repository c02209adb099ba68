"""What a baby had of one substance before: how many doses, what they come to per kg, and what is left of the last one.

A dose and its rest are one. What was given counts whole; against the label's total it counts as the dose that was due,
where it was given to a mark of it: our own rounding of two doses never bars a third that the label allows.
"""

from collections.abc import Iterator, Mapping, Sequence
from fractions import Fraction

from msgspec import Struct

from prepkit.kit.earlier import EarlierDose
from prepkit.quantities.amount import Amount, convert, divide, make_amount, multiply
from prepkit.quantities.units import Dimension

_MG, _MG_PER_KG = (make_amount(1, unit).unit for unit in ("mg", "mg/kg"))


class DosesHad(Struct, frozen=True):
    """The doses of a course so far, each with its rest; in mg/kg."""

    given: tuple[Fraction, ...]
    """What was given of each."""
    counted: tuple[Fraction, ...]
    """What each counts as."""
    rest: Fraction | None
    """What is left of the last one, which was given in part; None where nothing is."""

    @property
    def total_given(self) -> Amount:
        """All that was given."""
        return Amount(sum(self.given, Fraction(0)), _MG_PER_KG)

    @property
    def total_counted(self) -> Amount:
        """All that counts towards the label's total."""
        return Amount(sum(self.counted, Fraction(0)), _MG_PER_KG)


class DoseCounter(Struct, frozen=True):
    """Counts the doses of one substance for one baby."""

    strengths: Mapping[str, Amount]
    """Of each product that the kit knows, by its id: a volume is counted at the strength that was given."""
    weight: Amount | None
    """What doses are per kg of; None where the birth weight is not known: then each counts as the one that was due."""
    first: Fraction
    repeat: Fraction
    """What is due of a first dose and of each further one, in mg/kg."""
    deviation: Fraction
    """How far a mark may lie from what was due, in % of it."""

    def count(self, doses: Sequence[EarlierDose]) -> DosesHad:
        """Count the doses, the first given first."""
        groups = list(_group(doses))
        dues = [self.repeat if at else self.first for at in range(len(groups))]
        given = [
            sum((self._measure(each, due) for each in group), Fraction(0))
            for group, due in zip(groups, dues, strict=True)
        ]
        counted = [
            due if abs(had - due) * 100 <= due * self.deviation else had for had, due in zip(given, dues, strict=True)
        ]
        return DosesHad(tuple(given), tuple(counted), self._find_rest(groups[-1], given[-1]) if groups else None)

    def _find_rest(self, group: Sequence[EarlierDose], given: Fraction) -> Fraction | None:
        """Find what is left of a dose that was begun and not given whole; nothing that a mark could be out by."""
        asked = group[0].part_of
        if asked is None or self.weight is None:
            return None
        due = divide(asked, self.weight, _MG_PER_KG).value
        return due - given if (due - given) * 100 > due * self.deviation else None

    def _measure(self, dose: EarlierDose, due: Fraction) -> Fraction:
        """What was given, in mg/kg: a volume by the strength on the label of what it was of."""
        amount = dose.amount
        if amount is None or (self.weight is None and amount.dimension is not Dimension.MASS_PER_WEIGHT):
            return due
        if amount.dimension is Dimension.MASS_PER_WEIGHT or self.weight is None:
            return convert(amount, _MG_PER_KG).value
        mass = amount
        if amount.dimension is Dimension.VOLUME:
            mass = multiply(amount, self.strengths[dose.product], _MG)
        return divide(mass, self.weight, _MG_PER_KG).value


def _group(doses: Sequence[EarlierDose]) -> Iterator[Sequence[EarlierDose]]:
    """Each dose with the rests that followed it."""
    group: list[EarlierDose] = []
    for dose in doses:
        if group and not dose.is_rest:
            yield group
            group = []
        group.append(dose)
    if group:
        yield group
