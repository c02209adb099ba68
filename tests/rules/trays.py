"""Kits, wards and babies for the tests of rules and lists: the shipped ones, and small ones made from text."""

import re
from collections.abc import Collection, Mapping
from datetime import UTC, datetime
from pathlib import Path
from types import SimpleNamespace

from msgspec.structs import replace
from shipped import read_kit_text

from prepkit.kit.baby import Baby, make_baby
from prepkit.kit.kit import Kit
from prepkit.kit.read import ParsedFile, check_beside, read_kit, read_ward
from prepkit.kit.ward import Ward
from prepkit.list.compute import compute_list
from prepkit.list.lines import ListLine, TrayList
from prepkit.quantities.amount import Amount
from prepkit.quantities.text import read_amount
from prepkit.rules.criteria import Reason, prepare_criteria
from prepkit.rules.rule import Order, Outcome, Prescribed
from prepkit.wording.say import say, say_all, say_joined
from prepkit.wording.things import join_sizes

ROOT = Path(__file__).parents[2]
NOW = datetime(2026, 11, 25, 3, 0, tzinfo=UTC)


class WordedLine(ListLine, frozen=True):
    """A line as a reader meets it: what was found for it in words, amounts as they are."""

    blocked = property(lambda self: say(self.outcome.blocked))
    show = property(lambda self: say(self.outcome.show))
    details = property(lambda self: say_all(self.outcome.details))
    working = property(lambda self: say_all(self.outcome.working))
    cautions = property(lambda self: (*say_all(self.outcome.cautions), *self.declared.line.cautions))
    parts = property(lambda self: (*say_all(self.outcome.parts), *self.declared.line.parts))
    standing = property(lambda self: say_joined(self.outcome.standing))
    kits_own = property(lambda self: say(self.outcome.kits_own))
    source = property(lambda self: say_joined(self.outcome.source or (self.declared.cited,)))
    basis = property(lambda self: self.outcome.basis or self.declared.line.basis)
    size = property(lambda self: join_sizes(self.outcome.sizes) if self.outcome.sizes else None)
    route = property(lambda self: self.declared.route)
    check = property(lambda self: self.declared.check)
    choices = property(lambda self: self.declared.choices)
    essential = property(lambda self: self.declared.line.essential)
    aloud = property(lambda self: self.declared.line.aloud)
    how = property(lambda self: (*say_all(self.outcome.how), *self.declared.line.how))
    due = property(lambda self: self.outcome.due)
    in_syringe = property(lambda self: self.outcome.in_syringe)
    exact = property(lambda self: self.outcome.exact)
    amount = property(lambda self: self.outcome.amount)
    low = property(lambda self: self.outcome.low)
    high = property(lambda self: self.outcome.high)
    sizes = property(lambda self: self.outcome.sizes)
    syringe = property(lambda self: self.outcome.syringe)
    product = property(lambda self: self.outcome.product)
    air = property(lambda self: self.outcome.air)
    recipe = property(lambda self: self.outcome.recipe)
    vials = property(lambda self: self.outcome.vials)
    discard = property(lambda self: self.outcome.discard)
    prescribed = property(lambda self: word_prescribed(self.outcome.prescribed))

    def _replace(self, **changes: object) -> "WordedLine":
        own = {name: changes.pop(name) for name in ("name", "how") if name in changes}
        declared = {name: changes.pop(name) for name in ("route", "check", "choices") if name in changes}
        line = replace(self.declared.line, **own)
        if "size" in changes:
            changes["sizes"] = (changes.pop("size"),)
        if "standing" in changes:
            changes["standing"] = (changes["standing"],)
        return WordedLine(replace(self.declared, line=line, **declared), self.outcome._replace(**changes))


def word_line(line: ListLine) -> WordedLine:
    return WordedLine(line.declared, line.outcome)


def word_tray(tray: TrayList) -> TrayList:
    """Put into words what a reader meets of a list."""
    return replace(
        tray,
        reasons=tuple(map(word_reason, tray.reasons)),
        lines=tuple(map(word_line, tray.lines)),
        overdue=say_all(tray.overdue),
    )


def word_reason(reason: Reason) -> Reason:
    return replace(reason, text=say(reason.text), source=say(reason.source))


def word_prescribed(prescribed: Prescribed | None) -> SimpleNamespace | None:
    if prescribed is None:
        return None
    return SimpleNamespace(words=say_all(prescribed.says), holds=prescribed.holds, container=prescribed.container)


def word(outcome: Outcome) -> Outcome:
    """Put into words what was found for a line."""
    return outcome._replace(
        blocked=say(outcome.blocked),
        kits_own=say(outcome.kits_own),
        standing=say_joined(outcome.standing),
        show=say(outcome.show),
        details=say_all(outcome.details),
        working=say_all(outcome.working),
        parts=say_all(outcome.parts),
        how=say_all(outcome.how),
        cautions=say_all(outcome.cautions),
        source=say_joined(outcome.source) or None,
        prescribed=word_prescribed(outcome.prescribed),
    )


def expect(**fields: object) -> Outcome:
    """What is expected of a rule, in words."""
    return Outcome(**{"blocked": "", "kits_own": "", "standing": "", "show": "", "source": None, **fields})


def make_kit(text: str) -> ParsedFile[Kit]:
    kit, problems = read_kit(text, "test kit")
    assert kit is not None, problems
    return kit


def make_ward(text: str, *kits: ParsedFile[Kit]) -> ParsedFile[Ward]:
    ward, problems = read_ward(text, "test ward")
    assert ward is not None, problems
    assert not check_beside(ward, kits or (KIT,))
    return ward


KIT = make_kit(read_kit_text())
DEMO_TEXT = (ROOT / "demo" / "ward.toml").read_text("utf-8")
WARD = make_ward(DEMO_TEXT)

_SMALL_KIT = """
form = 1
id = "small"
edition = "2026-11"
name = "Small kit"
short = "Small"
review_by = 2027-11-30
domain.birth_weight = { at_least = "300 g", at_most = "6000 g" }
domain.weight_now = { at_least = "300 g", at_most = "6000 g" }
domain.birth_gestation = { at_least = "22+0", at_most = "44+6" }
domain.gestation_today = { at_least = "22+0", at_most = "44+6" }
group = [{ id = "all", name = "All" }]

[sources.book]
title = "Invented book"
year = 2020
reference = "chapter 1"
read = "whole"
written_for = "invented babies"
"""

BOOK = "published: Invented book (2020), chapter 1 (read whole, written for invented babies)"
"""How the small kit's one source is cited."""

_WARD_HEAD = """
form = 1
name = "Invented ward"
edition = "1"
approver = "lead pharmacist"
review_by = 2030-01-01
deviation = "5 %"
"""


def make_small_kit(text: str) -> ParsedFile[Kit]:
    """Make a kit of nothing but the tables given; each line gets its group and basis where it does not say."""
    return make_kit(_SMALL_KIT + text)


def make_small_ward(text: str, *kits: ParsedFile[Kit], head: str = _WARD_HEAD) -> ParsedFile[Ward]:
    return make_ward(head + text, *kits)


def write_widening(
    what: str, kit: str = "small", start: str = "2026-01-01", end: str = "2028-01-01", reference: str = "W-9"
) -> str:
    """Write a ward's approval for going further than a kit."""
    return (
        f'[[widening]]\nwhat = "{what}"\nkits = ["{kit}"]\nreference = "{reference}"\n'
        f'approver = "lead consultant"\napproved_on = {start}\nreview_by = {end}\n'
    )


def make_fine_ward(stock: str, kit: ParsedFile[Kit] = KIT) -> ParsedFile[Ward]:
    """Make a ward whose syringes measure anything to a thousandth of a mL, so that exact volumes show."""
    syringes = "".join(
        f'[[syringe]]\nroute = "{route}"\nholds = "50 mL"\nmarks = "0.001 mL"\nleast = "0.001 mL"\n'
        for route in ("intravenous", "tracheal", "enteral")
    )
    return make_small_ward(syringes + stock, kit, head=_WARD_HEAD.replace("5 %", "20 %"))


def find_baby(
    weight: int | str, gestation: str = "30+2", kit: ParsedFile[Kit] = KIT, now: datetime = NOW, **facts: str
) -> Baby:
    given = {"birth_weight": str(weight), "birth_gestation": gestation, **facts}
    if days := re.findall(r"\d{4}-\d\d-\d\d", facts.get("earlier_surfactant", "")):
        # A dose is given after the birth.
        given = {"born": min(days), "weight_now": "not weighed since"} | given
    baby, problems = make_baby(kit.model, given, now)
    assert baby is not None, problems
    return baby


def give_before(*doses: str) -> dict[str, str]:
    """Surfactant given before: each dose as "200 mg/kg, 2026-11-24 15:00", of poractant alfa where it names none."""
    named = (dose if dose.count(",") > 1 else f"poractant-alfa, {dose}" for dose in doses)
    return {"earlier_surfactant": "; ".join(named)}


def make_tray(
    weight: int | str,
    gestation: str = "30+2",
    *,
    kit: ParsedFile[Kit] = KIT,
    ward: ParsedFile[Ward] | None = WARD,
    now: datetime = NOW,
    answers: Mapping[str, str] | None = None,
    **facts: str,
) -> TrayList:
    return word_tray(compute_list(kit, ward, find_baby(weight, gestation, kit, now, **facts), answers or {}, now))


def find_line(
    line: str,
    weight: int | str,
    gestation: str = "30+2",
    *,
    kit: ParsedFile[Kit] = KIT,
    ward: ParsedFile[Ward] | None = WARD,
    now: datetime = NOW,
    orders: Mapping[str, Order] | None = None,
    **facts: str,
) -> WordedLine:
    tray = compute_list(kit, ward, find_baby(weight, gestation, kit, now, **facts), {}, now, orders=orders)
    return next(word_line(row) for row in tray.lines if row.id == line)


def check_criteria(
    kit: ParsedFile[Kit],
    baby: Baby,
    answers: Mapping[str, str],
    confirmed: Collection[str] = (),
    ward: ParsedFile[Ward] | None = None,
) -> tuple[Reason, ...]:
    return prepare_criteria(kit.model, ward.model if ward else None).check(baby, answers, confirmed)


def change_ward(ward: ParsedFile[Ward] = WARD, **changes: object) -> ParsedFile[Ward]:
    """Change some of a ward's fields after it was read."""
    return replace(ward, model=replace(ward.model, **changes))


def read(text: str) -> Amount:
    return read_amount(text)
