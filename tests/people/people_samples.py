"""Invented people, and a staff list folded from events a minute apart."""

from datetime import UTC, datetime, timedelta

from prepkit.attribution import Attribution
from prepkit.people.events import PersonAdded, PinRefused, StaffPayload
from prepkit.people.staff import Staff, apply

START = datetime(2031, 5, 4, 3, 0, tzinfo=UTC)
HASH = "$argon2id$v=19$m=65536,t=3,p=4$c2FsdHNhbHRzYWx0$dGFndGFndGFn"
OTHER_HASH = HASH.replace("$dGFn", "$b3Ro")
KM = PersonAdded("KM", "registrar", HASH)
LATER = timedelta(minutes=1)


def fold(*payloads: StaffPayload, staff: Staff | None = None, at: datetime = START) -> Staff:
    staff = staff or Staff()
    for payload in payloads:
        staff = apply(staff, staff.seq + 1, Attribution(payload.initials, at, "desk 1"), payload)
    return staff


def refuse(times: int, initials: str = "KM", at: datetime = START) -> Staff:
    return fold(KM, *[PinRefused(initials)] * times, at=at)
