"""Who is at the desk: signing in, a second person on the spot, handing over, the lock, and what is kept of a PIN."""

import os
import sqlite3
import traceback
from collections.abc import Callable, Iterator
from contextlib import closing
from datetime import timedelta
from pathlib import Path

import pytest
from argon2 import PasswordHasher, profiles
from attributed import attribute
from rich.pretty import pretty_repr
from workstation_scene import ALL_LEFT, Clock, MakeDesk, find_row, start

import prepkit.app.staff
from prepkit.app.identity import NOT_SIGNED_IN
from prepkit.app.staff import NOBODY_YET, StaffList, VerifiedPerson
from prepkit.app.workstation import Workstation
from prepkit.errors import StoreDamaged, StoreFailed
from prepkit.people import STAFF_STREAM
from prepkit.people.decide import NO_MATCH
from prepkit.people.pin import Pin
from prepkit.people.staff import LONGEST_WAIT, TRIES_BEFORE_WAIT
from prepkit.store import Draft, check_store
from prepkit.view.home import PersonRow

PEOPLE = '\n[people]\npins = true\nlock_after = "5 min"\nbarred_from_checking = ["student nurse"]\n'
PIN, OTHER_PIN, WRONG = "73914625", "40285137", "86420975"


@pytest.fixture(autouse=True)
def cheap_hashes(monkeypatch: pytest.MonkeyPatch) -> None:
    """The hash itself is tested elsewhere; here its least profile will do."""
    hasher = PasswordHasher.from_parameters(profiles.CHEAPEST)
    monkeypatch.setattr("prepkit.people.pin._make_hasher", lambda: hasher)
    monkeypatch.setattr(prepkit.app.staff, "NOBODYS", hasher.hash(b"nobody's"))


@pytest.fixture
def compared(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """The hashes that a PIN was compared with, one for each time the slow function ran."""
    found: list[str] = []
    real = prepkit.app.staff.is_pin

    def spy(pin: Pin, encoded: str) -> bool:
        found.append(encoded)
        return real(pin, encoded)

    monkeypatch.setattr(prepkit.app.staff, "is_pin", spy)
    return found


@pytest.fixture
def with_pins(ward_file: Path) -> None:
    ward_file.write_text(ward_file.read_text("utf-8") + PEOPLE, "utf-8")


def list_staff(desk: Workstation) -> StaffList:
    return StaffList(desk.store, desk.clock, "office")


@pytest.fixture
def pins(make_desk: MakeDesk, with_pins: None) -> Callable[[], Workstation]:
    """Makes desks of a ward with PINs, a registrar, a nurse, a student and somebody without a PIN."""
    staff = list_staff(make_desk(who=""))
    for initials, role, pin in (
        ("KM", "registrar", PIN),
        ("RA", "nurse", OTHER_PIN),
        ("SN", "Student nurse", PIN),
        ("NP", "nurse", ""),
    ):
        assert staff.add(initials, role, Pin(pin) if pin else None, "admin") == ""
    return lambda: make_desk(who="")


@pytest.fixture
def desk_with_pins(pins: Callable[[], Workstation]) -> Workstation:
    return pins()


def list_kinds(desk: Workstation) -> list[str]:
    return [record.kind for record in desk.store.read(STAFF_STREAM)]


# Without PINs


def test_without_pins_any_initials_do_and_the_record_says_not_verified(make_desk: MakeDesk) -> None:
    desk = make_desk(who="")
    assert not desk.identity.needs_pin
    assert desk.identity.lock_after is None
    assert desk.identity.sign_on(" km ") == ""
    opened = start(desk)
    assert opened.lines.tick("drape") == ""
    records = desk.store.read(opened.session.prep)
    assert {record.who for record in records} == {"KM"}
    assert {record.verified for record in records} == {0}
    assert list_kinds(desk) == []


def test_without_pins_a_lock_would_keep_nobody_out_so_there_is_none(make_desk: MakeDesk) -> None:
    desk = make_desk()
    desk.identity.lock()
    assert not desk.identity.is_locked
    assert desk.identity.refuse_if_not_signed_in() == ""


def test_without_pins_a_second_person_needs_initials_alone_and_a_barred_role_still_does_not_check(
    make_desk: MakeDesk, ward_file: Path
) -> None:
    text = PEOPLE.replace("pins = true", "pins = false")
    ward_file.write_text(ward_file.read_text("utf-8") + text, "utf-8")
    desk = make_desk()
    assert list_staff(desk).add("SN", "student nurse", None, "") == ""
    assert desk.identity.verify("ZZ") == ""
    assert "does not check" in desk.identity.verify("sn")
    assert desk.identity.verify("9") != ""
    assert desk.identity.who == "RA"


# With PINs


def test_with_pins_a_tick_carries_the_person_signed_in_as_verified(desk_with_pins: Workstation) -> None:
    assert desk_with_pins.identity.needs_pin
    assert desk_with_pins.identity.sign_on("km", PIN) == ""
    opened = start(desk_with_pins)
    assert opened.lines.tick("drape") == ""
    assert find_row(opened, "drape").word == "done KM 03:00"
    records = desk_with_pins.store.read(opened.session.prep)
    assert {(record.who, record.verified) for record in records} == {("KM", 1)}


def test_the_first_person_is_told_how_to_get_onto_the_list(make_desk: MakeDesk, with_pins: None) -> None:
    desk = make_desk(who="")
    assert desk.identity.sign_on("KM", PIN) == NOBODY_YET
    assert "prepkit staff add INITIALS --role ROLE" in NOBODY_YET
    assert list_staff(desk).add("NP", "nurse", None, "") == ""
    assert desk.identity.sign_on("NP", PIN) == NOBODY_YET
    assert desk.identity.who == ""
    assert list_kinds(desk) == ["person-added"]


@pytest.mark.parametrize(
    ("initials", "pin", "refusal"),
    [
        ("KM", WRONG, NO_MATCH),
        ("KM", OTHER_PIN, NO_MATCH),
        ("ZZ", PIN, NO_MATCH),
        ("NP", PIN, NO_MATCH),
        ("KM", "", "Enter the PIN."),
        ("KM", "12", "A PIN is 4 to 8 digits."),
        ("KM", "pass word", "A PIN is 4 to 8 digits."),
        (PIN, PIN, "Initials are 2 to 4 letters"),
        ("", PIN, "Initials are 2 to 4 letters"),
    ],
    ids=["wrong", "another's", "unknown", "has none", "empty", "short", "letters", "a PIN for initials", "nobody"],
)
def test_whoever_is_refused_is_not_at_the_desk(
    desk_with_pins: Workstation, initials: str, pin: str, refusal: str
) -> None:
    assert desk_with_pins.identity.sign_on(initials, pin).startswith(refusal)
    assert desk_with_pins.identity.who == ""
    assert desk_with_pins.start("surfactant-supraglottic", "Cot 1") == NOT_SIGNED_IN


def test_a_wrong_pin_leaves_whoever_is_signed_in_where_they_are(desk_with_pins: Workstation) -> None:
    assert desk_with_pins.identity.sign_on("KM", PIN) == ""
    assert desk_with_pins.identity.sign_on("RA", WRONG) == NO_MATCH
    assert desk_with_pins.identity.who == "KM"
    assert desk_with_pins.identity.refuse_if_not_signed_in() == ""


def test_unknown_initials_cost_one_comparison_as_a_wrong_pin_does_and_leave_the_same_record(
    desk_with_pins: Workstation, compared: list[str]
) -> None:
    for initials, count in (("KM", 1), ("ZZ", 2), ("NP", 3)):
        assert desk_with_pins.identity.sign_on(initials, WRONG) == NO_MATCH
        assert len(compared) == count
    assert len({encoded.split("$")[3] for encoded in compared}) == 1, "one profile, so one cost"
    assert list_kinds(desk_with_pins)[-3:] == ["pin-refused"] * 3


def test_a_hash_with_the_secret_of_nobody_lets_nobody_in(
    desk_with_pins: Workstation, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(prepkit.app.staff, "is_pin", lambda *_: True)
    assert desk_with_pins.identity.sign_on("ZZ", PIN) == NO_MATCH
    assert desk_with_pins.identity.sign_on("NP", PIN) == NO_MATCH


def test_initials_given_before_pins_were_wanted_do_not_count_any_more(make_desk: MakeDesk, ward_file: Path) -> None:
    desk = make_desk("KM")
    assert list_staff(desk).add("KM", "registrar", Pin(PIN), "") == ""
    opened = start(desk)
    ward_file.write_text(ward_file.read_text("utf-8") + PEOPLE, "utf-8")
    assert opened.lines.tick("drape") == "This ward asks for a PIN: sign in first."
    assert desk.identity.sign_on("KM", PIN) == ""
    assert opened.lines.tick("drape") == ""


def test_whoever_is_taken_off_the_list_while_signed_in_can_do_no_more(desk_with_pins: Workstation) -> None:
    assert desk_with_pins.identity.sign_on("KM", PIN) == ""
    opened = start(desk_with_pins)
    assert list_staff(desk_with_pins).remove("km", "admin") == ""
    assert opened.lines.tick("drape") == "KM is not on the staff list any more: sign in."


def test_whoever_signed_in_with_a_pin_that_was_reset_meanwhile_can_do_no_more(desk_with_pins: Workstation) -> None:
    """A PIN is reset because somebody else may know it."""
    assert desk_with_pins.identity.sign_on("KM", PIN) == ""
    opened = start(desk_with_pins)
    assert list_staff(desk_with_pins).reset("km", Pin(OTHER_PIN), "admin") == ""
    assert opened.lines.tick("drape") == "KM was given another PIN: sign in."
    assert desk_with_pins.identity.sign_on("KM", OTHER_PIN) == ""
    assert opened.lines.tick("drape") == ""


def test_who_set_by_other_means_than_a_pin_is_not_verified(desk_with_pins: Workstation) -> None:
    assert desk_with_pins.identity.sign_on("KM", PIN) == ""
    desk_with_pins.identity.who = "RA"
    assert not desk_with_pins.identity.make_attribution().verified
    assert "PIN" in desk_with_pins.identity.refuse_if_not_signed_in()


# Too many refusals


def refuse(desk: Workstation, initials: str, times: int = TRIES_BEFORE_WAIT) -> None:
    for _ in range(times):
        assert desk.identity.sign_on(initials, WRONG) == NO_MATCH


@pytest.mark.parametrize("initials", ["KM", "ZZ"])
def test_after_five_refusals_not_even_the_right_pin_is_compared_until_the_wait_is_over(
    desk_with_pins: Workstation, clock: Clock, compared: list[str], initials: str
) -> None:
    refuse(desk_with_pins, initials)
    clock.move(seconds=59)
    before = list_kinds(desk_with_pins)
    assert desk_with_pins.identity.sign_on(initials, PIN) == (
        f"Too many refused PINs for {initials}: none is taken for 1 s."
        f" Somebody else may sign in; a new PIN is set with: prepkit staff reset {initials}"
    )
    assert len(compared) == TRIES_BEFORE_WAIT
    assert list_kinds(desk_with_pins) == before
    clock.move(seconds=1)
    assert desk_with_pins.identity.sign_on(initials, PIN) == ("" if initials == "KM" else NO_MATCH)


def test_each_further_refusal_doubles_the_wait_up_to_the_longest(desk_with_pins: Workstation, clock: Clock) -> None:
    refuse(desk_with_pins, "KM")
    for minutes in (1, 2, 4, 8, 15, 15):
        assert f"none is taken for {minutes} min." in desk_with_pins.identity.sign_on("KM", PIN)
        clock.move(minutes=minutes)
        refuse(desk_with_pins, "KM", 1)


def test_a_success_and_a_reset_end_the_count(desk_with_pins: Workstation) -> None:
    refuse(desk_with_pins, "KM", TRIES_BEFORE_WAIT - 1)
    assert desk_with_pins.identity.sign_on("KM", PIN) == ""
    refuse(desk_with_pins, "KM")
    assert "Too many" in desk_with_pins.identity.sign_on("KM", PIN)
    assert list_staff(desk_with_pins).reset("KM", Pin(OTHER_PIN), "admin") == ""
    assert desk_with_pins.identity.sign_on("KM", PIN) == NO_MATCH
    assert desk_with_pins.identity.sign_on("KM", OTHER_PIN) == ""


def test_somebody_else_may_sign_in_meanwhile(desk_with_pins: Workstation) -> None:
    refuse(desk_with_pins, "KM")
    assert desk_with_pins.identity.sign_on("RA", OTHER_PIN) == ""


def test_two_desks_share_the_count_and_the_wait(pins: Callable[[], Workstation], compared: list[str]) -> None:
    one, two = pins(), pins()
    for desk in (one, two, one, two, one):
        assert desk.identity.sign_on("KM", WRONG) == NO_MATCH
    for desk in (one, two, pins()):
        assert "Too many" in desk.identity.sign_on("KM", PIN)
    assert len(compared) == TRIES_BEFORE_WAIT


def test_a_try_that_another_desk_overtook_is_not_answered_when_the_tries_are_used_up(
    pins: Callable[[], Workstation], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Both look while one try is left; the other's refusal is recorded first, so this right PIN is not told."""
    one, two = pins(), pins()
    refuse(one, "KM", TRIES_BEFORE_WAIT - 1)
    real = prepkit.app.staff.is_pin
    overtaken: list[Workstation] = [two]

    def slowly(pin: Pin, encoded: str) -> bool:
        while overtaken:
            refuse(overtaken.pop(), "KM", 1)
        return real(pin, encoded)

    monkeypatch.setattr(prepkit.app.staff, "is_pin", slowly)
    assert "Too many" in one.identity.sign_on("KM", PIN)
    assert one.identity.who == ""
    assert "signed-in" not in list_kinds(one)


def test_a_pin_reset_while_it_was_compared_is_not_answered(
    desk_with_pins: Workstation, monkeypatch: pytest.MonkeyPatch
) -> None:
    real = prepkit.app.staff.is_pin

    def slowly(pin: Pin, encoded: str) -> bool:
        assert list_staff(desk_with_pins).reset("KM", Pin(OTHER_PIN), "admin") == ""
        return real(pin, encoded)

    monkeypatch.setattr(prepkit.app.staff, "is_pin", slowly)
    assert desk_with_pins.identity.sign_on("KM", PIN) == "The staff list changed meanwhile: sign in again."
    assert desk_with_pins.identity.who == ""


@pytest.mark.parametrize("back", [{"hours": 9}, {"days": 700}, {"seconds": 30}])
def test_a_clock_put_back_neither_opens_a_wait_nor_makes_it_endless(
    pins: Callable[[], Workstation], clock: Clock, back: dict[str, float]
) -> None:
    desk = pins()
    refuse(desk, "KM")
    clock.move(**{unit: -by for unit, by in back.items()})
    assert "none is taken for 1 min." in desk.identity.sign_on("KM", PIN)
    clock.move(seconds=59)
    assert "none is taken for 1 s." in pins().identity.sign_on("KM", PIN)
    clock.move(seconds=1)
    assert desk.identity.sign_on("KM", PIN) == ""


def test_a_clock_far_ahead_and_then_put_right_keeps_nobody_out_for_longer_than_the_longest_wait(
    desk_with_pins: Workstation, clock: Clock
) -> None:
    clock.move(days=3000)
    for _ in range(TRIES_BEFORE_WAIT + 6):
        desk_with_pins.identity.sign_on("KM", WRONG)
        clock.move(minutes=16)
    clock.move(days=-3000)
    assert "Too many" in desk_with_pins.identity.sign_on("KM", PIN)
    clock.now += LONGEST_WAIT
    assert desk_with_pins.identity.sign_on("KM", PIN) == ""


# A second person on the spot


def test_the_second_person_signs_in_on_the_spot_and_the_first_stays(desk_with_pins: Workstation) -> None:
    assert desk_with_pins.identity.sign_on("KM", PIN) == ""
    assert desk_with_pins.identity.verify("ra", WRONG) == NO_MATCH
    assert desk_with_pins.identity.verify("ra", OTHER_PIN) == ""
    assert desk_with_pins.identity.who == "KM"
    assert desk_with_pins.identity.make_attribution().verified


def test_what_the_second_person_does_carries_them_as_verified_until_the_desk_changes_hands(
    desk_with_pins: Workstation,
) -> None:
    assert desk_with_pins.identity.sign_on("KM", PIN) == ""
    assert not desk_with_pins.identity.make_attribution("RA").verified
    assert desk_with_pins.identity.verify("ra", OTHER_PIN) == ""
    stamp = desk_with_pins.identity.make_attribution("RA")
    assert (stamp.who, stamp.verified) == ("RA", True)
    assert not desk_with_pins.identity.make_attribution("SN").verified
    assert desk_with_pins.identity.verify("ra", WRONG) == NO_MATCH
    assert not desk_with_pins.identity.make_attribution("RA").verified
    for leave in (desk_with_pins.identity.lock, lambda: desk_with_pins.identity.sign_on("KM", PIN)):
        assert desk_with_pins.identity.sign_on("KM", PIN) == ""
        assert desk_with_pins.identity.verify("ra", OTHER_PIN) == ""
        leave()
        assert not desk_with_pins.identity.make_attribution("RA").verified


def test_a_barred_role_does_not_check_and_only_the_right_pin_is_told_so(desk_with_pins: Workstation) -> None:
    assert desk_with_pins.identity.verify("SN", WRONG) == NO_MATCH
    assert desk_with_pins.identity.verify("SN", PIN) == (
        "SN is a Student nurse: on this ward that role does not check. Ask somebody else."
    )
    assert desk_with_pins.identity.sign_on("SN", PIN) == "", "barred from checking, not from the desk"


def test_a_second_persons_wrong_pins_are_counted_like_any_others(desk_with_pins: Workstation) -> None:
    for _ in range(TRIES_BEFORE_WAIT):
        assert desk_with_pins.identity.verify("RA", WRONG) == NO_MATCH
    assert "Too many" in desk_with_pins.identity.sign_on("RA", OTHER_PIN)


def test_the_second_person_for_an_unlikely_weight_signs_in_too(desk_with_pins: Workstation) -> None:
    assert desk_with_pins.identity.sign_on("KM", PIN) == ""
    opened = start(desk_with_pins, weight="3900", gestation="30+2")
    assert opened.baby.confirm_weight("3900", "RA") == "Enter the PIN."
    assert opened.baby.confirm_weight("3900", "RA", WRONG) == NO_MATCH
    assert "does not check" in opened.baby.confirm_weight("3900", "SN", PIN)
    assert "someone else" in opened.baby.confirm_weight("3900", "KM", PIN)
    assert opened.lines.show_list().groups == ()
    assert opened.baby.confirm_weight("3900", "RA", OTHER_PIN) == ""
    assert opened.lines.show_list().groups != ()
    (confirmed,) = (r for r in desk_with_pins.store.read(opened.session.prep) if r.kind == "weight-confirmed")
    assert '"second":"RA","second_verified":true' in confirmed.body


def test_without_pins_the_second_person_is_recorded_as_not_verified(desk: Workstation) -> None:
    opened = start(desk, weight="3900", gestation="30+2")
    assert opened.baby.confirm_weight("3900", "ZZ") == ""
    (confirmed,) = (r for r in desk.store.read(opened.session.prep) if r.kind == "weight-confirmed")
    assert '"second":"ZZ","second_verified":false' in confirmed.body


# Taking over, and the lock


def test_the_desk_is_handed_over_to_somebody_on_the_list(desk_with_pins: Workstation, make_desk: MakeDesk) -> None:
    rows = desk_with_pins.identity.list_people()
    assert rows == (
        PersonRow("KM", "registrar"),
        PersonRow("RA", "nurse"),
        PersonRow("SN", "Student nurse"),
    )
    without = make_desk(ward=None)
    assert PersonRow("NP", "nurse") in without.identity.list_people()


def test_a_locked_screen_takes_nothing_and_shows_the_cots_progress_without_the_baby(
    desk_with_pins: Workstation,
) -> None:
    assert desk_with_pins.identity.lock_after == timedelta(minutes=5)
    assert desk_with_pins.identity.sign_on("KM", PIN) == ""
    opened = start(desk_with_pins)
    desk_with_pins.identity.lock()
    assert desk_with_pins.identity.is_locked
    assert opened.lines.tick("drape") == "This screen is locked: sign in first."
    assert opened.baby.confirm_weight("1450") != ""
    assert desk_with_pins.start("surfactant-supraglottic", "Cot 5") == "This screen is locked: sign in first."
    (view,), _ = desk_with_pins.list_locked()
    assert (view.cot, view.left) == ("Cot 4", ALL_LEFT)
    assert desk_with_pins.identity.sign_on("KM", WRONG) == NO_MATCH
    assert desk_with_pins.identity.is_locked
    assert desk_with_pins.identity.sign_on("RA", OTHER_PIN) == ""
    assert not desk_with_pins.identity.is_locked
    assert opened.lines.tick("drape") == ""
    assert find_row(opened, "drape").word == "done RA 03:00"


def test_what_time_changes_on_a_locked_screen_is_not_put_down_as_verified(desk_with_pins: Workstation) -> None:
    assert desk_with_pins.identity.sign_on("KM", PIN) == ""
    desk_with_pins.identity.lock()
    assert not desk_with_pins.identity.make_attribution().verified


@pytest.mark.parametrize(("written", "seconds"), [("5 min", 300), ("0.5 min", 30), ("1 h", 3600), ("30 d", 3600)])
def test_the_idle_time_is_the_wards_up_to_an_hour(
    make_desk: MakeDesk, ward_file: Path, written: str, seconds: int
) -> None:
    ward_file.write_text(ward_file.read_text("utf-8") + PEOPLE.replace("5 min", written), "utf-8")
    assert make_desk().identity.lock_after == timedelta(seconds=seconds)


# A person who signed in before this desk was opened


def test_whoever_gave_their_pin_elsewhere_is_taken_up_as_verified_and_nothing_is_recorded(
    pins: Callable[[], Workstation], compared: list[str]
) -> None:
    door, desk = pins(), pins()
    assert door.identity.verified_person is None
    assert door.identity.sign_on("km", PIN) == ""
    signed, before = door.identity.verified_person, list_kinds(desk)
    assert signed is not None
    assert signed.mark not in repr(signed) + pretty_repr(signed)
    desk.identity.resume_sign_in(signed, locked=False)
    assert (desk.identity.who, desk.identity.is_locked, desk.identity.refuse_if_not_signed_in()) == ("KM", False, "")
    assert desk.identity.make_attribution().verified
    assert desk.identity.verified_person == signed
    assert (len(compared), list_kinds(desk)) == (1, before)


def test_whoever_is_taken_up_locked_gives_the_pin_again(pins: Callable[[], Workstation]) -> None:
    door, desk = pins(), pins()
    assert door.identity.sign_on("KM", PIN) == ""
    assert door.identity.verified_person is not None
    desk.identity.resume_sign_in(door.identity.verified_person, locked=True)
    assert (desk.identity.is_locked, desk.identity.make_attribution().verified) == (True, False)
    assert desk.identity.sign_on("KM", PIN) == ""
    assert not desk.identity.is_locked


@pytest.mark.parametrize("what", ["reset", "same digits", "removed", "put back", "no mark", "another's mark", "no PIN"])
def test_a_sign_in_does_not_outlive_its_pin(pins: Callable[[], Workstation], what: str) -> None:
    door, desk, staff = pins(), pins(), list_staff(pins())
    assert door.identity.sign_on("KM", PIN) == ""
    signed = door.identity.verified_person
    assert signed is not None
    match what:
        case "reset" | "same digits":
            assert staff.reset("KM", Pin(OTHER_PIN if what == "reset" else PIN), "admin") == ""
        case "removed" | "put back":
            assert staff.remove("KM", "admin") == ""
            assert what == "removed" or staff.add("KM", "registrar", Pin(PIN), "admin") == ""
        case "no mark":
            signed = VerifiedPerson("KM", "")
        case "another's mark":
            signed = VerifiedPerson("RA", signed.mark)
        case "no PIN":
            signed = VerifiedPerson("NP", "")
    desk.identity.resume_sign_in(signed, locked=False)
    assert desk.identity.is_locked
    assert desk.identity.refuse_if_not_signed_in() != ""
    assert desk.identity.verified_person is None
    assert not desk.identity.make_attribution().verified


def test_a_pin_that_was_reset_meanwhile_does_not_lend_its_mark_to_the_sign_in_before_it(
    pins: Callable[[], Workstation],
) -> None:
    door, desk = pins(), pins()
    assert door.identity.sign_on("KM", PIN) == ""
    assert list_staff(pins()).reset("KM", Pin(OTHER_PIN), "admin") == ""
    assert door.identity.refuse_if_not_signed_in() == "KM was given another PIN: sign in."
    assert door.identity.verified_person is not None
    desk.identity.resume_sign_in(door.identity.verified_person, locked=False)
    assert desk.identity.is_locked


def test_initials_alone_are_nothing_that_can_be_taken_up(make_desk: MakeDesk) -> None:
    desk = make_desk("")
    assert desk.identity.sign_on("KM") == ""
    assert desk.identity.verified_person is None
    desk.identity.resume_sign_in(VerifiedPerson("KM", ""), locked=True)
    assert (desk.identity.who, desk.identity.is_locked, desk.identity.make_attribution().verified) == (
        "KM",
        False,
        False,
    )


# The ward file, and the store


def test_a_mistake_elsewhere_in_the_ward_file_does_not_turn_the_pins_off(
    desk_with_pins: Workstation, ward_file: Path
) -> None:
    ward_file.write_text(ward_file.read_text("utf-8").replace('air = "0.5 mL"', 'air = "half"'), "utf-8")
    assert desk_with_pins.identity.needs_pin


@pytest.mark.parametrize("broken", ["pins = true", "[people]\npins = 3\n[", '[people]\npins = "yes"\n', None])
def test_where_the_ward_file_cannot_be_read_a_list_with_pins_keeps_them_on_and_nobody_checks(
    desk_with_pins: Workstation, ward_file: Path, broken: str | None
) -> None:
    if broken is None:
        ward_file.unlink()
    else:
        ward_file.write_text(broken if "[" in broken else "= broken", "utf-8")
    assert desk_with_pins.identity.needs_pin
    assert desk_with_pins.identity.lock_after is None
    assert desk_with_pins.identity.sign_on("KM", PIN) == ""
    assert "ward file cannot be read" in desk_with_pins.identity.verify("RA", OTHER_PIN)


def test_where_the_ward_file_cannot_be_read_a_ward_without_pins_stays_open(desk: Workstation, ward_file: Path) -> None:
    ward_file.write_text("= broken", "utf-8")
    assert not desk.identity.needs_pin
    assert desk.identity.sign_on("KM") == ""


def test_pins_are_wanted_as_the_ward_file_is_now(desk: Workstation, ward_file: Path) -> None:
    assert not desk.identity.needs_pin
    text = ward_file.read_text("utf-8")
    ward_file.write_text(text + PEOPLE, "utf-8")
    assert desk.identity.needs_pin
    ward_file.write_text(text, "utf-8")
    assert not desk.identity.needs_pin


def test_the_staff_list_is_no_preparation_and_a_damaged_preparation_is_still_shown(desk_with_pins: Workstation) -> None:
    before = desk_with_pins.show_home()
    assert before.rows == ()
    assert not any("cannot be read" in notice for notice in before.notices)
    damaged = Draft("never-heard-of", 1, "{}")
    desk_with_pins.store.append("lost", 0, [damaged], attribute("2031-05-04T03:12:00Z", "", ""))
    view = desk_with_pins.show_home()
    assert view.rows == ()
    assert any('preparation "lost" cannot be read' in notice for notice in view.notices)


def test_the_list_is_part_of_the_chain_and_who_changed_it_is_recorded(desk_with_pins: Workstation) -> None:
    assert check_store(desk_with_pins.store) == ()
    assert {(r.who, r.where, r.verified) for r in desk_with_pins.store.read(STAFF_STREAM)} == {("admin", "office", 0)}
    refuse(desk_with_pins, "KM", 1)
    assert desk_with_pins.identity.sign_on("KM", PIN) == ""
    *_, refused, signed_in = desk_with_pins.store.read(STAFF_STREAM)
    assert (refused.kind, refused.who, refused.verified) == ("pin-refused", "KM", 0)
    assert (signed_in.kind, signed_in.who, signed_in.verified) == ("signed-in", "KM", 1)


def test_a_damaged_list_stops_signing_in_with_a_sentence(desk_with_pins: Workstation) -> None:
    store = desk_with_pins.store
    store.append(
        STAFF_STREAM,
        len(store.read(STAFF_STREAM)),
        [Draft("odd", 1, "{}")],
        attribute("2031-05-04T03:12:00Z", "", ""),
    )
    with pytest.raises(StoreDamaged, match='The record of list "staff" cannot be read'):
        desk_with_pins.identity.sign_on("KM", PIN)


# What is kept of a PIN


def list_files(folder: Path) -> Iterator[Path]:
    return (path for path in folder.rglob("*") if path.is_file())


def test_no_pin_is_in_any_file_of_the_store_right_or_wrong_nor_in_a_copy(
    pins: Callable[[], Workstation], tmp_path: Path, caplog: pytest.LogCaptureFixture
) -> None:
    desk = pins()
    refuse(desk, "KM")
    assert desk.identity.sign_on("RA", OTHER_PIN) == ""
    assert list_staff(desk).reset("KM", Pin(PIN), "admin") == ""
    assert desk.identity.sign_on("KM", PIN) == ""
    with closing(sqlite3.connect(tmp_path / "store" / "backup.sqlite")) as backup:
        desk.store._connection.backup(backup)  # type: ignore[attr-defined]
    files = list(list_files(tmp_path / "store"))
    assert len(files) > 1
    assert any(b"signed-in" in path.read_bytes() for path in files)
    kept = b"".join(path.read_bytes() for path in files) + repr(list(desk.store.read_all())).encode()
    for pin in (PIN, OTHER_PIN, WRONG):
        assert pin.encode() not in kept
        assert pin not in caplog.text


@pytest.mark.parametrize("how", ["sign on", "verify", "weight"])
def test_no_pin_is_in_a_traceback_even_with_the_variables_of_every_frame(
    desk_with_pins: Workstation, monkeypatch: pytest.MonkeyPatch, how: str
) -> None:
    assert desk_with_pins.identity.sign_on("KM", PIN) == ""
    opened = start(desk_with_pins, weight="3900", gestation="30+2")

    def fail(*_: object, **__: object) -> None:
        raise StoreFailed("the disk is gone")

    monkeypatch.setattr(type(desk_with_pins.store), "append", fail)
    with pytest.raises(StoreFailed) as caught:
        {
            "sign on": lambda: desk_with_pins.identity.sign_on("RA", OTHER_PIN),
            "verify": lambda: desk_with_pins.identity.verify("RA", OTHER_PIN),
            "weight": lambda: opened.baby.confirm_weight("3900", "RA", OTHER_PIN),
        }[how]()
    assert desk_with_pins.identity.who == "KM", "nobody is let in where it cannot be recorded"
    shown = traceback.TracebackException.from_exception(caught.value, capture_locals=True)
    ours = [frame for frame in shown.stack if f"{os.sep}prepkit{os.sep}" in frame.filename]
    assert any("Pin(...)" in repr(frame.locals) for frame in ours)
    assert [frame.name for frame in ours if OTHER_PIN in repr(frame.locals)] == []
    assert OTHER_PIN not in "".join(traceback.format_exception(caught.value))
