"""The staff list: its events, its fold, and what may be done to it."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from people_samples import HASH, KM, LATER, OTHER_HASH, START, fold
from rich.pretty import pretty_repr

from prepkit.attribution import Attribution
from prepkit.people.decide import decide_add, decide_remove, decide_reset, decide_try, refuse_if_barred
from prepkit.people.events import (
    STAFF_PAYLOADS,
    PersonAdded,
    PersonRemoved,
    PinRefused,
    PinReset,
    SignedIn,
    StaffPayload,
    WaitBegun,
)
from prepkit.people.staff import Person, Staff, apply
from prepkit.preparation.codec import PREPARATION_CODEC, Codec, RecordUnreadable
from prepkit.preparation.lines.events import Ticked
from prepkit.preparation.payload import StoredPayload
from prepkit.preparation.text import Refusal

CODEC: Codec[StaffPayload] = Codec(STAFF_PAYLOADS)
TEXTS = st.text(st.characters(exclude_categories=["Cs"]), max_size=8)
HASHES = TEXTS.map(lambda text: f"$argon2id${text}")
PAYLOADS = st.one_of(
    st.builds(PersonAdded, TEXTS, TEXTS, HASHES | st.just("")),
    st.builds(PersonRemoved, TEXTS),
    st.builds(PinReset, TEXTS, HASHES),
    st.builds(PinRefused, TEXTS),
    st.builds(WaitBegun, TEXTS),
    st.builds(SignedIn, TEXTS),
)


def refused(decision: object) -> str:
    assert isinstance(decision, Refusal), decision
    return decision.reason


@given(PAYLOADS)
def test_every_payload_is_read_back_as_it_was(payload: StaffPayload) -> None:
    assert CODEC.read(1, *CODEC.encode(payload)) == payload


def test_the_kinds_are_the_ones_that_are_stored() -> None:
    """A stored kind is never renamed: this list only grows, and shares no kind with a preparation's."""
    assert sorted(each.KIND for each in STAFF_PAYLOADS) == [
        "person-added",
        "person-removed",
        "pin-refused",
        "pin-reset",
        "signed-in",
        "wait-begun",
    ]
    assert CODEC.encode(KM) == ("person-added", 1, f'{{"initials":"KM","pin":"{HASH}","role":"registrar"}}')


def test_every_kind_that_is_declared_is_stored_and_changes_the_list() -> None:
    ours = {each for each in StoredPayload.__subclasses__() if each.__module__.startswith("prepkit.people.")}
    assert ours == set(STAFF_PAYLOADS)
    before = fold(KM, PinRefused("KM"))
    samples = [
        PersonAdded("LB", "nurse", ""),
        PersonRemoved("KM"),
        PinReset("KM", OTHER_HASH),
        PinRefused("KM"),
        WaitBegun("KM"),
        SignedIn("KM"),
    ]
    assert {type(each) for each in samples} == ours
    for each in samples:
        after = fold(each, staff=before, at=START + LATER)
        assert (after.people, after.refusals) != (before.people, before.refusals), each.KIND


def test_one_streams_events_are_unknown_to_the_other() -> None:
    with pytest.raises(RecordUnreadable, match="the kind is not known"):
        CODEC.read(1, *PREPARATION_CODEC.encode(Ticked("tube", "f")))
    with pytest.raises(RecordUnreadable, match="the kind is not known"):
        PREPARATION_CODEC.read(1, *CODEC.encode(KM))


@pytest.mark.parametrize("pin", ["73914625", "plain", "$argon2i$x", " $argon2id$x"])
def test_a_pin_that_was_not_hashed_cannot_be_stored_or_read_and_is_not_shown(pin: str) -> None:
    for make in (lambda: PersonAdded("KM", "registrar", pin), lambda: PinReset("KM", pin)):
        with pytest.raises(ValueError, match="pin must be the encoded hash") as caught:
            make()
        assert pin not in str(caught.value)
    with pytest.raises(RecordUnreadable) as unreadable:
        CODEC.read(1, "pin-reset", 1, f'{{"initials":"KM","pin":"{pin}"}}')
    assert pin not in str(unreadable.value)


def test_not_even_the_hash_is_shown() -> None:
    values = (KM, PinReset("KM", HASH), fold(KM))
    for shown in (repr(values), pretty_repr(values)):
        assert "argon2" not in shown
        assert "PinReset(initials='KM')" in shown


def test_the_list_is_folded_in_order() -> None:
    staff = fold(KM, PersonAdded("RA", "nurse", ""), PinReset("KM", OTHER_HASH), PersonRemoved("RA"))
    assert staff.people == {"KM": Person("KM", "registrar", OTHER_HASH)}
    assert staff.seq == 4
    assert staff.find_hash("KM") == OTHER_HASH
    assert staff.find_hash("RA") == ""


def test_a_gap_in_the_numbers_is_unreadable() -> None:
    with pytest.raises(RecordUnreadable, match="expected event 1 after event 0"):
        apply(Staff(), 2, Attribution("", START, ""), KM)


def test_a_list_has_pins_as_soon_as_somebody_has_one() -> None:
    assert not fold(PersonAdded("RA", "nurse", "")).has_pins
    assert fold(PersonAdded("RA", "nurse", ""), KM).has_pins
    assert not fold(KM, PersonRemoved("KM")).has_pins


def test_nobody_is_added_twice_and_only_those_on_the_list_are_removed_or_reset() -> None:
    staff = fold(KM)
    assert refused(decide_add(staff, "KM", "nurse", HASH)) == "KM is on the staff list already (registrar)."
    assert decide_add(staff, "RA", "  staff   nurse ", "") == (PersonAdded("RA", "staff nurse", ""),)
    assert decide_remove(staff, "KM") == (PersonRemoved("KM"),)
    assert decide_reset(staff, "KM", OTHER_HASH) == (PinReset("KM", OTHER_HASH),)
    for decision in (decide_remove(staff, "ZZ"), decide_reset(staff, "ZZ", HASH)):
        assert refused(decision) == "ZZ is not on the staff list."


@pytest.mark.parametrize("role", ["", "  ", "a\nb", "a\u202eb", "x" * 41])
def test_a_role_is_a_short_line_that_can_be_shown(role: str) -> None:
    assert "role" in refused(decide_add(Staff(), "KM", role, HASH))


def test_a_right_answer_for_initials_that_are_not_on_the_list_is_a_refusal_all_the_same() -> None:
    assert decide_try(fold(KM), "KM", is_right=True) == (SignedIn("KM"),)
    assert decide_try(fold(KM), "KM", is_right=False) == (PinRefused("KM"),)
    assert decide_try(fold(KM), "ZZ", is_right=True) == (PinRefused("ZZ"),)


def test_a_role_may_be_barred_however_it_is_written() -> None:
    staff = fold(PersonAdded("SN", "Student Nurse", HASH), KM)
    bar = refuse_if_barred(staff, "SN", ("student nurse",))
    assert bar is not None
    assert bar.reason == "SN is a Student Nurse: on this ward that role does not check. Ask somebody else."
    assert refuse_if_barred(staff, "KM", ("student nurse",)) is None
    assert refuse_if_barred(staff, "ZZ", ("student nurse",)) is None
    assert refuse_if_barred(staff, "SN", ()) is None
