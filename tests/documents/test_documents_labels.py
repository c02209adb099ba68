"""Syringe labels: what stands on them, which syringes get none, and the HTML that is printed."""

from datetime import UTC, datetime, timedelta
from html.parser import HTMLParser

import pytest
from msgspec.structs import fields, replace
from shipped import read_kit_text

from prepkit.attribution import Attribution
from prepkit.documents.labels import LabelSheet, SyringeLabel, make_labels, write_labels_text
from prepkit.documents.labels_html import write_labels_html
from prepkit.paths import find_shipped
from prepkit.preparation.baby.events import FactGiven, WeightConfirmed
from prepkit.preparation.batches.events import InHand
from prepkit.preparation.check.events import CheckBegun, CheckEnded, CheckEntered, CheckRead, DifferenceSettled
from prepkit.preparation.events import Event, Payload, Started, StoodDown
from prepkit.preparation.evolve import evolve, fold
from prepkit.preparation.lines.events import SetAside, Ticked
from prepkit.preparation.listing import make_listed, work_out

NOW = datetime(2026, 11, 25, 3, 0, tzinfo=UTC)
KIT = read_kit_text()
DEMO = (find_shipped("demo") / "ward.toml").read_text("utf-8")
# An invented limit: how long a syringe may be kept is local policy.
LIMITED = DEMO.replace('air = "0.5 mL"', 'air = "0.5 mL"\ndrawn_up = "4 h"', 1)
SYRINGES = ("surfactant", "atropine", "flush", "sucrose")


class Scene:
    """A preparation of the shipped kit for an invented baby, moved on by events."""

    def __init__(self, ward: str = DEMO, *, cot: str = "Cot 4", practice: bool = False) -> None:
        started = Started(cot, "surfactant-supraglottic", "1", "Surfactant", KIT, ward, "ward", practice=practice)
        self.state = fold([Event(1, Attribution("RA", NOW, "desk"), started)])
        self.add(
            FactGiven("birth_weight", "1450"), FactGiven("birth_gestation", "30+2"), FactGiven("born", "2026-11-25")
        )
        self.relist()

    def add(self, *payloads: Payload, who: str = "RA", at: datetime = NOW) -> None:
        for payload in payloads:
            self.state = evolve(self.state, Event(self.state.seq + 1, Attribution(who, at, "desk"), payload))

    def relist(self) -> None:
        self.add(make_listed(work_out(self.state, NOW), "facts"))

    def find_fingerprint(self, line: str) -> str:
        found = self.state.find_line(line)
        assert found is not None
        return found.fingerprint

    def tick(self, *lines: str, who: str = "RA") -> None:
        for line in lines:
            self.add(Ticked(line, self.find_fingerprint(line)), who=who)

    def check(self, *lines: str, differing: str = "") -> None:
        """TO checks these lines at 03:05."""
        entries = (CheckEntered(each, self.find_fingerprint(each), "0.2 mL", "", agrees=each != differing)
                   for each in lines)  # fmt: skip
        payloads = (CheckBegun(), CheckRead("birth_weight", "1450", agrees=True), *entries, CheckEnded())
        self.add(*payloads, who="TO", at=NOW + timedelta(minutes=5))

    def make(self, now: datetime = NOW) -> LabelSheet | str:
        return make_labels(self.state, work_out(self.state, now), now)

    def sheet(self, now: datetime = NOW) -> LabelSheet:
        found = self.make(now)
        assert not isinstance(found, str), found
        return found


def test_a_label_says_what_the_syringe_holds_for_whom_by_whom_and_until_when() -> None:
    scene = Scene(LIMITED)
    scene.tick("surfactant", who="KM")
    (label,) = scene.sheet().labels
    assert label == SyringeLabel(
        medicine="Poractant alfa",
        amount="3.6 mL",
        air="+ 0.5 mL air",
        strength="80 mg/mL",
        route="tracheal",
        not_for_injection=True,
        cot="Cot 4",
        weights="",
        prepared="KM 25 Nov 03:00",
        checked="",
        use_before="25 Nov 07:00",
        label_class="",
        practice=False,
    )


@pytest.mark.parametrize(
    ("birth", "now", "said"),
    [
        ("1450", "1310 on 2026-11-25", "birth 1450, now 1310 g"),
        ("1450", "1450 on 2026-11-25", ""),
        ("1450", "not weighed since", ""),
        ("not known", "1310 on 2026-11-25", "birth not known, now 1310 g"),
    ],
)
def test_a_label_says_both_weights_where_they_differ(birth: str, now: str, said: str) -> None:
    scene = Scene()
    scene.add(FactGiven("birth_weight", birth), FactGiven("born", "2026-11-23"), FactGiven("weight_now", now))
    if birth == "not known":
        scene.add(WeightConfirmed("weight_now", {"weight_now": now, "birth_weight": birth}, ""))
    scene.relist()
    scene.tick("surfactant")
    sheet = scene.sheet()
    assert sheet.labels[0].weights == said
    rows = write_labels_text(sheet).splitlines()
    assert rows[3] == (f"For: Cot 4 ({said})" if said else "For: Cot 4")
    assert (f"<dt>Weight</dt><dd>{said}</dd>" in write_labels_html(sheet)) == bool(said)


def test_each_syringe_says_its_route_and_only_an_intravenous_one_may_be_injected() -> None:
    scene = Scene()
    scene.tick(*SYRINGES)
    labels = {label.medicine: label for label in scene.sheet().labels}
    assert {name: (label.route, label.not_for_injection) for name, label in labels.items()} == {
        "Poractant alfa": ("tracheal", True),
        "Atropine": ("intravenous", False),
        "Flush, sodium chloride 0.9 %": ("intravenous", False),
        "Oral sucrose 24 %": ("enteral", True),
    }
    assert labels["Atropine"].strength == "50 microgram/mL"
    # ISO 26825 (2020) has a colour for anticholinergics; surfactant and sucrose have none (clinical reference, 13).
    assert {name: label.label_class for name, label in labels.items() if label.label_class} == {
        "Atropine": "anticholinergic"
    }


def test_a_syringe_that_is_not_ticked_gets_no_label_and_the_output_says_so() -> None:
    scene = Scene()
    scene.tick("surfactant")
    scene.add(SetAside("atropine", scene.find_fingerprint("atropine"), "not wanted"))
    sheet = scene.sheet()
    assert sheet.left_out == (
        "No label for Atropine: set aside as not needed.",
        "No label for Flush, sodium chloride 0.9 %: it is not ticked.",
        "No label for Oral sucrose 24 %: it is not ticked.",
    )
    assert write_labels_text(sheet).endswith("\n".join(sheet.left_out) + "\n")
    assert write_labels_html(sheet).count('<p class="note">') == len(sheet.left_out)


def test_without_a_limit_in_the_ward_file_local_policy_says_until_when() -> None:
    scene = Scene()
    scene.tick("atropine")
    assert scene.sheet().labels[0].use_before == "per local policy"


def test_a_syringe_past_its_time_gets_no_label() -> None:
    scene = Scene(LIMITED)
    scene.tick("atropine")
    assert [label.medicine for label in scene.sheet(NOW + timedelta(hours=3, minutes=59)).labels] == ["Atropine"]
    late = scene.sheet(NOW + timedelta(hours=4))
    assert late.labels == ()
    assert "No label for Atropine: it was to be used before 25 Nov 07:00." in late.left_out


def test_times_are_put_on_the_wards_clock() -> None:
    scene = Scene(LIMITED)
    scene.tick("atropine")
    sheet = make_labels(scene.state, work_out(scene.state, NOW), NOW, lambda at: at + timedelta(hours=1))
    assert not isinstance(sheet, str)
    assert (sheet.labels[0].prepared, sheet.labels[0].use_before) == ("RA 25 Nov 04:00", "25 Nov 08:00")


def test_a_line_that_changed_or_has_no_list_gets_no_label() -> None:
    scene = Scene()
    scene.tick("surfactant")
    before = scene.state
    scene.add(FactGiven("birth_weight", "1600"))
    assert "there is no list now" in str(scene.make())
    scene.relist()
    assert scene.sheet().labels == ()
    assert "No label for Surfactant: it is not ticked." in scene.sheet().left_out
    # As seen by somebody who has worked the new list out but not yet recorded it.
    ahead = make_labels(before, work_out(scene.state, NOW), NOW)
    assert not isinstance(ahead, str)
    assert "No label for Surfactant: it changed since it was ticked." in ahead.left_out


def test_a_blocked_line_gets_no_label() -> None:
    scene = Scene(DEMO.replace('use = ["atropine-50"]', "", 1))
    (left,) = [words for words in scene.sheet().left_out if "Atropine" in words]
    assert left.startswith("No label for Atropine: blocked, ")


def test_what_went_out_of_date_gets_no_label() -> None:
    scene = Scene(DEMO.replace('air = "0.5 mL"', 'air = "0.5 mL"\nin_hand = true', 1))
    scene.tick("surfactant")
    assert "No label for Surfactant: give batch and expiry of what was used." in scene.sheet().left_out
    held = InHand("surfactant", scene.find_fingerprint("surfactant"), "", "AB12", "2026-11-25", "", scanned=False)
    scene.add(held)
    assert [label.medicine for label in scene.sheet().labels] == ["Poractant alfa"]
    late = scene.sheet(NOW + timedelta(days=1))
    assert late.labels == ()
    assert any("Surfactant: out of date, batch AB12" in words for words in late.left_out)


def test_a_preparation_stood_down_gets_no_label() -> None:
    scene = Scene()
    scene.tick("surfactant")
    scene.add(StoodDown("baby improved"))
    assert "stood this preparation down" in str(scene.make())


def test_who_checked_stands_on_the_label_or_a_rule_to_sign_on() -> None:
    scene = Scene()
    scene.tick("surfactant", "atropine")
    scene.check("atropine", "surfactant", differing="surfactant")
    surfactant, atropine = write_labels_text(scene.sheet()).split("\n\n")[:2]
    assert "Checked by: ____________" in surfactant
    assert "Checked by: TO 25 Nov 03:05" in atropine
    assert write_labels_html(scene.sheet()).count('class="blank"') == 1


def test_a_check_that_differed_stands_on_the_label_once_it_is_settled_and_not_after_a_change() -> None:
    scene = Scene()
    scene.tick("surfactant", "atropine")
    scene.check("surfactant", differing="surfactant")
    assert [label.checked for label in scene.sheet().labels] == ["", ""]
    scene.add(DifferenceSettled("surfactant", scene.find_fingerprint("surfactant"), "TO read 176"))
    assert [label.checked for label in scene.sheet().labels] == ["TO 25 Nov 03:05", ""]
    scene.add(FactGiven("birth_weight", "1600"))
    scene.relist()
    scene.tick("surfactant", "atropine")
    assert [label.checked for label in scene.sheet().labels] == ["", ""]


def test_there_is_no_label_while_somebody_checks() -> None:
    scene = Scene()
    scene.tick("surfactant")
    scene.add(CheckBegun(), who="TO")
    found = str(scene.make())
    assert found.startswith("No labels now: TO at 03:00 began the second check")
    assert "3.6" not in found


def test_the_text_says_not_for_injection_and_practice() -> None:
    scene = Scene(practice=True)
    scene.tick("sucrose")
    assert write_labels_text(scene.sheet()).startswith(
        "PRACTICE: not for a real baby\n"
        "Oral sucrose 24 %\n"
        "0.2 mL\n"
        "ENTERAL - NOT FOR INJECTION\n"
        "For: Cot 4\n"
        "Prepared by: RA 25 Nov 03:00\n"
    )


class Page(HTMLParser):
    """The words of a page by label, its tags, its attributes."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.labels: list[str] = []
        self.tags: set[str] = set()
        self.attributes: set[str] = set()
        self.is_inside = False
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.add(tag)
        self.attributes |= {name for name, _ in attrs}
        if tag == "section":
            self.labels.append("")
            self.is_inside = True

    def handle_endtag(self, tag: str) -> None:
        self.is_inside = self.is_inside and tag != "section"

    def handle_data(self, data: str) -> None:
        if self.is_inside:
            self.labels[-1] += f" {data.strip()}"


def test_the_page_has_a_section_a_label_on_a_page_of_its_size() -> None:
    scene = Scene()
    scene.tick(*SYRINGES)
    text = write_labels_html(scene.sheet())
    page = Page(text)
    assert "@page { size: 70mm 42mm; margin: 0 }" in text
    assert ".label + .label { break-before: page }" in text
    *doses, stock = page.labels
    assert len(doses) == len(SYRINGES)
    assert "made-up stock, not for giving as it is" in stock
    for words, label in zip(doses, scene.sheet().labels, strict=True):
        for said in (label.medicine, label.amount, label.strength, label.route, label.cot, label.prepared):
            assert said in words
        assert ("Not for injection" in words) == label.not_for_injection
    assert text.count("--class: #a4d65e") == 1, "atropine's alone"
    assert "anticholinergic" in page.labels[1], "colour never alone"


def test_what_is_left_of_a_recipe_has_a_label_of_its_own_that_is_none_of_a_dose() -> None:
    scene = Scene()
    scene.tick("surfactant")
    assert scene.sheet().stock == (), "nothing was made up"
    scene.tick("atropine")
    sheet = scene.sheet()
    *_, stock = write_labels_text(sheet).split("\n\n")[:3]
    assert stock.splitlines() == [
        "MADE-UP STOCK, NOT FOR GIVING AS IT IS",
        "DISCARD IT BEFORE THE COT",
        "Atropine 50 microgram/mL",
        "Made up: 1 mL of Atropine 600 microgram/mL + 11 mL sodium chloride 0.9 % = 12 mL of 50 microgram/mL",
        "Made up by: RA 25 Nov 03:00",
        "With: Cot 4",
    ]
    dose = next(label for label in sheet.labels if label.medicine == "Atropine")
    assert dose.amount not in stock
    assert "For: " not in stock
    html = write_labels_html(sheet)
    drawn = html[html.index('class="label stock"') :]
    assert 'class="amount"' not in drawn
    assert 'class="medicine"' not in drawn


@pytest.mark.parametrize("hostile", ['<script>alert("x")</script>', '"><img src=x onerror=y>', "&amp;{evil}"])
def test_whatever_is_typed_stays_text(hostile: str) -> None:
    words = dict.fromkeys((field.name for field in fields(SyringeLabel)), hostile)
    label = SyringeLabel(**words | {"not_for_injection": True, "practice": True})  # type: ignore[arg-type]
    page = Page(write_labels_html(LabelSheet(hostile, (label,), (hostile,))))
    assert not page.tags & {"script", "img"}
    assert page.attributes <= {"lang", "charset", "name", "content", "class", "style"}
    assert page.labels[0].count(hostile) == len(words) - 2


def test_a_label_with_many_words_is_set_smaller_and_keeps_them_all() -> None:
    scene = Scene(cot="Room 12 left cot 4 X")
    scene.tick("surfactant")
    (label,) = scene.sheet().labels
    assert 'class="label tight"' in write_labels_html(LabelSheet("", (label,), ()))
    assert 'class="label"' in write_labels_html(LabelSheet("", (replace(label, cot="Cot 4", air=""),), ()))
