"""The list as JSON, in the types from which its schema is made too.

Every amount is a decimal string with its UCUM code, so that none passes through a binary float.
"""

from typing import Annotated, TypedDict, cast

from msgspec import Meta, Struct, json

from prepkit.kit.baby import Baby
from prepkit.kit.earlier import EarlierDose, EarlierDoses
from prepkit.kit.facts import LEAST_WEIGHT_G, MOST_WEIGHT_G, FactValue, write_fact
from prepkit.kit.fields import Basis
from prepkit.kit.ward import SyringeStock
from prepkit.list.lines import ListLine, TrayList
from prepkit.quantities.amount import Amount
from prepkit.quantities.text import write_decimal
from prepkit.rules.criteria import Reason, ReasonVerdict, Verdict
from prepkit.rules.growth import Sex
from prepkit.rules.rule import Dilution
from prepkit.wording.say import say, say_all, say_joined
from prepkit.wording.things import join_sizes, say_dilution

GramsJson = Annotated[int, Meta(ge=LEAST_WEIGHT_G, le=MOST_WEIGHT_G)]
DecimalText = Annotated[str, Meta(pattern=r"^-?(0|[1-9][0-9]*)(\.[0-9]*[1-9])?$")]
Sha256 = Annotated[str, Meta(pattern=r"^[0-9a-f]{64}$")]


class JsonObject(Struct, frozen=True, forbid_unknown_fields=True):
    """An object of JSON that has each of these keys, and no other."""


class AmountJson(JsonObject, frozen=True):
    """A number and its UCUM code; a number that does not end is rounded half up to six places."""

    value: DecimalText
    unit: str


class KitJson(JsonObject, frozen=True):
    """Which kit the list was made from."""

    id: str
    edition: str
    sha256: Sha256


class WardJson(JsonObject, frozen=True):
    """Which ward file the list was made with."""

    name: str
    sha256: Sha256


class BabyJson(TypedDict):
    """The facts the list was made for; the kit's own facts stand beside these by their ids.

    `born` is a day, or a moment where the time is known; null means not known, or still to be given. `weight_now_g` is
    that of birth where the baby was not weighed since, and then `weight_now_on` is null. `age_h` counts completed hours
    and is null where only the day of birth is known.
    """

    birth_weight_g: GramsJson | None
    weight_now_g: GramsJson | None
    weight_now_on: str | None
    birth_gestation_days: int | None
    gestation_today_days: int | None
    born: str
    age_h: int | None
    sex: Sex


class EarlierDoseJson(JsonObject, frozen=True):
    """A dose that was given before; null for what nobody knows of it."""

    product: str | None
    amount: Annotated[AmountJson | None, Meta(description="in mg, mg/kg or mL, as it was given")]
    at: str | None


class ReasonJson(JsonObject, frozen=True):
    """How one criterion stands."""

    criterion: str
    verdict: ReasonVerdict
    text: str
    source: str


class RangeJson(JsonObject, frozen=True):
    """A range; `high` is null for a floor."""

    low: AmountJson
    high: AmountJson | None


class SyringeJson(JsonObject, frozen=True):
    """The syringe to use: its nominal capacity and the volume between two marks."""

    capacity: AmountJson
    marks: AmountJson
    route: str


class RecipeJson(JsonObject, frozen=True):
    """What it is drawn up from."""

    id: str
    strength: AmountJson
    text: str


class VialJson(JsonObject, frozen=True):
    """So many containers of one size."""

    size: AmountJson
    count: Annotated[int, Meta(ge=1)]


class LineJson(JsonObject, frozen=True):
    """One line of the list."""

    id: str
    group: str
    name: str
    kind: str
    route: str | None
    blocked: Annotated[str | None, Meta(description="why it cannot be prepared as it stands; null where it can")]
    due: Annotated[AmountJson | None, Meta(description="of a dose: the mass that its rule asks for")]
    in_syringe: Annotated[AmountJson | None, Meta(description="of a dose: the mass that the mark holds")]
    exact: Annotated[AmountJson | None, Meta(description="before rounding to the marks")]
    amount: Annotated[AmountJson | None, Meta(description="what the hand measures or sets")]
    range: RangeJson | None
    size: str | None
    syringe: SyringeJson | None
    recipe: RecipeJson | None
    vials: tuple[VialJson, ...]
    discard: AmountJson | None
    show: Annotated[str, Meta(description="the line in words, as a screen shows it")]
    remarks: Annotated[
        tuple[str, ...], Meta(description="by which other weight it goes, or that it stands only if born today")
    ]
    kits_own: Annotated[
        str | None, Meta(description="the kit's own value in words, where the ward file changed it; null where not")
    ]
    working: tuple[str, ...]
    parts: Annotated[tuple[str, ...], Meta(description="what is laid out with it and ticked with it, a thing each")]
    how: Annotated[tuple[str, ...], Meta(description="what to do with it, a sentence each")]
    cautions: Annotated[tuple[str, ...], Meta(description="what can hurt, a sentence each, the gravest first")]
    basis: Basis
    source: str


class ListJson(JsonObject, frozen=True):
    """A list, as `prepkit list --format json` prints it."""

    kit: KitJson
    ward: WardJson | None
    baby: BabyJson
    assumed: Annotated[
        tuple[str, ...], Meta(description="ids of the facts that stand at the kit's default, not confirmed")
    ]
    verdict: Verdict
    reasons: tuple[ReasonJson, ...]
    lines: tuple[LineJson, ...]


def write_list_json(tray: TrayList) -> str:
    """The list as JSON text, indented, ending in a line break."""
    return write_json(make_list_json(tray))


def write_json(value: JsonObject) -> str:
    """An object as JSON text, indented, ending in a line break."""
    return json.format(json.encode(value)).decode() + "\n"


def make_list_json(tray: TrayList) -> ListJson:
    """The list as what its JSON holds."""
    kit = tray.kit
    return ListJson(
        kit=KitJson(kit.model.id, kit.model.edition, kit.sha256),
        ward=WardJson(tray.ward.model.name, tray.ward.sha256) if tray.ward else None,
        baby=_make_baby(tray.baby),
        assumed=tuple(tray.baby.assumed),
        verdict=tray.verdict,
        reasons=tuple(_make_reason(reason) for reason in tray.reasons),
        lines=tuple(_make_line(line, tray) for line in tray.lines),
    )


def _make_reason(reason: Reason) -> ReasonJson:
    return ReasonJson(reason.criterion, reason.verdict, say(reason.text), say(reason.source))


def _make_baby(baby: Baby) -> BabyJson:
    size, age = baby.size, baby.age
    core: BabyJson = {
        "birth_weight_g": size.birth_weight_g,
        "weight_now_g": size.weight_now_g,
        "weight_now_on": baby.weighed.isoformat() if baby.weighed else None,
        "birth_gestation_days": size.birth_gestation.days if size.birth_gestation else None,
        "gestation_today_days": size.gestation_today.days if size.gestation_today else None,
        "born": write_fact(baby.born),
        "age_h": age.most_h if age.least_min == age.most_min else None,
        "sex": Sex(baby.sex),
    }
    facts = {name: None if value is None else _make_fact(value) for name, value in baby.facts.items()}
    return cast("BabyJson", {**core, **facts})


def _make_fact(value: FactValue) -> AmountJson | list[EarlierDoseJson] | str:
    if isinstance(value, EarlierDoses):
        return [make_earlier_dose(dose) for dose in value.doses]
    return _make_amount(value) if isinstance(value, Amount) else write_fact(value)


def make_earlier_dose(dose: EarlierDose) -> EarlierDoseJson:
    """A dose given before as what JSON holds of it."""
    at = dose.at.isoformat(timespec="minutes") if dose.at else None
    return EarlierDoseJson(dose.product or None, _make_amount_if_any(dose.amount), at)


def _make_amount(amount: Amount) -> AmountJson:
    return AmountJson(write_decimal(amount.value), amount.unit.ucum)


def _make_amount_if_any(amount: Amount | None) -> AmountJson | None:
    return None if amount is None else _make_amount(amount)


def _make_line(line: ListLine, tray: TrayList) -> LineJson:
    found = line.outcome
    return LineJson(
        id=line.id,
        group=line.group,
        name=line.name,
        kind=line.kind,
        route=line.declared.route,
        blocked=say(found.blocked) or None,
        due=_make_amount_if_any(found.due),
        in_syringe=_make_amount_if_any(found.in_syringe),
        exact=_make_amount_if_any(found.exact),
        amount=_make_amount_if_any(found.amount),
        range=RangeJson(_make_amount(found.low), _make_amount_if_any(found.high)) if found.low else None,
        size=join_sizes(found.sizes) if found.sizes else None,
        syringe=_make_syringe(found.syringe) if found.syringe else None,
        recipe=_make_recipe(found.recipe) if found.recipe else None,
        vials=tuple(VialJson(_make_amount(vial.size), vial.count) for vial in found.vials),
        discard=_make_amount_if_any(found.discard),
        show=" · ".join(part for part in (say(found.show), *say_all(found.details)) if part),
        remarks=say_all(tray.list_remarks(line)),
        kits_own=say(found.kits_own) or None,
        working=say_all(found.working),
        parts=say_all(line.parts),
        how=say_all(line.how),
        cautions=say_all(line.cautions),
        basis=line.basis,
        source=say_joined(line.source),
    )


def _make_syringe(syringe: SyringeStock) -> SyringeJson:
    return SyringeJson(_make_amount(syringe.holds), _make_amount(syringe.marks), syringe.route)


def _make_recipe(recipe: Dilution) -> RecipeJson:
    return RecipeJson(recipe.id, _make_amount(recipe.strength), say_dilution(recipe))
