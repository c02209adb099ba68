"""Sizes and settings by band against their sources, a gram and a day either side of every edge."""

import pytest
from trays import DEMO_TEXT, KIT, find_line, make_ward

# O'Shea 2016, Arch Dis Child Fetal Neonatal Ed 101:F294, status R: 35 mm under 29 weeks or 1000 g; 42 mm 27-33 weeks or
# 750-2500 g, by post-menstrual age; both where they overlap. Haase 2020, doi 10.1136/archdischild-2019-317531, R, gives no
# weight: of 34-36 weeks 42 mm fitted 72 %, at term 50 mm 61 %; both are laid out from 34 weeks.
MASKS = [
    (749, "33+6", "35 and 42 mm"),
    (749, "28+6", "35 and 42 mm"),
    (749, "26+6", "35 mm"),
    (750, "26+6", "35 and 42 mm"),
    (999, "33+6", "35 and 42 mm"),
    (1000, "33+6", "42 mm"),
    (1001, "33+6", "42 mm"),
    (2500, "33+6", "42 mm"),
    (2501, "33+6", "42 mm"),
    (1500, "28+6", "42 and 35 mm"),
    (1500, "29+0", "42 mm"),
    (600, "26+6", "35 mm"),
    (600, "27+0", "35 and 42 mm"),
    (1500, "34+0", "42 and 50 mm"),
    (2501, "34+0", "42 and 50 mm"),
    (3500, "40+0", "42 and 50 mm"),
]

# Registry of 7293 intubations, Pediatrics 2024, doi 10.1542/peds.2023-062925, status R, as it reads the textbook: 2.5 mm under
# 1000 g, 3.0 from 1000 g, 3.5 from 2000 g; half a size below did better at 1000-1199 g and 2000-2199 g, so it is laid out too,
# and at 2000 g both 3.0 and 3.5 mm are there. Neonatal Resuscitation textbook, 6th edition, R2: by gestation 28 and 34 weeks.
TUBES = [
    (999, "27+6", "2.5 mm"),
    (1000, "28+0", "3.0 mm + 2.5 mm"),
    (1199, "28+1", "3.0 mm + 2.5 mm"),
    (1999, "33+6", "3.0 mm + 2.5 mm"),
    (2000, "34+1", "3.5 mm + 3.0 mm"),
    (2199, "34+1", "3.5 mm + 3.0 mm"),
    (3001, "38+1", "3.5 mm + 3.0 mm"),
    # Weight and gestation apart: both sizes are laid out, and the one below the smaller.
    (999, "28+0", "2.5 and 3.0 mm"),
    (2000, "34+0", "3.5 and 3.0 mm + 2.5 mm"),
    (1999, "34+1", "3.0 and 3.5 mm + 2.5 mm"),
]

# Straight blade: 00 extremely preterm, 0 preterm, 1 term (clinical reference 8; common practice, no document named).
# Under 28 weeks is extremely preterm and under 37 preterm by the usual definitions.
BLADES = [("27+6", "size 00"), ("28+0", "size 0"), ("36+6", "size 0"), ("37+0", "size 1")]

# Suction catheter for each tube laid out: 2.5 mm 5-6 Fr, 3.0 mm 6-8, 3.5 mm 8. NRP 6th edition, R2; of two the smaller that
# serves the tube beside it too.
SUCTION = [
    (999, "27+6", "5 Fr"),
    (1500, "30+0", "5 and 6 Fr"),
    (2500, "36+0", "6 and 8 Fr"),
    (3500, "40+0", "6 and 8 Fr"),
]

# Paediatric size over 1 kg and under 15 kg: Garey 2008, doi 10.1542/peds.2007-2708, R. Neonatal size 0.25-6 kg: labels, from
# memory.
DETECTORS = [
    (999, "neonatal size"),
    (1000, "neonatal size"),
    (1001, "neonatal or paediatric size"),
    (6000, "neonatal or paediatric size"),
]

# Children's Hospital of Eastern Ontario 2021, 24 %, R: nil by mouth 0.2 mL; to 32 weeks up to 0.5 mL; 33-37 up to 1 mL; over
# 37 up to 2 mL. Least that works 0.1 mL: Stevens 2018, doi 10.1186/s12887-018-1026-x, R.
SUCROSE = [
    ("28+0", "yes", "0.2 mL"),
    ("40+0", "yes", "0.2 mL"),
    ("32+6", "no", "0.1\N{EN DASH}0.5 mL"),
    ("33+0", "no", "0.1\N{EN DASH}1 mL"),
    ("37+6", "no", "0.1\N{EN DASH}1 mL"),
    ("38+0", "no", "0.1\N{EN DASH}2 mL"),
]


@pytest.mark.parametrize(("weight", "gestation", "masks"), MASKS)
def test_masks_at_every_edge(weight: int, gestation: str, masks: str) -> None:
    assert find_line("face-mask", weight, gestation).show == masks


@pytest.mark.parametrize(("weight", "gestation", "tubes"), TUBES)
def test_tubes_at_every_edge(weight: int, gestation: str, tubes: str) -> None:
    assert find_line("tracheal-tube", weight, gestation).show == tubes


@pytest.mark.parametrize(("weight", "gestation", "tubes"), TUBES)
def test_where_weight_and_gestation_give_other_tubes_the_line_says_so(weight: int, gestation: str, tubes: str) -> None:
    cautions = find_line("tracheal-tube", weight, gestation).cautions
    assert any("The methods differ" in caution for caution in cautions) == (" and " in tubes)


@pytest.mark.parametrize(("gestation", "blade"), BLADES)
def test_blades_at_every_edge(gestation: str, blade: str) -> None:
    assert find_line("blade", 1500, gestation).show == blade


@pytest.mark.parametrize(("weight", "gestation", "catheter"), SUCTION)
def test_suction_follows_the_tube(weight: int, gestation: str, catheter: str) -> None:
    assert find_line("tube-suction", weight, gestation).show == catheter


def test_an_8_fr_catheter_fills_79_percent_of_a_3_mm_tube() -> None:
    # French gauge is a third of a mm (UCUM essence table 2.2: [Ch]), R.
    assert round((8 / 3 / 3.0) ** 2 * 100) == 79
    line = next(each for each in KIT.model.line if each.id == "tube-suction")
    assert "79 %" in " ".join(line.how)


@pytest.mark.parametrize(("weight", "detector"), DETECTORS)
def test_co2_detectors_at_every_edge(weight: int, detector: str) -> None:
    assert find_line("co2-detector", weight).show == detector


def test_a_detector_that_is_partly_from_memory_says_so() -> None:
    line = find_line("co2-detector", 1450)
    assert line.basis == "from memory"
    assert "from memory" in line.source
    assert "Garey" in line.source


@pytest.mark.parametrize(("gestation", "nil_by_mouth", "volume"), SUCROSE)
def test_sucrose_at_every_edge(gestation: str, nil_by_mouth: str, volume: str) -> None:
    assert find_line("sucrose", 1500, gestation, nil_by_mouth=nil_by_mouth).show == volume


@pytest.mark.parametrize(
    ("gestation", "pressure"),
    # 25 cmH2O under 32 weeks, to start with at birth: Resuscitation Council UK 2021, R. From 32 weeks the ward's own.
    [("31+6", "25 cmH2O"), ("32+0", "22 cmH2O"), ("32+1", "22 cmH2O")],
)
def test_inflation_pressure_at_32_weeks(gestation: str, pressure: str) -> None:
    own = make_ward(DEMO_TEXT.replace('value = "25 cmH2O"', 'value = "22 cmH2O"'))
    line = find_line("t-piece-pip", 1500, gestation, ward=own)
    assert line.show == pressure
    assert (line.basis == "local") == (gestation > "32")


@pytest.mark.parametrize(
    ("weight", "tube"),
    # A university unit's guideline of 2010, R: 5-6 Fr under 1000 g, 8 Fr over 1000 g. At 1000 g: the kit's own choice.
    [(999, "5 or 6 Fr"), (1000, "8 Fr"), (1001, "8 Fr")],
)
def test_gastric_tubes_at_1000_g(weight: int, tube: str) -> None:
    assert find_line("gastric-tube", weight).size == tube


@pytest.mark.parametrize(
    ("weight", "blocked"),
    # Size 1 is labelled 2-5 kg (common practice), size 1.5 5-10 kg (Miller's Anesthesia, 6th edition, R2).
    [(1999, True), (2000, False), (2001, False), (4999, False), (5000, False)],
)
def test_the_label_of_the_size_1_device_at_its_edges(weight: int, blocked: bool) -> None:
    line = find_line("airway-device", weight, "37+0", ward=None)
    assert bool(line.blocked) == blocked
    assert line.show == ("" if blocked else "size 1")


def test_past_5_kg_the_label_gives_the_next_size() -> None:
    assert find_line("airway-device", 5001, "40+0", ward=None).show == "size 1.5"


def test_targets_and_settings() -> None:
    # SpO2 91-95 %: NICE QS193, R. Heart rate from 100/min: common practice. Gas flow: the ward's own value.
    assert find_line("spo2-target", 1450).show == "91\N{EN DASH}95 %"
    assert find_line("heart-rate-floor", 1450).show == "100/min"
    flow = find_line("gas-flow", 1450)
    assert (flow.show, flow.basis) == ("9 L/min", "local")
    # Catheter through the port of a size 1 device 14-16 cm: common practice.
    depth = find_line("catheter-depth", 1450)
    assert (depth.show, depth.basis) == ("14\N{EN DASH}16 cm", "common practice")
    # Flush 0.5-1 mL: from memory.
    flush = find_line("flush", 1450)
    assert (flush.show, flush.basis) == ("0.5\N{EN DASH}1 mL", "from memory")
