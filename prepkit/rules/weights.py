"""Whether a baby's weights are believable: at birth for the gestation, and now for the weight at birth.

The standards are of size at birth: the weight at birth is held against them, and the weight of a later day never is.
What a preterm baby loses first (Rochow 2016, doi 10.1038/pr.2016.15, 981 healthy babies: 11 % of the birth weight by
day 5 at 25 to 29 weeks, 7 % at 30 to 34 weeks) lies within the range that the weight now is held against in the first
72 hours: 85 to 105 % of the birth weight. That range is ours, made from those figures to notice two weights that were
swapped, or a slipped digit; past 72 hours only the ward's own figures ask.
"""

from fractions import Fraction

from msgspec import Struct
from msgspec.structs import replace

from prepkit.kit.baby import Baby
from prepkit.kit.names import BIRTH_WEIGHT, WEIGHT_NOW
from prepkit.kit.spans import AgeSpan, AxisSpans
from prepkit.kit.ward import Ward
from prepkit.quantities.amount import Amount, convert, make_amount
from prepkit.rules.condition import Condition, prepare_condition
from prepkit.rules.growth import Plausibility, Sex, WeightPlausibility, check_weight

_EARLY = AxisSpans(age=AgeSpan(at_most=make_amount(72, "h")))
_LEAST, _MOST = make_amount(85, "%"), make_amount(105, "%")
_EARLY_SOURCE = (
    "ours, from the usual loss of weight of preterm babies: Rochow 2016, doi 10.1038/pr.2016.15 (11 % by day 5 at 25 to"
    " 29 weeks, 7 % at 30 to 34 weeks)"
)


class WeightSinceBirth(Struct, frozen=True):
    """How the weight now stands to the weight at birth."""

    birth_g: int
    now_g: int
    percent: Fraction
    least: Amount
    most: Amount
    source: str

    @property
    def is_usual(self) -> bool:
        """Whether it lies within the range, its ends included."""
        return convert(self.least, "%").value <= self.percent <= convert(self.most, "%").value


class _Range(Struct, frozen=True):
    """The shares of the birth weight that are taken as they stand, at some ages."""

    ages: Condition
    least: Amount
    most: Amount
    source: str


class WeightChanges(Struct, frozen=True):
    """The ranges that the weight now is held against: the ward's first, then the program's own."""

    ranges: tuple[_Range, ...]

    def judge(self, baby: Baby) -> WeightSinceBirth | None:
        """Judge the weight now; None where there are not two weights, or no range for an age that the baby may have."""
        birth, now = baby.size.birth_weight_g, baby.size.weight_now_g
        if birth is None or now is None or baby.weighed is None:
            return None
        held = next((each for each in self.ranges if each.ages.may_hold_for(baby)), None)
        if held is None:
            return None
        return WeightSinceBirth(birth, now, Fraction(now * 100, birth), held.least, held.most, held.source)


def prepare_changes(ward: Ward | None) -> WeightChanges:
    """Prepare the ward's ranges, and the program's own for the first 72 hours."""
    rows = ward.weight_change if ward else ()
    own = (_Range(prepare_condition(AxisSpans(age=row.age)), row.least, row.most, "the ward's own") for row in rows)
    return WeightChanges((*own, _Range(prepare_condition(_EARLY), _LEAST, _MOST, _EARLY_SOURCE)))


def judge_baby_weight(baby: Baby) -> WeightPlausibility:
    """Judge the weight at birth; where that, or the gestation at birth, is not known there is no reference."""
    size, sex = baby.size, Sex(baby.sex)
    if size.birth_weight_g is not None and size.birth_gestation is not None:
        return check_weight(size.birth_weight_g, size.birth_gestation.days, sex)
    fact, grams = (BIRTH_WEIGHT, size.birth_weight_g) if size.birth_weight_g else (WEIGHT_NOW, size.weight_now_g)
    without = WeightPlausibility(grams or 0, size.birth_gestation, sex, Plausibility.NO_REFERENCE, None, None, None, "")
    return replace(without, fact=fact)
