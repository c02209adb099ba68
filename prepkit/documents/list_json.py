"""The list as JSON, and the schema of it. May import: `prepkit.list` and below; pydantic for the schema alone."""

import json
from datetime import datetime

from prepkit.kit.baby import Baby, FactValue
from prepkit.list.lines import ListLine, TrayList
from prepkit.quantities.amount import Amount
from prepkit.quantities.show import write_decimal

Json = dict[str, object]


def write_list_json(tray: TrayList) -> str:
    """The list as JSON text, indented, ending in a line break."""
    return json.dumps(make_list_shape(tray), ensure_ascii=False, indent=2) + "\n"


def make_list_shape(tray: TrayList) -> Json:
    """The list as plain JSON values."""
    ward = {"name": tray.ward.model.name, "sha256": tray.ward.sha256} if tray.ward else None
    return {
        "kit": {"id": tray.kit.model.id, "edition": tray.kit.model.edition, "sha256": tray.kit.sha256},
        "ward": ward,
        "baby": _shape_baby(tray.baby),
        "assumed": list(tray.baby.assumed),
        "verdict": tray.verdict,
        "reasons": [
            {"criterion": reason.criterion, "verdict": reason.verdict, "text": reason.text, "source": reason.source}
            for reason in tray.reasons
        ],
        "lines": [_shape_line(line) for line in tray.lines],
    }


def write_list_schema() -> str:
    """The JSON Schema of the list, as text."""
    from prepkit.documents.shape import ListShape  # noqa: PLC0415  (the schema is written rarely; the list often)

    schema = {"$schema": "https://json-schema.org/draft/2020-12/schema", **ListShape.model_json_schema()}
    return json.dumps(schema, ensure_ascii=False, indent=2) + "\n"


def _shape_baby(baby: Baby) -> Json:
    facts: Json = {name: None if value is None else _shape_fact(value) for name, value in baby.facts.items()}
    core: Json = {"weight_g": baby.weight_g, "gestation_days": baby.gestation.days, "sex": baby.sex}
    return core | facts


def _shape_fact(value: FactValue) -> object:
    if isinstance(value, Amount):
        return _shape_amount(value)
    return value.isoformat(timespec="minutes") if isinstance(value, datetime) else str(value)


def _shape_amount(amount: Amount) -> Json:
    return {"value": write_decimal(amount.value), "unit": amount.unit.ucum}


def _shape_or_none(amount: Amount | None) -> Json | None:
    return None if amount is None else _shape_amount(amount)


def _shape_line(line: ListLine) -> Json:
    return {
        "id": line.id,
        "group": line.group,
        "name": line.name,
        "kind": line.kind,
        "route": line.route,
        "blocked": line.blocked or None,
        "dose": _shape_or_none(line.dose),
        "exact": _shape_or_none(line.exact),
        "amount": _shape_or_none(line.amount),
        "range": {"low": _shape_amount(line.low), "high": _shape_or_none(line.high)} if line.low else None,
        "size": line.size,
        "syringe": {
            "capacity": _shape_amount(line.syringe.holds),
            "marks": _shape_amount(line.syringe.marks),
            "route": line.syringe.route,
        } if line.syringe else None,
        "recipe": {
            "id": line.recipe.id, "strength": _shape_amount(line.recipe.strength), "text": line.recipe.words,
        } if line.recipe else None,
        "vials": [{"size": _shape_amount(vial.size), "count": vial.count} for vial in line.vials],
        "discard": _shape_or_none(line.discard),
        "show": " · ".join(part for part in (line.show, *line.details) if part),
        "kits_own": line.kits_own or None,
        "working": [*line.working, *line.how],
        "cautions": list(line.cautions),
        "basis": line.basis,
        "source": line.source,
    }  # fmt: skip
