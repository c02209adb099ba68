import hashlib
from typing import Any

import pytest
from attributed import attribute
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import fields, replace

from prepkit.store import START, Draft, Record, check_chain, compute_hash
from prepkit.store.chain import compute_records

AT = "2031-05-04T03:12:00+01:00"


def make_chain(*preps: str) -> tuple[Record, ...]:
    """A whole chain with one record for each name given, in that order."""
    records: list[Record] = []
    for position, prep in enumerate(preps):
        records += compute_records(
            [Draft("note", 1, f'"{position}"')],
            attribute(AT, "AB", "cot side 2"),
            prep=prep,
            seq=preps[:position].count(prep),
            position=position,
            before=records[-1].hash if records else START,
        )
    return tuple(records)


CHAIN = make_chain("a", "a", "b", "a", "b")


def name_problems(records: tuple[Record, ...] | list[Record], last: int | None = None) -> list[str]:
    return [problem.words for problem in check_chain(records, last)]


def test_the_hash_is_sha_256_over_the_hash_before_and_the_array_written_out_by_hand() -> None:
    record = Record(7, "a", 2, "note", 1, AT, "ÅB", 1, 'cot "2"\n', '{"µ":1}', before="ab" * 32, hash="")
    by_hand = "ab" * 32 + r'[7,"a",2,"note",1,"2031-05-04T03:12:00+01:00","ÅB",1,"cot \"2\"\n","{\"µ\":1}"]'
    assert compute_hash(record) == hashlib.sha256(by_hand.encode("utf-8")).hexdigest()


def test_the_first_record_follows_sixty_four_zeros() -> None:
    assert CHAIN[0].before == "0" * 64


def test_a_whole_chain_has_no_problems() -> None:
    assert check_chain(CHAIN, last=5) == ()
    assert check_chain(()) == ()


CHANGES: dict[str, Any] = {
    "kind": "other",
    "form": 2,
    "at": "2031-05-04T03:13:00+01:00",
    "who": "CD",
    "verified": 1,
    "where": "elsewhere",
    "body": '"0"',
}


@pytest.mark.parametrize("name", CHANGES)
def test_a_changed_field_is_found_at_its_own_record_and_nowhere_else(name: str) -> None:
    records = [*CHAIN[:2], replace(CHAIN[2], **{name: CHANGES[name]}), *CHAIN[3:]]
    assert name_problems(records) == ["record 3 (number 1 of preparation 'b'): its content is not what was written"]


def test_a_record_changed_together_with_its_own_hash_is_found_at_the_next() -> None:
    forged = replace(CHAIN[2], body='"0"')
    forged = replace(forged, hash=compute_hash(forged))
    words = "record 4 (number 3 of preparation 'a'): it does not follow record 3: one of the two was changed"
    assert name_problems([*CHAIN[:2], forged, *CHAIN[3:]]) == [words]


def test_a_missing_record_is_named_and_so_is_the_preparation_that_lost_it() -> None:
    assert name_problems([*CHAIN[:2], *CHAIN[3:]]) == [
        "record 4 (number 3 of preparation 'a'): record 3 is missing before it",
        "record 5 (number 2 of preparation 'b'): its preparation went on from number 0 to number 2",
    ]


def test_records_missing_at_the_beginning_are_named() -> None:
    first, *_ = name_problems(CHAIN[2:])
    assert first == "record 3 (number 1 of preparation 'b'): records 1 to 2 are missing before it"


def test_records_missing_at_the_end_are_named_where_the_last_position_is_known() -> None:
    assert name_problems(CHAIN[:3]) == []
    assert name_problems(CHAIN[:3], last=5) == ["records 4 to 5 are missing at the end of the store"]
    assert name_problems((), last=1) == ["record 1 is missing at the end of the store"]


def test_two_records_that_changed_places_are_both_named() -> None:
    swapped = [*CHAIN[:1], replace(CHAIN[2], position=2), replace(CHAIN[1], position=3), *CHAIN[3:]]
    assert [problem.position for problem in check_chain(swapped)][:2] == [2, 3]


def test_records_out_of_order_are_named() -> None:
    assert any("out of order, after record 3" in words for words in name_problems([*CHAIN[:3], CHAIN[1], *CHAIN[3:]]))


def test_a_record_put_in_with_a_right_hash_of_its_own_is_found_at_the_one_after_it() -> None:
    (put_in,) = compute_records(
        [Draft("note", 1, "{}")], attribute(AT, "", ""), prep="c", seq=0, position=2, before=CHAIN[1].hash
    )
    moved = [replace(r, position=r.position + 1) for r in CHAIN[2:]]
    assert check_chain([*CHAIN[:2], put_in, *moved])[0].position == 4


def test_a_number_that_jumps_is_found_even_where_all_hashes_were_made_anew() -> None:
    forged = replace(CHAIN[4], seq=3)
    forged = replace(forged, hash=compute_hash(forged))
    words = "record 5 (number 3 of preparation 'b'): its preparation went on from number 1 to number 3"
    assert name_problems([*CHAIN[:4], forged]) == [words]


WRONG_TYPES = [
    (f.name, odd)
    for f in fields(Record)
    for odd in (None, b"\xff", 1.5, "7", 7)
    if type(odd) is not type(getattr(CHAIN[2], f.name))
]


@pytest.mark.parametrize(("name", "odd"), WRONG_TYPES, ids=repr)
def test_a_field_of_another_type_is_named_and_makes_nothing_fail(name: str, odd: object) -> None:
    changed: Any = {name: odd}
    first, *_ = check_chain([*CHAIN[:2], replace(CHAIN[2], **changed), *CHAIN[3:]])
    assert f'"{name}" should be' in first.words
    assert ("record 3" in first.words) or (name == "position" and "after record 2" in first.words)


def test_text_that_was_no_utf_8_is_found_and_makes_nothing_fail() -> None:
    broken = replace(CHAIN[2], prep="\udcff", body="\ud800", before="\udc80")
    words = name_problems([*CHAIN[:2], broken])[0]
    assert "its content is not what was written" in words
    assert words.isascii()


ODD = st.one_of(st.none(), st.binary(max_size=4), st.floats(), st.integers(), st.text(max_size=4))


@given(st.lists(st.tuples(*[ODD] * len(fields(Record))), min_size=1, max_size=4))
def test_no_record_whatever_makes_the_check_fail_and_none_passes(rows: list[tuple[Any, ...]]) -> None:
    problems = check_chain(Record(*row) for row in rows)
    assert len(problems) == len(rows)


@given(st.lists(st.sampled_from("abc"), min_size=1, max_size=12), st.data())
def test_taking_out_any_record_but_the_last_is_found(preps: list[str], data: st.DataObject) -> None:
    chain = make_chain(*preps, "a")
    gone = data.draw(st.integers(0, len(preps) - 1))
    assert check_chain([*chain[:gone], *chain[gone + 1 :]])[0].position == chain[gone + 1].position
