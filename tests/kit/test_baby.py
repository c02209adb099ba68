"""The facts about a baby: what may be typed, what is kept of it, and what is refused with what was expected."""

from datetime import UTC, datetime, timedelta, timezone
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st
from kit_files import KIT_TEXT, take_kit

from prepkit.kit.baby import Baby, BabySize, make_baby
from prepkit.kit.facts import LEAST_WEIGHT_G, MOST_WEIGHT_G, FactValue, read_fact, show_fact, write_fact
from prepkit.kit.names import CORE_LABELS
from prepkit.kit.problems import Problem
from prepkit.quantities.amount import make_amount
from prepkit.quantities.gestation import Gestation
from prepkit.quantities.text import read_amount

BEFORE = '[[fact]]\nid = "earlier_surfactant"\n'
MOMENT = '[[fact]]\nkind = "moment"\nid = "fed_at"\nlabel = "Last feed at"\nask = "When was the last feed?"\n\n'
"""A fact that is a moment: no shipped kit asks for one, a hospital's own may."""
KIT = take_kit(KIT_TEXT.replace(BEFORE, MOMENT + BEFORE)).model
ZONE = timezone(timedelta(hours=1))
NOW = datetime(2026, 11, 25, 3, 0, 30, tzinfo=ZONE)
LONDON = ZoneInfo("Europe/London")
CLOCK = "fed_at"


def read(name: str, typed: str, now: datetime = NOW) -> tuple[str, FactValue]:
    found = read_fact(KIT, name, typed, now)
    assert not isinstance(found, Problem), found.words()
    return found


def refuse(name: str, typed: str, now: datetime = NOW) -> str:
    found = read_fact(KIT, name, typed, now)
    assert isinstance(found, Problem), found
    return found.words()


@pytest.mark.parametrize(
    ("typed", "grams"),
    [("1450", 1450), (" 1450", 1450), ("1450 ", 1450), ("01450", 1450), ("300", 300), ("6000", 6000)],
)
def test_a_weight_is_whole_grams(typed: str, grams: int) -> None:
    assert read("birth_weight", typed) == (str(grams), make_amount(grams, "g"))


@pytest.mark.parametrize(
    "typed",
    [
        "1.45",
        "1,45",
        "1450g",
        "1450 g",
        "1450.0",
        "1,450",
        "1 450",
        "-1450",
        "+1450",
        "1e3",
        "0x5aa",
        "1.45 kg",
        "",
        " ",
        "abc",
        "\uff11\uff14\uff15\uff10",
        "\u0661\u0664\u0665\u0660",
        "145\u00b2",
        "1450\n1450",
        "1_450",
    ],
)
def test_what_is_not_whole_grams_is_refused_quoting_what_was_typed(typed: str) -> None:
    words = refuse("birth_weight", typed)
    assert f'Birth weight: "{typed.strip()}" is not whole grams'.splitlines()[0].split("1450\n")[0] in words.replace(
        "\N{REPLACEMENT CHARACTER}", "\n"
    )
    assert 'digits only: a baby of 1.2 kg is "1200"' in words


@pytest.mark.parametrize("typed", ["0", "299", "6001", "14500", "9" * 30, "1" * 100_000])
def test_a_weight_outside_300_to_6000_g_is_refused(typed: str) -> None:
    words = refuse("birth_weight", typed)
    assert "is outside 300\N{EN DASH}6000 g" in words
    assert "read the weight again" in words
    assert len(words) < 150


def test_the_ends_of_the_weights_are_those_of_the_issue() -> None:
    assert (LEAST_WEIGHT_G, MOST_WEIGHT_G) == (300, 6000)


@pytest.mark.parametrize(("typed", "days"), [("30+2", 212), (" 30+2 ", 212), ("22+0", 154), ("44+6", 314)])
def test_a_gestation_is_weeks_plus_days(typed: str, days: int) -> None:
    assert read("birth_gestation", typed) == (typed.strip(), Gestation(days))


@pytest.mark.parametrize("typed", ["", "30", "30+7", "30.2", "30,2", "30 + 2", "+2", "30-2", "\uff13\uff10+2"])
def test_what_is_not_a_gestation_is_refused(typed: str) -> None:
    assert f'Gestation at birth: "{typed}" is not a gestation: write weeks, plus, days' in refuse(
        "birth_gestation", typed
    )


@pytest.mark.parametrize("typed", ["21+6", "45+0", "00+0", "99+6"])
def test_a_gestation_outside_22_to_44_weeks_is_refused(typed: str) -> None:
    assert f"{int(typed[:2])}+{typed[3]} is outside 22+0 to 44+6" in refuse("birth_gestation", typed)


@pytest.mark.parametrize("typed", ["7", "7 cmH2O", " 7 ", "7.0"])
def test_a_number_takes_the_unit_of_its_fact(typed: str) -> None:
    assert read("cpap", typed) == ("7 cmH2O", make_amount(7, "cmH2O"))


@pytest.mark.parametrize(
    ("name", "typed", "wrong"),
    [
        ("cpap", "7 mg", '"7 mg" is a mass, where a pressure is due'),
        ("cpap", "7cmH2O", 'has "cmH2O" after the number'),
        ("cpap", "7 cmh2o", 'did you mean "cmH2O"?'),
        ("cpap", "6,5", "has a comma: write a decimal point"),
        ("cpap", "", '"" is empty'),
        ("cpap", "-7", "has a sign"),
        ("cpap", "2.9", "2.9 cmH2O is outside 3\N{EN DASH}12 cmH2O"),
        ("cpap", "12.1", "12.1 cmH2O is outside"),
        ("cpap", "nan", "does not begin with a number"),
        ("cpap", "7.1234567", "has more than 6 decimals"),
        ("fio2", "0.35", "0.35 % is outside 21\N{EN DASH}100 %"),
        ("fio2", "101", "is outside 21\N{EN DASH}100 %"),
        ("earlier_surfactant", "200 mg", '"200 mg" is not a dose'),
        ("earlier_surfactant", "poractant, 200 mg, 01:00", 'no product "poractant" is known'),
        ("earlier_surfactant", "poractant-alfa, 200 g/L, 01:00", '"200 g/L" has an unknown unit'),
        ("earlier_surfactant", "poractant-alfa, 2 cm, 01:00", '"2 cm" is not a dose'),
        ("earlier_surfactant", "poractant-alfa, 0 mg, 01:00", '"0 mg" is not a dose'),
        ("earlier_surfactant", "poractant-alfa, 200 mg, 04:00", "has not been yet"),
        (
            "earlier_surfactant",
            "; ".join(["not known, not known, not known"] * 13),
            "13 doses are more than any course has",
        ),
    ],
)
def test_an_amount_that_is_not_the_facts_is_refused_with_what_was_expected(name: str, typed: str, wrong: str) -> None:
    words = refuse(name, typed)
    assert words.startswith(next(fact.label for fact in KIT.fact if fact.id == name))
    assert wrong in words


def test_an_amount_keeps_the_unit_it_was_typed_in() -> None:
    assert read("cpap", "7.0 cmH2O")[0] == "7 cmH2O"
    for amount in ("200000 microgram/kg", "200 mg/kg", "250 mg", "3.2 mL"):
        text = f"poractant-alfa, {amount}, 2026-11-24T08:00+01:00"
        assert read("earlier_surfactant", text)[0] == text


@pytest.mark.parametrize(("typed", "word"), [("yes", "yes"), ("No", "no"), (" YES ", "yes")])
def test_a_choice_is_one_of_its_words(typed: str, word: str) -> None:
    assert read("gastric_tube", typed) == (word, word)


@pytest.mark.parametrize("typed", ["", "y", "true", "1", "unsure", "yes no"])
def test_another_word_is_refused_with_the_words_that_serve(typed: str) -> None:
    assert f'Gastric tube in place: "{typed}" is not one of yes, no' in refuse("gastric_tube", typed)
    assert "is not one of boy, girl, unknown" in refuse("sex", typed)


@pytest.mark.parametrize(
    ("typed", "text"),
    [
        ("02:10", "2026-11-25T02:10+01:00"),  # earlier today
        ("03:00", "2026-11-25T03:00+01:00"),  # this minute
        ("00:00", "2026-11-25T00:00+01:00"),
        ("2026-11-24 22:05", "2026-11-24T22:05+01:00"),
        ("2026-11-24T22:05", "2026-11-24T22:05+01:00"),
        ("2026-11-25T02:10+02:00", "2026-11-25T02:10+02:00"),
    ],
)
def test_a_clock_time_is_todays_and_always_has_its_offset(typed: str, text: str) -> None:
    found, value = read(CLOCK, typed)
    assert found == text
    assert isinstance(value, datetime)
    assert value.tzinfo is not None
    assert value <= NOW


@pytest.mark.parametrize("typed", ["2025-11-25 02:50", "2026-09-26 02:59"])
def test_a_moment_older_than_any_newborns_dose_is_a_slip_of_the_day_or_the_year(typed: str) -> None:
    assert "more than 60 days ago" in refuse(CLOCK, typed)


# A clock time ahead is never taken for yesterday's: a clock two minutes slow would turn "just now" into a day ago.
@pytest.mark.parametrize("typed", ["03:01", "23:59", "2026-11-25 03:01", "2027-01-01 00:00", "2026-11-25T02:30-01:00"])
def test_a_moment_that_has_not_been_yet_is_refused(typed: str) -> None:
    assert "has not been yet" in refuse(CLOCK, typed)


# Europe/London: clocks go back at 02:00 on 25 October 2026 and forward at 01:00 on 29 March 2026.
AUTUMN = datetime(2026, 10, 25, 9, 0, tzinfo=LONDON)
SPRING = datetime(2026, 3, 29, 9, 0, tzinfo=LONDON)


@pytest.mark.parametrize(
    ("now", "typed", "kept"),
    [
        (AUTUMN, "2026-10-24 20:00", "2026-10-24T20:00+01:00"),  # not today's offset
        (AUTUMN, "2026-10-25 00:59", "2026-10-25T00:59+01:00"),
        (AUTUMN, "2026-10-25 02:00", "2026-10-25T02:00+00:00"),
        (AUTUMN, "2026-10-25 01:30+01:00", "2026-10-25T01:30+01:00"),
        (AUTUMN, "2026-10-25 01:30+00:00", "2026-10-25T01:30+00:00"),
        (AUTUMN, "00:59", "2026-10-25T00:59+01:00"),
        (AUTUMN, "02:00", "2026-10-25T02:00+00:00"),
        (SPRING, "2026-03-28 20:00", "2026-03-28T20:00+00:00"),
        (SPRING, "00:59", "2026-03-29T00:59+00:00"),
        (SPRING, "02:00", "2026-03-29T02:00+01:00"),
    ],
)
def test_a_local_time_has_the_offset_of_its_own_day(now: datetime, typed: str, kept: str) -> None:
    text, value = read(CLOCK, typed, now)
    assert text == kept
    assert value == datetime.fromisoformat(kept)
    assert read(CLOCK, text, NOW.replace(month=now.month + 1)) == (text, value)


@pytest.mark.parametrize("typed", ["01:00", "01:30", "01:59", "2026-10-25 01:30"])
def test_a_local_time_that_was_twice_is_refused_with_both_readings(typed: str) -> None:
    said, at = refuse(CLOCK, typed, AUTUMN), typed[-5:]
    assert f"25 Oct {at} was twice, as the clocks went back" in said
    assert f'write which was meant: "2026-10-25 {at}+01:00" or "2026-10-25 {at}+00:00"' in said


@pytest.mark.parametrize(("typed", "early", "late"), [("01:00", "00:00", "02:00"), ("01:59", "00:59", "02:59")])
def test_a_local_time_that_was_never_is_refused_with_both_readings(typed: str, early: str, late: str) -> None:
    said = refuse(CLOCK, f"2026-03-29 {typed}", SPRING)
    assert f"29 Mar {typed} was never, as the clocks went forward" in said
    readings = [f"2026-03-29 {early}+00:00", f"2026-03-29 {late}+01:00"]
    assert f'write which was meant: "{readings[0]}" or "{readings[1]}"' in said
    for reading in readings:
        assert read(CLOCK, reading, SPRING)[0] == reading.replace(" ", "T")


def test_the_hour_that_comes_twice_is_told_apart_from_a_future_one() -> None:
    now = datetime(2026, 10, 25, 1, 10, tzinfo=LONDON, fold=1)
    assert read(CLOCK, "2026-10-25 01:50+01:00", now)[1] < now.astimezone(UTC)
    assert "has not been yet by this clock" in refuse(CLOCK, "2026-10-25 01:50+00:00", now)


def test_a_kept_moment_is_not_held_against_a_clock_that_was_set_back() -> None:
    given = {"birth_weight": "1450", "birth_gestation": "30+2", CLOCK: "2026-11-25T03:30+01:00"}
    assert make_baby(KIT, given, NOW)[0] is None
    baby, problems = make_baby(KIT, given, NOW, kept=True)
    assert problems == ()
    assert baby is not None
    assert baby.facts[CLOCK] == datetime(2026, 11, 25, 3, 30, tzinfo=ZONE)
    assert make_baby(KIT, given, NOW + timedelta(days=400), kept=True)[0] is not None
    assert make_baby(KIT, given | {CLOCK: "yesterday"}, NOW, kept=True)[0] is None


@pytest.mark.parametrize(
    "typed",
    [
        "",
        "2:10",
        "02.10",
        "0210",
        "24:00",
        "02:60",
        "02:10:00",
        "yesterday",
        "2026-11-25",
        "20261125",
        "2026-W48-3",
        "25/11/2026 02:10",
        "2026-11-25x02:10",
        "2026-13-01 02:10",
        "2026-02-29 02:10",
        "0000-01-01 00:00",
        "\uff10\uff12:10",
        "2026-11-25 02:10Z",
        "2026-11-25 02:10+25:00",
    ],
)
def test_what_is_not_a_time_is_refused_with_how_to_write_one(typed: str) -> None:
    assert f'Last feed at: "{typed}" is not a time' in refuse(CLOCK, typed)
    assert 'write a clock time ("02:10"), or a day and a time ("2026-11-25 02:10")' in refuse(CLOCK, typed)


@pytest.mark.parametrize(
    ("name", "close"),
    [
        ("cpp", "cpap"),
        ("fi02", "fio2"),
        ("Weight_now", "weight_now"),
        ("gastric-tube", "gastric_tube"),
        ("malformations", "malformation"),
    ],
)
def test_an_unknown_name_suggests_the_closest(name: str, close: str) -> None:
    assert f'"{name}": is not a fact or a question of this kit\n    hint: did you mean "{close}"?' in refuse(name, "1")


def test_an_unknown_name_like_none_is_told_all_names() -> None:
    assert "known: birth_weight, birth_gestation, born, weight_now, sex, cpap" in refuse("zzzzzz", "1")


DOSES = st.tuples(
    st.sampled_from(["poractant-alfa", "beractant", "not known"]),
    st.one_of(
        st.just("not known"),
        st.decimals(0, 500, places=2).map(lambda dose: f"{dose} mg/kg"),
        st.integers(0, 500_000).map(lambda dose: f"{dose} microgram/kg"),
        st.decimals(0, 9, places=1).map(lambda volume: f"{volume} mL"),
    ),
    st.just("not known") | st.times().map(lambda time: f"{time:%H:%M}"),
).map(", ".join)
FACTS = st.one_of(
    st.tuples(st.just("birth_weight"), st.integers(250, 6100).map(str)),
    st.tuples(st.just("birth_gestation"), st.integers(150, 320).map(lambda days: f"{days // 7}+{days % 7}")),
    st.tuples(st.just("sex"), st.sampled_from(["boy", "girl", "unknown"])),
    st.tuples(st.just("cpap"), st.decimals(2, 13, places=3).map(str)),
    st.tuples(st.just("fio2"), st.decimals(20, 101, places=6).map(str)),
    st.tuples(st.just("earlier_surfactant"), st.lists(DOSES, max_size=4).map("; ".join)),
    st.tuples(st.just("line_patent"), st.sampled_from(["yes", "no"])),
    st.tuples(st.just(CLOCK), st.times().map(lambda time: f"{time:%H:%M}")),
    st.tuples(
        st.just(CLOCK),
        st.integers(0, 36_000).map(lambda ago: f"{NOW - timedelta(minutes=ago):%Y-%m-%d %H:%M}"),
    ),
)


@given(FACTS)
def test_the_text_that_is_kept_reads_back_to_the_same_value_at_any_later_time(fact: tuple[str, str]) -> None:
    name, typed = fact
    found = read_fact(KIT, name, typed, NOW)
    if isinstance(found, Problem):
        return
    text, value = found
    assert write_fact(value) == text or name == "birth_weight"
    assert read(name, text) == found
    assert read(name, text, NOW + timedelta(days=3, hours=5)) == found
    elsewhere = (NOW + timedelta(days=1)).astimezone(timezone(timedelta(hours=-5)))
    assert read(name, text, elsewhere) == found


@given(st.sampled_from([*CORE_LABELS, *(fact.id for fact in KIT.fact), "zz"]), st.text(max_size=60))
def test_any_text_is_a_fact_or_is_refused_in_words(name: str, typed: str) -> None:
    found = read_fact(KIT, name, typed, NOW)
    if isinstance(found, Problem):
        assert found.wrong
        assert found.words().replace("\n", "").replace("\N{NARROW NO-BREAK SPACE}", "").isprintable()
    else:
        assert read(name, found[0]) == found


def make(given: dict[str, str]) -> Baby:
    baby, problems = make_baby(KIT, given, NOW)
    assert baby is not None, problems
    return baby


def test_facts_that_nobody_gave_stand_at_the_kits_default_and_are_named() -> None:
    baby = make({"birth_weight": "1450", "birth_gestation": "30+2", "line_patent": "yes"})
    gestation = Gestation(212)
    assert (baby.size, baby.sex) == (BabySize(1450, 1450, gestation, gestation), "unknown")
    assert baby.facts["cpap"] == read_amount("6 cmH2O")
    assert baby.facts["line_patent"] == "yes"
    assert baby.facts["fio2"] is None
    assert baby.facts[CLOCK] is None
    assert baby.assumed == ("born", "sex", "cpap", "gastric_tube", "nil_by_mouth", "earlier_surfactant")


def test_a_fact_given_as_its_default_is_not_assumed() -> None:
    baby = make({"birth_weight": "1450", "birth_gestation": "30+2", "cpap": "6", "sex": "unknown", "born": "today"})
    assert baby.assumed == ("gastric_tube", "line_patent", "nil_by_mouth", "earlier_surfactant")


def test_every_problem_of_the_facts_is_told_at_once() -> None:
    baby, problems = make_baby(KIT, {"birth_weight": "1.45", "cpap": "6,5", "zzzz": "1"}, NOW)
    assert baby is None
    assert [problem.where for problem in problems] == ["Birth weight", "CPAP now", '"zzzz"', "Gestation at birth"]
    assert problems[-1].wrong == "is needed for the list"


def test_doses_of_an_unknown_time_come_first_and_the_others_as_they_were_given() -> None:
    late, early, some = (
        "beractant, 4 mL, 02:10",
        "poractant-alfa, 250 mg, 2026-11-24 08:00",
        "not known, not known, not known",
    )
    text, value = read("earlier_surfactant", f"{late}; {early}; {some}")
    assert text.split("; ") == [
        some,
        "poractant-alfa, 250 mg, 2026-11-24T08:00+01:00",
        "beractant, 4 mL, 2026-11-25T02:10+01:00",
    ]
    assert show_fact(value) == (
        "product not known, amount not known, time not known; "
        "Poractant alfa, 250 mg, 24 Nov 08:00; Beractant, 4 mL, 25 Nov 02:10"
    )
    assert [dose.is_counted for dose in value.doses] == [False, True, True]  # type: ignore[union-attr]
    assert read("earlier_surfactant", " None ")[0] == read("earlier_surfactant", "0")[0] == "none"


def test_a_fact_is_shown_as_a_reader_expects_it() -> None:
    assert show_fact(read_amount("6 cmH2O")) == "6 cmH2O"
    assert show_fact(Gestation(212)) == "30+2"
    assert show_fact(datetime(2026, 11, 25, 2, 10, tzinfo=ZONE)) == "25 Nov 2026 02:10"
    assert show_fact("yes") == "yes"


def test_these_tests_use_the_shipped_kits_facts() -> None:
    assert KIT_TEXT.count("[[fact]]") == len(KIT.fact) - 1 == 8


# Who has a role


@pytest.mark.parametrize(
    ("role", "typed", "text"),
    [
        ("leads", "km, skilled", "KM, skilled"),
        ("leads", " KM ,  Skilled ", "KM, skilled"),
        ("leads", "lb, supervised by km", "LB, supervised by KM"),
        ("leads", "LB, Supervised by  KM", "LB, supervised by KM"),
        ("intubates", "KM, in the room", "KM, in the room"),
        ("intubates", "KM, theatre 2, second floor", "KM, theatre 2, second floor"),
    ],
)
def test_a_role_is_initials_and_what_is_said_with_them(role: str, typed: str, text: str) -> None:
    assert read_fact(KIT, role, typed, NOW) == (text, text)
    assert read_fact(KIT, role, text, NOW) == (text, text), "what the record holds reads back"


@pytest.mark.parametrize(
    ("role", "typed", "wrong"),
    [
        ("leads", "K, skilled", '"K" is not 2 to 4 letters'),
        ("leads", "KMABC, skilled", '"KMABC" is not 2 to 4 letters'),
        ("leads", "K1, skilled", '"K1" is not 2 to 4 letters'),
        ("leads", "", '"" is not 2 to 4 letters'),
        ("leads", "KM", '"" is not one of skilled, supervised by'),
        ("leads", "KM, able", '"able" is not one of skilled, supervised by'),
        ("leads", "KM, supervised by", '"" is not 2 to 4 letters'),
        ("leads", "KM, supervised by K", '"K" is not 2 to 4 letters'),
        ("leads", "KM, supervised by km", "KM stands twice"),
        ("intubates", "KM", '"" is not one of in the room, on the unit, on call elsewhere'),
        ("intubates", "KM, \x1b[2J", "is not one of in the room"),
        ("intubates", f"KM, {'x' * 41}", "is not one of in the room"),
    ],
)
def test_a_role_without_a_person_or_what_is_said_with_it_is_refused(role: str, typed: str, wrong: str) -> None:
    found = read_fact(KIT, role, typed, NOW)
    assert isinstance(found, Problem)
    assert wrong in found.wrong
    assert found.wrong.isprintable()
