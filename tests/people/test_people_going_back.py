"""What is said of a staff list that goes back to how it was."""

from people_samples import HASH, KM, OTHER_HASH, fold

from prepkit.people.events import PersonAdded, PersonRemoved, PinRefused, PinReset
from prepkit.people.staff import TRIES_BEFORE_WAIT, compare_staff

RA = PersonAdded("RA", "nurse", HASH)


def test_of_a_list_that_stays_as_it_is_nothing_is_said() -> None:
    assert compare_staff(fold(KM, RA), fold(RA, KM)) == ()


def test_a_pin_that_was_changed_since_is_named_and_how_to_set_another() -> None:
    (said,) = compare_staff(fold(KM, RA, PinReset("KM", OTHER_HASH)), fold(KM, RA))
    assert said == "KM has their PIN of then again. To give another one: prepkit staff reset KM"


def test_a_pin_that_somebody_did_not_have_then_is_named() -> None:
    (said,) = compare_staff(fold(KM), fold(PersonAdded("KM", "registrar", "")))
    assert said.startswith("KM has no PIN again, as then.")


def test_whoever_was_taken_off_or_put_on_since_is_named() -> None:
    back, gone = compare_staff(fold(KM, RA, PersonRemoved("KM")), fold(KM))
    assert back.startswith("KM is on the staff list again (registrar), as then.")
    assert gone.startswith("RA is not on the staff list any more, as then.")


def test_a_role_of_then_is_named() -> None:
    (said,) = compare_staff(fold(KM), fold(PersonAdded("KM", "student nurse", HASH)))
    assert said == "KM is a student nurse again, as then, and no registrar."


def test_a_wait_that_ends_with_it_is_named_and_no_hash_is_ever_shown() -> None:
    refused = fold(KM, RA, *[PinRefused("ZZ")] * TRIES_BEFORE_WAIT, *[PinRefused("RA")] * (TRIES_BEFORE_WAIT - 1))
    assert compare_staff(refused, fold(KM, RA)) == ("The wait of ZZ after refused PINs is over with it.",)
    said = compare_staff(fold(KM, PinReset("KM", OTHER_HASH)), fold(KM))
    assert "argon2" not in " ".join(said)
