"""Whether a weight at birth is believable for the gestation at birth.

Two references, which do not join smoothly at 33+0 and are never interpolated across it:

- 24+0 to 32+6: INTERGROWTH-21st very preterm reference, Villar 2016, doi 10.1016/S0140-6736(16)00384-6 (erratum Lancet
  387:944). The natural logarithm of the weight in kg is normal, with its mean from the exact weeks and the sex.
- 33+0 to 42+6: INTERGROWTH-21st newborn size standards, Villar 2014, doi 10.1016/S0140-6736(14)60932-6, by weekly rows
  (below), straight lines between rows, the row of 42+0 to the end of that week. The rows give centiles and no
  SD: the SD on each side is computed here as (P97 - P50) / 1.8808 above and (P50 - P3) / 1.8808 below. That is an
  approximation of ours and no published figure; at P10 and P90 it is within 26 g of the published rows.

How far typing slips land from the median: by the equation a tenfold slip is 11.9 SD and a kilogram/pound slip 4.1 SD.
By the weekly rows, where low weights spread wider, they are at least 4.2 and 2.6 SD.

Weights are whole grams and gestations whole days. Nothing is a binary float: the equation is worked to 28 digits, the
rows in exact fractions.

The tables hold the weight at birth by completed week, 3rd, 50th and 97th centile, in whole grams (published in kg to
two places).
"""

from decimal import ROUND_HALF_UP, Context, Decimal, localcontext
from enum import StrEnum
from fractions import Fraction
from functools import cache, lru_cache
from math import ceil, floor
from typing import ClassVar

from msgspec import Struct

from prepkit.kit.names import BIRTH_WEIGHT
from prepkit.quantities.gestation import DAYS_IN_WEEK, Gestation

FIRST_DAY = 24 * DAYS_IN_WEEK
FIRST_TABLE_DAY = 33 * DAYS_IN_WEEK
LAST_DAY = 42 * DAYS_IN_WEEK + 6

# Villar 2016: the equation for weight. The mean is of ln(kg) at w exact weeks; sex is 1 for a boy, 0 for a girl.
_INTERCEPT = Decimal("-7.00303")
_PER_ROOT_WEEK = Decimal("1.325911")
_FOR_A_BOY = Decimal("0.0571937")
_VARIANCE = Decimal("0.0373218")

# SDs from the median to the 3rd and 97th centile of a normal distribution, and to the limit of "very unlikely".
_TO_P97 = Decimal("1.8808")
_FAR = Decimal(3)

_GRAMS_IN_KG = 1000
_CONTEXT = Context(prec=28, rounding=ROUND_HALF_UP)

_EQUATION_SOURCE = (
    "INTERGROWTH-21st very preterm size at birth reference: Villar 2016, doi 10.1016/S0140-6736(16)00384-6, "
    "erratum Lancet 387:944"
)
_TABLE_SOURCE = (
    "INTERGROWTH-21st newborn size standards: Villar 2014, doi 10.1016/S0140-6736(14)60932-6; "
    "SD on each side computed here from the 3rd, 50th and 97th centiles"
)


class Sex(StrEnum):
    """The baby's sex, as far as the growth references need it."""

    BOY = "boy"
    GIRL = "girl"
    UNKNOWN = "unknown"


class Plausibility(StrEnum):
    """How believable a weight is for a gestation."""

    LIKELY = "likely"
    """From the 3rd to the 97th centile, both included."""
    UNLIKELY = "unlikely"
    """Beyond the 3rd or 97th centile."""
    VERY_UNLIKELY = "very unlikely"
    """3 SD or more from the mean."""
    NO_REFERENCE = "no reference"
    """Below 24+0 or past 42+6."""


class WeightLimits(Struct, frozen=True):
    """Whole grams at which the belief changes, for one gestation."""

    far_low_g: int
    """The heaviest weight that is 3 SD or more below."""
    low_g: int
    """The lightest weight that is not below the 3rd centile."""
    high_g: int
    """The heaviest weight that is not above the 97th centile."""
    far_high_g: int
    """The lightest weight that is 3 SD or more above."""


class WeightPlausibility(Struct, frozen=True):
    """What there is to say about a weight: the belief, the SD score, the usual range in g, and the source."""

    COUNTS: ClassVar[tuple[str, ...]] = ("fact", "weight_g", "gestation", "sex", "plausibility", "low_g", "high_g")
    weight_g: int
    gestation: Gestation | None
    """At birth; None where it is not known."""
    sex: Sex
    plausibility: Plausibility
    z: Decimal | None
    """SDs from the median; None where there is no reference and for a weight of nothing."""
    low_g: int | None
    """The 3rd centile, as the lightest whole gram within it; for the lighter sex where the sex is unknown."""
    high_g: int | None
    """The 97th centile, as the heaviest whole gram within it; for the heavier sex where the sex is unknown."""
    source: str
    """The reference used; empty where there is none."""
    fact: str = BIRTH_WEIGHT
    """The weight that it is about."""


class _Row(Struct, frozen=True):
    """Centiles at one day of the newborn standards, in sevenths of a gram, so that a day between two rows is exact."""

    p3: int
    p50: int
    p97: int


def has_reference(gestation_days: int) -> bool:
    """Whether a reference covers the gestation: 24+0 to 42+6."""
    return FIRST_DAY <= gestation_days <= LAST_DAY


def compute_z(weight_g: int, gestation_days: int, sex: Sex) -> Decimal | None:
    """SDs of a weight in g from the median at a gestation in days, by the references in this module's docstring.

    From 33+0 the SD is an approximation computed here from the published centiles. Where the sex is unknown, what
    either sex would allow is accepted: the z nearer to zero of the two (so that between the two medians z does not rise
    steadily with weight). None below 24+0, past 42+6 and for less than 1 g.
    """
    if not has_reference(gestation_days) or weight_g < 1:
        return None
    if sex is Sex.UNKNOWN:
        both = (_compute_known(weight_g, gestation_days, known) for known in (Sex.BOY, Sex.GIRL))
        return min(both, key=abs)
    return _compute_known(weight_g, gestation_days, sex)


def compute_centile_weight(gestation_days: int, sex: Sex, z: Decimal) -> int | None:
    """Weight in g, half up, that lies z SDs from the median at a gestation in days: -1.8808 gives the 3rd centile.

    Never below 0 g. Where the sex is unknown: the lighter sex below the median, the heavier above it and the point
    halfway between the two medians at z = 0. None below 24+0 and past 42+6. From 33+0 the SD is an approximation.
    """
    if not has_reference(gestation_days):
        return None
    return floor(max(_find_weight(gestation_days, sex, z), Fraction(0)) + Fraction(1, 2))


@cache
def find_limits(gestation_days: int, sex: Sex) -> WeightLimits | None:
    """Find the whole grams at which the belief changes at a gestation in days; None without a reference.

    Where the sex is unknown they are the widest of the two sexes': the two ranges overlap, so that a weight is within
    them exactly when it is within those of one sex.
    """
    if not has_reference(gestation_days):
        return None
    return WeightLimits(
        far_low_g=floor(_find_weight(gestation_days, sex, -_FAR)),
        low_g=ceil(_find_weight(gestation_days, sex, -_TO_P97)),
        high_g=floor(_find_weight(gestation_days, sex, _TO_P97)),
        far_high_g=ceil(_find_weight(gestation_days, sex, _FAR)),
    )


def judge_weight(weight_g: int, gestation_days: int, sex: Sex) -> Plausibility:
    """How believable a weight in g is at a gestation in days: four integer comparisons, and no words."""
    limits = find_limits(gestation_days, sex)
    if limits is None:
        return Plausibility.NO_REFERENCE
    if limits.low_g <= weight_g <= limits.high_g:
        return Plausibility.LIKELY
    if limits.far_low_g < weight_g < limits.far_high_g:
        return Plausibility.UNLIKELY
    return Plausibility.VERY_UNLIKELY


def check_weight(weight_g: int, gestation_days: int, sex: Sex) -> WeightPlausibility:
    """How believable a weight in g is at a gestation in days, with the range that it is held against."""
    limits = find_limits(gestation_days, sex)
    source = _EQUATION_SOURCE if gestation_days < FIRST_TABLE_DAY else _TABLE_SOURCE
    return WeightPlausibility(
        weight_g=weight_g,
        gestation=Gestation(gestation_days),
        sex=sex,
        plausibility=judge_weight(weight_g, gestation_days, sex),
        z=compute_z(weight_g, gestation_days, sex),
        low_g=limits.low_g if limits else None,
        high_g=limits.high_g if limits else None,
        source=source if limits else "",
    )


def _compute_known(weight_g: int, gestation_days: int, sex: Sex) -> Decimal:
    if gestation_days < FIRST_TABLE_DAY:
        with localcontext(_CONTEXT):
            return (_compute_ln_kg(weight_g) - _compute_mean_ln(gestation_days, sex)) / _compute_sd_ln()
    row = _find_row(gestation_days, sex)
    away = weight_g * DAYS_IN_WEEK - row.p50
    spread = row.p97 - row.p50 if away > 0 else row.p50 - row.p3
    with localcontext(_CONTEXT):
        return away * _TO_P97 / spread


def _find_weight(gestation_days: int, sex: Sex, z: Decimal) -> Fraction:
    """Grams at z SDs from the median, unrounded; the gestation must have a reference."""
    if sex is Sex.UNKNOWN:
        both = [_find_weight(gestation_days, known, z) for known in (Sex.BOY, Sex.GIRL)]
        return sum(both, Fraction(0)) / 2 if z == 0 else max(both) if z > 0 else min(both)
    if gestation_days < FIRST_TABLE_DAY:
        with localcontext(_CONTEXT):
            return Fraction((_compute_mean_ln(gestation_days, sex) + z * _compute_sd_ln()).exp() * _GRAMS_IN_KG)
    row = _find_row(gestation_days, sex)
    spread = row.p97 - row.p50 if z > 0 else row.p50 - row.p3
    return (row.p50 + Fraction(z) / Fraction(_TO_P97) * spread) / DAYS_IN_WEEK


@cache
def _compute_mean_ln(gestation_days: int, sex: Sex) -> Decimal:
    """Mean of ln(weight in kg) at exact weeks, Villar 2016."""
    with localcontext(_CONTEXT):
        root = (Decimal(gestation_days) / DAYS_IN_WEEK).sqrt()
        return _INTERCEPT + _PER_ROOT_WEEK * root + (_FOR_A_BOY if sex is Sex.BOY else 0)


@cache
def _compute_sd_ln() -> Decimal:
    """SD of ln(weight in kg), Villar 2016."""
    return _VARIANCE.sqrt(_CONTEXT)


@lru_cache(maxsize=8192)
def _compute_ln_kg(weight_g: int) -> Decimal:
    """Natural logarithm of a weight in kg: kept, because every gestation asks for the same few thousand weights."""
    with localcontext(_CONTEXT):
        return (Decimal(weight_g) / _GRAMS_IN_KG).ln()


@cache
def _find_row(gestation_days: int, sex: Sex) -> _Row:
    """Find the weekly row, or the straight line between two; the last row serves to the end of its week."""
    rows = BOYS if sex is Sex.BOY else GIRLS
    week, days = divmod(gestation_days, DAYS_IN_WEEK)
    before, after = rows[week], rows.get(week + 1, rows[week])
    p3, p50, p97 = (early * (DAYS_IN_WEEK - days) + late * days for early, late in zip(before, after, strict=True))
    return _Row(p3, p50, p97)


BOYS: dict[int, tuple[int, int, int]] = {
    33: (1180, 1950, 2820),
    34: (1450, 2220, 3080),
    35: (1700, 2470, 3320),
    36: (1930, 2690, 3540),
    37: (2130, 2890, 3740),
    38: (2320, 3070, 3920),
    39: (2490, 3240, 4080),
    40: (2630, 3380, 4220),
    41: (2760, 3510, 4350),
    42: (2880, 3620, 4460),
}

GIRLS: dict[int, tuple[int, int, int]] = {
    33: (1200, 1860, 2610),
    34: (1470, 2130, 2900),
    35: (1710, 2380, 3160),
    36: (1920, 2600, 3390),
    37: (2110, 2800, 3600),
    38: (2280, 2970, 3780),
    39: (2420, 3130, 3940),
    40: (2550, 3260, 4080),
    41: (2650, 3370, 4200),
    42: (2740, 3460, 4300),
}
