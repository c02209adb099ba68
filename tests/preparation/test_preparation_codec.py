"""Payloads to canonical JSON and back, and what a hostile record does."""

import json
import math
import re
from datetime import UTC, datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec import to_builtins
from msgspec.structs import asdict, fields
from preparation_samples import LIST, STARTED, order_of

from prepkit.attribution import Attribution
from prepkit.canonical import compute_fingerprint, write_canonical
from prepkit.preparation.baby.events import ANSWERS, Answer, FactGiven
from prepkit.preparation.batches.events import InHand
from prepkit.preparation.codec import MAX_BODY, RecordUnreadable, encode_payload, read_payload
from prepkit.preparation.events import PAYLOADS, Payload, StoodDown
from prepkit.preparation.lines.events import LISTING_REASONS, LineSnapshot, Listed, Ordered, Ticked, ValueEntered

TEXTS = st.text(st.characters(exclude_categories=["Cs"]), max_size=12)
NAMES = TEXTS.filter(bool)
DAYS = st.dates().map(lambda day: day.isoformat())
LINES = st.builds(LineSnapshot, NAMES, TEXTS, TEXTS, TEXTS, NAMES, TEXTS, st.booleans(), TEXTS, TEXTS)
LISTS = st.builds(
    Listed,
    st.sampled_from(LISTING_REASONS),
    st.lists(LINES, min_size=1, max_size=4, unique_by=lambda each: each.id).map(tuple),
    st.just(""),
    st.just(""),
) | st.builds(
    Listed, st.sampled_from(LISTING_REASONS), st.just(()), NAMES, st.sampled_from(["facts", "dispute", "weight"])
)
MOMENTS = st.datetimes(timezones=st.just(UTC)).map(datetime.isoformat)
FIELDS = {
    tuple[str, ...]: st.lists(TEXTS, max_size=3).map(tuple),
    dict[str, str]: st.dictionaries(TEXTS, TEXTS, max_size=3),
    str: NAMES,
    str | None: st.none() | TEXTS,
    bool: st.booleans(),
    Answer: st.sampled_from(ANSWERS),
}
SPECIAL: dict[type[Payload], st.SearchStrategy[Payload]] = {
    Listed: LISTS,
    Ordered: st.builds(
        lambda containers, whole, *rest: Ordered("x", "y", containers, whole if containers == "whole" else "", *rest),
        st.sampled_from(["measured", "fewest", "whole"]),
        st.sampled_from(["3 mL", "4.5 mL", "0.000001 mL"]),
        st.sampled_from(["", "100 mg/kg", "0.1 mg/kg"]),
        st.booleans(),
        TEXTS,
        TEXTS,
        TEXTS,
    ),
    InHand: st.builds(InHand, TEXTS, TEXTS, st.just(""), NAMES, DAYS, TEXTS, st.just(value=False))
    | st.builds(InHand, TEXTS, TEXTS, NAMES, NAMES, DAYS, TEXTS, st.just(value=True)),
}


def build(cls: type[Payload]) -> st.SearchStrategy[Payload]:
    """Every kind of payload, a new one too, from the types of its fields."""
    if cls in SPECIAL:
        return SPECIAL[cls]
    return st.builds(cls, *(MOMENTS if field.name == "at" else FIELDS[field.type] for field in fields(cls)))


ALL_PAYLOADS = st.one_of(*(build(each) for each in PAYLOADS))
KINDS = sorted(each.KIND for each in PAYLOADS)
JUNK = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=5),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=8), inner, max_size=3),
    max_leaves=8,
)


@given(ALL_PAYLOADS)
def test_every_payload_is_read_back_as_it_was(payload: Payload) -> None:
    kind, form, body = encode_payload(payload)
    assert read_payload(1, kind, form, body) == payload
    assert body == json.dumps(json.loads(body), ensure_ascii=False, sort_keys=True, separators=(",", ":"))
    assert body == write_canonical(to_builtins(payload))


def test_the_kinds_are_the_ones_that_are_stored() -> None:
    """A stored kind is never renamed: this list only grows."""
    assert KINDS == [
        "addendum-written",
        "answer-taken-back",
        "answered",
        "came-back",
        "check-begun",
        "check-ended",
        "check-entered",
        "check-left",
        "check-read",
        "closed",
        "complications-said",
        "difference-settled",
        "entry-noted",
        "fact-given",
        "follow-up-missed",
        "follow-up-set",
        "handed-over",
        "happened",
        "in-hand",
        "listed",
        "ordered",
        "outcome-given",
        "put-back",
        "read-aloud",
        "reading-given",
        "restored",
        "said-done",
        "same-baby-answered",
        "senior-agreed",
        "set-aside",
        "signed",
        "started",
        "step-done",
        "step-left-out",
        "stood-down",
        "struck",
        "taken-over",
        "ticked",
        "time-corrected",
        "unanswered",
        "unticked",
        "value-entered",
        "ward-replaced",
        "weight-confirmed",
    ]
    assert {each.FORM for each in PAYLOADS} == {1}


def test_bodies_are_written_as_they_always_were() -> None:
    assert encode_payload(FactGiven("birth_weight", "1450")) == (
        "fact-given",
        1,
        '{"fact":"birth_weight","value":"1450"}',
    )
    assert encode_payload(Ticked("tube", "f\u00e9")) == ("ticked", 1, '{"fingerprint":"f\u00e9","line":"tube"}')
    assert encode_payload(ValueEntered("flow", "9 L/min"))[2] == '{"line":"flow","value":"9 L/min"}'
    assert encode_payload(order_of("surfactant", "drug", "3 mL", "RA"))[2] == (
        '{"after":"none","containers":"whole","dose":"","is_rest":false,"line":"surfactant","past_interval":"","prescriber":"RA",'
        '"product":"drug","whole":"3 mL"}'
    )
    assert encode_payload(Listed("time", (LineSnapshot("t", "g", "T", "2", "f", "", essential=True),), "", ""))[2] == (
        '{"because":"time","lines":[{"asks":"","blocked":"","enters":"","essential":true,"fingerprint":"f","group":"g","id":"t",'
        '"name":"T","show":"2"}],"why":"","withheld":""}'
    )


@pytest.mark.parametrize(
    ("gtin", "batch", "expiry", "scanned"),
    [
        ("", "A", "2027-02-29", "false"),
        ("", "A", "20270301", "false"),
        ("", "", "2027-03-01", "false"),
        ("1", "A", "2027-03-01", "false"),
        ("", "A", "2027-03-01", "true"),
    ],
)
def test_what_cannot_be_in_hand_is_not_read(gtin: str, batch: str, expiry: str, scanned: str) -> None:
    body = (
        f'{{"batch":"{batch}","expiry":"{expiry}","fingerprint":"f","gtin":"{gtin}","line":"x","scanned":{scanned},'
        '"serial":""}'
    )
    with pytest.raises(RecordUnreadable, match=r"event 3 \('in-hand', form 1\): \w"):
        read_payload(3, "in-hand", 1, body)


HOSTILE = {
    "empty": "",
    "not JSON": "{",
    "a list": "[]",
    "a number": "1",
    "a key missing": '{"line":"x"}',
    "a key too many": '{"fingerprint":"f","line":"x","more":1}',
    "a key twice": '{"fingerprint":"f","line":"x","line":"y"}',
    "a number for text": '{"fingerprint":1,"line":"x"}',
    "null for text": '{"fingerprint":null,"line":"x"}',
    "a float": '{"fingerprint":1.5,"line":"x"}',
    "nan": '{"fingerprint":NaN,"line":"x"}',
    "infinity": '{"fingerprint":-Infinity,"line":"x"}',
    "an exponent": '{"fingerprint":1e999999,"line":"x"}',
    "a very long integer": '{"fingerprint":' + "9" * 100_000 + ',"line":"x"}',
    "spaces": '{"fingerprint": "f", "line": "x"}',
    "keys in another order": '{"line":"x","fingerprint":"f"}',
    "an escape nobody needs": '{"fingerprint":"\\u0066","line":"x"}',
    "half a surrogate pair, escaped": '{"fingerprint":"\\ud800","line":"x"}',
    "half a surrogate pair": '{"fingerprint":"\ud800","line":"x"}',
    "text after it": '{"fingerprint":"f","line":"x"}{}',
    "a byte order mark": '\ufeff{"fingerprint":"f","line":"x"}',
    "deep lists": "[" * 100_000,
    "deep objects": '{"fingerprint":' * 100_000,
    "deep and closed": "[" * 200_000 + "]" * 200_000,
    "a wrong word of a screenful": '{"fingerprint":"f","line":["\\u001b[2J' + "x" * 999 + '"]}',
    "huge": '{"fingerprint":"' + "f" * MAX_BODY + '","line":"x"}',
}


@pytest.mark.parametrize("body", HOSTILE.values(), ids=HOSTILE.keys())
def test_a_hostile_body_is_unreadable_and_the_message_says_which_event(body: object) -> None:
    with pytest.raises(RecordUnreadable, match=r"^event 7 \('ticked', form 1\): .+") as caught:
        read_payload(7, "ticked", 1, body)
    assert len(str(caught.value)) < 300


@pytest.mark.parametrize("body", [None, b'{"fingerprint":"f","line":"x"}', 3, [], {"fingerprint": "f", "line": "x"}])
def test_a_body_that_is_not_text_is_unreadable(body: object) -> None:
    with pytest.raises(RecordUnreadable, match="expected text"):
        read_payload(7, "ticked", 1, body)


@pytest.mark.parametrize(
    "kind", ["", "Ticked", "ticked ", "drop-table", "\x1b[2J" * 99, "\ud800", None, 1, b"ticked", ["ticked"]]
)
def test_an_unknown_kind_is_unreadable(kind: object) -> None:
    with pytest.raises(RecordUnreadable, match="the kind is not known") as caught:
        read_payload(7, kind, 1, '{"fingerprint":"f","line":"x"}')
    assert str(caught.value).isprintable()
    assert len(str(caught.value)) < 200


@pytest.mark.parametrize("form", [0, 2, -1, True, "1", 1.0, None, pytest.param(10**5000, id="very long")])
def test_an_unknown_form_is_unreadable(form: object) -> None:
    with pytest.raises(RecordUnreadable, match="the form is not known"):
        read_payload(7, "ticked", form, '{"fingerprint":"f","line":"x"}')


LINE = '{"blocked":"","enters":"","essential":true,"fingerprint":"f","group":"g","id":"t","name":"T","show":"2"}'


@pytest.mark.parametrize(
    ("kind", "body", "what"),
    [
        (
            "listed",
            '{"because":"mood","lines":[],"why":"facts","withheld":"w"}',
            "Invalid enum value 'mood' - at `$.because`",
        ),
        ("listed", '{"because":"time","lines":[],"why":"","withheld":""}', "exactly one of the two"),
        ("listed", f'{{"because":"time","lines":[{LINE}],"why":"facts","withheld":"w"}}', "exactly one of the two"),
        ("listed", '{"because":"time","lines":[],"why":"","withheld":"w"}', "says why in words and by its kind"),
        (
            "listed",
            f'{{"because":"time","lines":[{LINE}],"why":"facts","withheld":""}}',
            "says why in words and by its kind",
        ),
        ("listed", f'{{"because":"time","lines":[{LINE},{LINE}],"why":"","withheld":""}}', "same id"),
        (
            "listed",
            '{"because":"time","lines":{},"why":"","withheld":""}',
            "Expected `array`, got `object` - at `$.lines`",
        ),
        (
            "listed",
            '{"because":"time","lines":[3],"why":"","withheld":""}',
            "Expected `object`, got `int` - at `$.lines[0]`",
        ),
        (
            "listed",
            f'{{"because":"time","lines":[{LINE.replace("true", "1")}],"why":"","withheld":""}}',
            "Expected `bool`, got `int` - at `$.lines[0].essential`",
        ),
        (
            "listed",
            f'{{"because":"time","lines":[{LINE.replace("essential", "essentia")}],"why":"","withheld":""}}',
            "Object missing required field `essential`",
        ),
        ("answered", '{"answer":"maybe","criterion":"c"}', "Invalid enum value 'maybe' - at `$.answer`"),
        ("answered", '{"answer":[],"criterion":"c"}', "Expected `str`, got `array` - at `$.answer`"),
    ],
)
def test_a_body_that_can_never_be_true_is_unreadable(kind: object, body: object, what: str) -> None:
    with pytest.raises(RecordUnreadable, match=re.escape(what)):
        read_payload(7, kind, 1, body)


@given(st.sampled_from(KINDS), st.text(max_size=30) | JUNK.map(json.dumps))
def test_junk_is_read_as_a_payload_or_is_unreadable(kind: object, body: object) -> None:
    try:
        payload = read_payload(1, kind, 1, body)
    except RecordUnreadable:
        return
    assert encode_payload(payload)[2] == body


@given(ALL_PAYLOADS, st.data())
def test_a_body_with_one_field_exchanged_for_junk_is_read_strictly(payload: Payload, draws: st.DataObject) -> None:
    kind, form, body = encode_payload(payload)
    plain = json.loads(body)
    plain[draws.draw(st.sampled_from([*sorted(plain), "other"]))] = draws.draw(JUNK)
    altered = json.dumps(plain, ensure_ascii=False, sort_keys=True, separators=(",", ":"))
    try:
        read = read_payload(1, kind, form, altered)
    except RecordUnreadable:
        return
    assert encode_payload(read)[2] == altered


def test_nothing_is_written_that_could_not_be_read_back() -> None:
    with pytest.raises(ValueError, match="too many to store"):
        encode_payload(StoodDown("x" * MAX_BODY))
    with pytest.raises(ValueError, match="surrogates"):
        encode_payload(StoodDown("\ud800"))


def test_a_fingerprint_does_not_depend_on_the_order_of_keys() -> None:
    assert compute_fingerprint({"a": 1, "b": [True, None]}) == compute_fingerprint({"b": (True, None), "a": 1})
    assert compute_fingerprint({"a": 1}) != compute_fingerprint({"a": "1"})
    assert compute_fingerprint({"a": 1}) != compute_fingerprint({"a": True})


def test_a_fingerprint_is_the_one_any_sha_256_gives() -> None:
    """FIPS 180-4 SHA-256 of the two characters {}, as given by any independent implementation."""
    assert compute_fingerprint({}) == "44136fa355b3678a1146ad16f7e8649e94fb4fc21fe77e8310c060f61caaff8a"


@pytest.mark.parametrize("value", [1.0, math.nan, {"a": [0.5]}, {1: "a"}, b"x", {"a"}, object()])
def test_a_float_or_anything_without_one_text_has_no_fingerprint(value: object) -> None:
    with pytest.raises(TypeError):
        write_canonical(value)


def test_an_event_without_an_offset_cannot_be_made() -> None:
    with pytest.raises(ValueError, match="offset"):
        Attribution("AB", datetime(2025, 3, 4, 3, 12), "desk 1")  # noqa: DTZ001 - the point of the test


def test_the_samples_are_payloads_too() -> None:
    for payload in (STARTED, LIST):
        assert read_payload(1, *encode_payload(payload)) == payload


@pytest.mark.parametrize(
    "whole",
    [
        "0 mL",
        "0.0 mL",
        "3mL",
        "3 ml",
        "03 mL",
        "3,5 mL",
        "3 mg",
        " 3 mL",
        "3 mL\n",
        "-3 mL",
        "0.1234567 mL",
        "1234567 mL",
        "\u0663 mL",
        "3",
    ],
)
def test_an_order_of_whole_containers_that_cannot_be_is_unreadable(whole: str) -> None:
    with pytest.raises(ValueError, match="whole containers"):
        order_of("surfactant", "drug", whole, "RA")
    fields = asdict(order_of("surfactant", "drug", "3 mL", "RA"))
    body = write_canonical({**fields, "whole": whole})
    with pytest.raises(RecordUnreadable, match="whole containers"):
        read_payload(4, "ordered", 1, body)
