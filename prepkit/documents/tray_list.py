"""The list as plain text for a terminal or a pipe, and as JSON with its schema.

Only the schema needs pydantic, which is loaded when it is written.
"""

import json
from collections.abc import Iterator
from datetime import datetime

from prepkit.documents.safe_text import wrap_words
from prepkit.kit.baby import Baby, FactValue, show_fact
from prepkit.list.lines import ListLine, TrayList
from prepkit.quantities.amount import Amount
from prepkit.quantities.text import write_decimal
from prepkit.rules.criteria import WEIGHT_CRITERION

_AID = (
    "An aid to preparation by trained staff. Check every number against its working; local policy, pharmacy and the"
    " prescriber decide."
)


def write_list_text(tray: TrayList, others: str = "") -> str:
    """The list with verdict, working, sources and cautions; plain text, no colour.

    `others` says which other kits the baby meets the criteria of, where this one is not for it.
    """
    return "\n".join(_write_rows(tray, others)) + "\n"


def _write_rows(tray: TrayList, others: str) -> Iterator[str]:
    kit = tray.kit.model
    yield f"{kit.name} (edition {kit.edition})"
    yield f"{tray.baby.words()} · {_name_ward(tray)}"
    for reason in tray.reasons:
        if reason.criterion == WEIGHT_CRITERION and reason.verdict != "met":
            yield from wrap_words(f"LOOK AT THE WEIGHT FIRST. {reason.text}", "")
    for words in tray.overdue:
        yield from wrap_words(words, "")
    if tray.baby.assumed:
        yield from wrap_words(f"Assumed, nobody gave it: {say_assumed(tray)}.", "")
    yield ""
    yield f"Verdict: {tray.verdict}"
    for reason in tray.reasons:
        yield from wrap_words(f"{reason.verdict}: {reason.text}", "  ")
    if others:
        yield from wrap_words(others, "")
    for group in kit.group:
        yield ""
        yield group.name.upper()
        for line in tray.lines:
            if line.group == group.id:
                yield from _write_line_rows(line)
    yield ""
    yield from wrap_words(_AID, "")


def _name_ward(tray: TrayList) -> str:
    return tray.ward.model.name if tray.ward else "no ward file"


def say_assumed(tray: TrayList) -> str:
    """The facts nobody gave, with what the list was made for instead; empty where all were given."""
    labels = {fact.id: fact.label for fact in tray.kit.model.fact} | {"sex": "Sex"}
    values = {"sex": tray.baby.sex, **tray.baby.facts}
    shown = ((labels[name], values[name]) for name in tray.baby.assumed)
    return ", ".join(f"{label} {show_fact(value)}" for label, value in shown if value is not None)


def _write_line_rows(line: ListLine) -> Iterator[str]:
    mark = "[BLOCKED]" if line.blocked else "[ ]"
    yield f"{mark} {line.name}{': ' if line.show else ''}{line.show}"
    if line.blocked:
        yield from wrap_words(f"Blocked: {line.blocked}.", "      ")
    for detail in line.details:
        yield from wrap_words(detail, "      ")
    for sentence in (*line.working, *line.how):
        yield from wrap_words(sentence, "      - ")
    for caution in line.cautions:
        yield from wrap_words(f"caution: {caution}", "      ! ")
    yield from wrap_words(f"({line.source})", "      ")


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
    from prepkit.documents.schemas import ListShape  # noqa: PLC0415  (the schema is written rarely; the list often)

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
