"""Which baby: both weights, the gestation at birth, when it was born; what is typed, kept and worked out of it."""

from datetime import date, datetime, timedelta, timezone
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st
from kit_files import take_kit

from prepkit.app.clock import fix_offset
from prepkit.kit.axes import Axis
from prepkit.kit.baby import Age, Baby, compute_age, list_needed, make_baby
from prepkit.kit.facts import Birth, FactValue, Weighed, read_fact, show_fact, write_fact
from prepkit.kit.problems import NotGiven, Problem
from prepkit.quantities.gestation import Gestation

KIT = take_kit().model
ZONE = timezone(timedelta(hours=1))
NOW = datetime(2026, 11, 28, 9, 30, 40, tzinfo=ZONE)
TODAY = NOW.date()
LONDON = ZoneInfo("Europe/London")
NEEDED = {"birth_weight": "1450", "birth_gestation": "30+2"}


def read(name: str, typed: str, now: datetime = NOW) -> tuple[str, FactValue]:
    found = read_fact(KIT, name, typed, now)
    assert not isinstance(found, Problem), found.words()
    return found


def refuse(name: str, typed: str) -> str:
    found = read_fact(KIT, name, typed, NOW)
    assert isinstance(found, Problem), found
    return found.words()


def make(given: dict[str, str], now: datetime = NOW, *, kept: bool = False) -> Baby:
    baby, problems = make_baby(KIT, given, now, kept=kept)
    assert baby is not None, problems
    return baby


def fail(given: dict[str, str], now: datetime = NOW) -> tuple[Problem, ...]:
    baby, problems = make_baby(KIT, given, now)
    assert baby is None
    return problems


AT = datetime(2026, 11, 25, 2, 10, tzinfo=ZONE)


@pytest.mark.parametrize(
    ("typed", "text", "value"),
    [
        ("today", "2026-11-28", Birth(TODAY)),
        (" Today ", "2026-11-28", Birth(TODAY)),
        ("yesterday", "2026-11-27", Birth(date(2026, 11, 27))),
        ("2026-11-28", "2026-11-28", Birth(TODAY)),
        ("2026-11-25", "2026-11-25", Birth(date(2026, 11, 25))),
        ("2026-09-29", "2026-09-29", Birth(date(2026, 9, 29))),  # 60 days
        ("2026-11-25 02:10", "2026-11-25T02:10+01:00", Birth(AT.date(), AT)),
        ("2026-11-25T02:10+01:00", "2026-11-25T02:10+01:00", Birth(AT.date(), AT)),
        ("09:30", "2026-11-28T09:30+01:00", Birth(TODAY, NOW.replace(second=0))),
    ],
)
def test_a_birth_is_a_day_or_a_day_and_a_time(typed: str, text: str, value: Birth) -> None:
    assert read("born", typed) == (text, value)
    assert write_fact(value) == text


@pytest.mark.parametrize(
    ("typed", "wrong"),
    [
        ("tomorrow", '"tomorrow" is not a day'),
        ("", '"" is not a day'),
        ("25.11.2026", "is not a day"),
        ("20261125", "is not a day"),
        ("2026-W48-3", "is not a day"),
        ("2026-02-29", "is not a day"),
        ("2026-11-29", "2026-11-29 has not been yet by this clock (2026-11-28)"),
        ("2027-11-25", "has not been yet"),
        ("2026-09-28", "2026-09-28 is more than 60 days ago"),
        ("2025-11-25", "more than 60 days ago"),
        ("09:31", "has not been yet by this clock (09:30)"),
        ("2026-11-28 09:31", "has not been yet"),
        ("25:00", "is not a time"),
        ("not known", "is not a day"),
    ],
)
def test_a_birth_ahead_long_ago_or_unreadable_is_refused(typed: str, wrong: str) -> None:
    words = refuse("born", typed)
    assert words.startswith("Born: ")
    assert wrong in words


@pytest.mark.parametrize(
    ("typed", "text"),
    [
        ("1310", "1310 on 2026-11-28"),
        (" 01310 ", "1310 on 2026-11-28"),
        ("1310 on today", "1310 on 2026-11-28"),
        ("1310 on yesterday", "1310 on 2026-11-27"),
        ("1310 on 2026-11-27", "1310 on 2026-11-27"),
    ],
)
def test_a_weight_now_has_its_day(typed: str, text: str) -> None:
    found, value = read("weight_now", typed)
    assert found == text
    assert isinstance(value, Weighed)
    assert (value.grams, str(value.on)) == (1310, text[-10:])
    assert show_fact(value) == f"1310 g on {value.on:%d} Nov"


@pytest.mark.parametrize(
    ("typed", "wrong"),
    [
        ("299", "is outside 300\N{EN DASH}6000 g"),
        ("1.31", "is not whole grams"),
        ("1310 g on today", "is not whole grams"),
        ("1310 on 2026-11-29", "has not been yet"),
        ("1310 on 2026-09-28", "more than 60 days ago"),
        ("1310 on Friday", "is not a day"),
        ("on 2026-11-27", "is not whole grams"),
        ("not known", "is not whole grams"),
        ("not weighed", "is not whole grams"),
    ],
)
def test_what_is_no_weight_of_a_day_is_refused(typed: str, wrong: str) -> None:
    words = refuse("weight_now", typed)
    assert words.startswith("Weight now: ")
    assert wrong in words


@pytest.mark.parametrize(
    ("name", "word"),
    [("birth_weight", "not known"), ("birth_gestation", "not known"), ("weight_now", "not weighed since")],
)
def test_that_nobody_can_say_is_an_answer_of_its_own(name: str, word: str) -> None:
    assert read(name, word) == read(name, f" {word.upper()} ") == (word, word)
    assert refuse(name, word.replace(" ", ""))
    others = {"birth_weight", "birth_gestation", "weight_now", "born"} - {name}
    for other in others:
        if not (word == "not known" and other.startswith("birth")):
            assert refuse(other, word)


DAYS = st.integers(0, 60).map(lambda ago: TODAY - timedelta(days=ago))
MINUTES = st.integers(0, 60 * 24 * 60 - 1).map(lambda ago: NOW.replace(second=0) - timedelta(minutes=ago))
GRAMS = st.integers(300, 6000)
VALUES = st.one_of(
    st.tuples(st.just("born"), DAYS.map(Birth)),
    st.tuples(st.just("born"), MINUTES.map(lambda at: Birth(at.date(), at))),
    st.tuples(st.just("weight_now"), st.builds(Weighed, GRAMS, DAYS)),
    st.tuples(st.just("birth_gestation"), st.integers(154, 314).map(Gestation)),
    st.tuples(st.just("birth_gestation"), st.just("not known")),
    st.tuples(st.just("birth_weight"), st.just("not known")),
    st.tuples(st.just("weight_now"), st.just("not weighed since")),
)


@given(VALUES)
def test_what_is_written_of_a_fact_is_read_back_as_it_was(fact: tuple[str, FactValue]) -> None:
    name, value = fact
    assert read(name, write_fact(value)) == (write_fact(value), value)


@given(VALUES, st.integers(-40, 400))
def test_what_a_record_keeps_is_read_back_whatever_the_clock_says(fact: tuple[str, FactValue], later: int) -> None:
    name, value = fact
    given = {**NEEDED, "weight_now": "1310 on 2026-11-28", "born": "2026-09-20", name: write_fact(value)}
    if name == "born" and isinstance(value, Birth):
        given["weight_now"] = f"1310 on {value.day}"
    baby = make(given, NOW + timedelta(days=later), kept=True)
    if isinstance(value, Birth):
        assert baby.born == value
    if isinstance(value, Weighed):
        assert (baby.size.weight_now_g, baby.weighed) == (value.grams, value.on)


def test_a_clock_set_back_makes_no_kept_fact_a_problem_and_no_age_negative() -> None:
    given = {**NEEDED, "born": "2026-11-28T09:00+01:00", "weight_now": "1400 on 2026-11-28"}
    before = NOW - timedelta(days=1)
    assert {problem.where for problem in fail(given, before)} == {"Born", "Weight now"}
    baby = make(given, before, kept=True)
    assert baby.age == Age(0, 0)
    assert baby.size.gestation_today == Gestation(212)


@pytest.mark.parametrize(
    "given", [{"born": "yesterday"}, {"born": "2026-11-31"}, {"weight_now": "1310"}, {"weight_now": "1310 on x"}]
)
def test_what_no_record_holds_is_read_as_typed_even_where_it_is_said_to_be_kept(given: dict[str, str]) -> None:
    typed, kept = (make_baby(KIT, NEEDED | given, NOW, kept=kept) for kept in (False, True))
    assert typed == kept


@pytest.mark.parametrize(
    ("given", "needed"),
    [
        ({}, ("birth_weight", "birth_gestation")),
        ({"birth_weight": "1450"}, ("birth_gestation",)),
        ({"birth_gestation": "not known"}, ("birth_weight",)),
        (NEEDED, ()),
        (NEEDED | {"birth_weight": "not known"}, ("weight_now",)),
        (NEEDED | {"birth_weight": "not known", "weight_now": "not weighed since"}, ("weight_now",)),
        (NEEDED | {"birth_weight": "not known", "weight_now": "1310 on 2026-11-28"}, ()),
        ({"birth_weight": "not known"}, ("weight_now", "birth_gestation")),
    ],
)
def test_a_list_needs_a_weight_and_the_gestation_or_that_it_is_not_known(
    given: dict[str, str], needed: tuple[str, ...]
) -> None:
    assert list_needed(given) == needed
    if needed:
        problems = fail(given)
        assert all(isinstance(problem, NotGiven) for problem in problems)
        assert len(problems) == len(needed)
    else:
        assert make(given)


def test_a_weight_of_before_the_birth_is_a_slip_of_one_of_the_days() -> None:
    given = {**NEEDED, "born": "2026-11-27", "weight_now": "1400 on 2026-11-26"}
    assert [problem.words() for problem in fail(given)] == [
        "Weight now: 1400 g on 26 Nov is before the day of birth, 27 Nov 2026\n    hint: look at both days"
    ]
    # Born today is assumed of a baby of whom nobody said so: a weight of yesterday speaks against it.
    assert fail({**NEEDED, "weight_now": "1400 on yesterday"})
    assert make(given | {"weight_now": "1400 on 2026-11-27"}).weighed == date(2026, 11, 27)


def test_nobody_said_when_it_was_born_so_that_it_stands_as_today() -> None:
    baby = make(NEEDED)
    assert baby.is_birth_assumed
    assert "born" in baby.assumed
    assert (baby.born, baby.age) == (Birth(TODAY), Age(0, 9 * 60 + 30))
    assert (baby.size.birth_weight_g, baby.size.weight_now_g, baby.weighed) == (1450, 1450, None)
    assert not make({**NEEDED, "born": "today"}).is_birth_assumed


@pytest.mark.parametrize(
    ("born", "is_wanted"),
    [
        ("today", False),
        # Yesterday may be 33 h ago; at 09:30:40 a birth at 09:30 yesterday is 24 h old to the minute, and not over.
        ("yesterday", True),
        ("2026-11-27 09:30", False),
        ("2026-11-27 09:29", True),
        ("2026-11-20", True),
    ],
)
def test_over_24_h_the_weight_now_is_wanted(born: str, *, is_wanted: bool) -> None:
    baby = make({**NEEDED, "born": born})
    assert baby.is_weight_wanted == is_wanted
    assert baby.size.weight_now_g == (None if is_wanted else 1450)
    assert baby.measures[Axis.BIRTH_WEIGHT] == 1450
    assert baby.measures[Axis.WEIGHT_NOW] == baby.measures[Axis.GREATER_WEIGHT] == (None if is_wanted else 1450)
    weighed = make({**NEEDED, "born": born, "weight_now": "1310"})
    assert [weighed.measures[axis] for axis in list(Axis)[:3]] == [1450, 1310, 1450]
    heavier = make({**NEEDED, "born": born, "weight_now": "1500"})
    assert [heavier.measures[axis] for axis in list(Axis)[:3]] == [1450, 1500, 1500]
    last = make({**NEEDED, "born": born, "weight_now": "not weighed since"})
    assert (last.size.weight_now_g, last.weighed, last.is_weight_wanted) == (1450, None, False)


def test_a_weight_that_is_wanted_cannot_be_taken() -> None:
    baby = make({**NEEDED, "born": "yesterday"})
    assert baby.get_weight(Axis.BIRTH_WEIGHT) == 1450
    with pytest.raises(ValueError, match="weight_now is not known yet"):
        baby.get_weight(Axis.WEIGHT_NOW)
    assert baby.find_missing([Axis.BIRTH_WEIGHT, Axis.AGE]) is None
    assert baby.find_missing([Axis.BIRTH_WEIGHT, Axis.GREATER_WEIGHT]) is Axis.GREATER_WEIGHT


def test_where_the_birth_weight_is_not_known_the_weight_now_stands_for_it() -> None:
    baby = make({**NEEDED, "birth_weight": "not known", "weight_now": "1310"})
    assert (baby.size.birth_weight_g, baby.size.weight_now_g) == (None, 1310)
    assert [baby.measures[axis] for axis in list(Axis)[:3]] == [1310, 1310, 1310]
    assert baby.find_used(Axis.BIRTH_WEIGHT) is Axis.WEIGHT_NOW
    known = make(NEEDED)
    assert [known.find_used(axis) for axis in Axis] == list(Axis)


def test_where_the_gestation_is_not_known_todays_is_not_either() -> None:
    baby = make({**NEEDED, "birth_gestation": "not known", "born": "2026-11-20", "weight_now": "1310"})
    assert (baby.size.birth_gestation, baby.size.gestation_today) == (None, None)
    assert baby.measures[Axis.BIRTH_GESTATION] is baby.measures[Axis.GESTATION_TODAY] is None


@given(st.integers(154, 314), st.integers(0, 60), st.times())
def test_todays_gestation_is_that_at_birth_and_the_calendar_days_since(days: int, ago: int, at: object) -> None:
    now = datetime.combine(TODAY, at, ZONE)  # type: ignore[arg-type]
    born = TODAY - timedelta(days=ago)
    given = {**NEEDED, "birth_gestation": str(Gestation(days)), "born": str(born), "weight_now": f"1310 on {born}"}
    size = make(given, now).size
    assert size.birth_gestation == Gestation(days)
    assert size.gestation_today == Gestation(days + ago)


def test_a_baby_born_a_minute_before_midnight_is_a_day_further_at_midnight() -> None:
    midnight = datetime(2026, 11, 28, 0, 0, tzinfo=ZONE)
    baby = make({**NEEDED, "born": "2026-11-27 23:59"}, midnight)
    assert (baby.age, baby.size.gestation_today) == (Age(1, 1), Gestation(213))


# Europe/London: clocks go forward at 01:00 on 29 March 2026 and back at 02:00 on 25 October 2026. A record holds the
# offset of a moment and no zone: a day alone is of that offset, an hour out where the clocks changed since.
@pytest.mark.parametrize(
    ("day", "now", "least_h", "most_h"),
    [
        ("2026-03-28", datetime(2026, 3, 29, 0, 0, tzinfo=LONDON), 0, 24),
        ("2026-03-28", datetime(2026, 3, 29, 12, 0, tzinfo=LONDON), 12, 36),
        ("2026-03-29", datetime(2026, 3, 29, 12, 0, tzinfo=LONDON), 0, 12),
        ("2026-03-29", datetime(2026, 3, 30, 12, 0, tzinfo=LONDON), 12, 36),
        ("2026-10-24", datetime(2026, 10, 25, 12, 0, tzinfo=LONDON), 12, 36),
        ("2026-10-25", datetime(2026, 10, 25, 12, 0, tzinfo=LONDON), 0, 12),
        ("2026-10-25", datetime(2026, 10, 26, 12, 0, tzinfo=LONDON), 12, 36),
        ("2026-11-25", datetime(2026, 11, 28, 12, 0, tzinfo=LONDON), 60, 84),
    ],
)
def test_a_day_without_a_time_is_all_of_it_at_the_offset_of_the_moment_live_and_recorded(
    day: str, now: datetime, least_h: int, most_h: int
) -> None:
    age = compute_age(Birth(date.fromisoformat(day)), now)
    assert age == Age(least_h * 60, most_h * 60)
    assert age.most_h == most_h
    assert compute_age(Birth(date.fromisoformat(day)), fix_offset(now)) == age


@pytest.mark.parametrize(
    ("born", "minutes"),
    [
        ("2026-10-25T00:30+01:00", 12 * 60 + 30),
        ("2026-10-25T01:30+01:00", 11 * 60 + 30),
        ("2026-10-25T01:30+00:00", 10 * 60 + 30),
    ],
)
def test_an_age_is_counted_across_the_night_when_the_clocks_change(born: str, minutes: int) -> None:
    at = datetime.fromisoformat(born)
    now = datetime(2026, 10, 25, 12, 0, tzinfo=LONDON)
    assert compute_age(Birth(at.date(), at), now) == Age(minutes, minutes)


@given(MINUTES, st.integers(0, 10_000))
def test_a_birth_without_its_time_has_the_age_with_it_among_its_own(at: datetime, later: int) -> None:
    now = NOW + timedelta(minutes=later)
    exact, whole = compute_age(Birth(at.date(), at), now), compute_age(Birth(at.date()), now)
    assert exact.least_min == exact.most_min
    assert whole.least_min <= exact.least_min <= whole.most_min
    assert whole.most_min - whole.least_min <= 24 * 60


def test_a_birth_is_shown_as_a_reader_expects_it() -> None:
    assert show_fact(Birth(TODAY)) == "28 Nov 2026"
    assert show_fact(Birth(TODAY, NOW)) == "28 Nov 2026 09:30"
