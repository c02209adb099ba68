"""The events of a preparation as a whole, what they leave on the state, and the union of every subject's events."""

from typing import ClassVar, TypeAlias, get_args

from msgspec import Struct

from prepkit.attribution import Attribution
from prepkit.preparation.baby.events import BabyPayload
from prepkit.preparation.batches.events import BatchPayload
from prepkit.preparation.bedside.events import BedsidePayload
from prepkit.preparation.check.events import CheckPayload
from prepkit.preparation.handover.events import HandoverPayload
from prepkit.preparation.lines.events import LinePayload
from prepkit.preparation.payload import EventPayload


class Started(EventPayload, frozen=True):
    """A preparation was started for a cot, from a kit and the ward's file, whose full texts it keeps."""

    KIND: ClassVar[str] = "started"
    cot: str
    kit: str
    kit_edition: str
    kit_name: str
    kit_text: str
    ward_text: str | None
    ward_name: str | None
    practice: bool


class ReadAloud(EventPayload, frozen=True):
    """The summary was read aloud and the team goes; counts until anything changes."""

    KIND: ClassVar[str] = "read-aloud"
    KEEPS_READ_ALOUD: ClassVar[bool] = True
    standing: str
    """Fingerprint of the whole ready list."""


class StoodDown(EventPayload, frozen=True):
    """The preparation ended without going to the cot. Nothing comes after it."""

    KIND: ClassVar[str] = "stood-down"
    KEEPS_READ_ALOUD: ClassVar[bool] = True
    reason: str


class WardReplaced(EventPayload, frozen=True):
    """From now on the list is worked out from these texts."""

    KIND: ClassVar[str] = "ward-replaced"
    kit_text: str
    kit_edition: str
    ward_text: str | None
    ward_name: str | None


PreparationPayload: TypeAlias = Started | ReadAloud | StoodDown | WardReplaced

Payload: TypeAlias = (
    PreparationPayload | BabyPayload | LinePayload | BatchPayload | CheckPayload | HandoverPayload | BedsidePayload
)
PAYLOADS: tuple[type[Payload], ...] = get_args(Payload)
"""Every kind that can be stored. A new one stands in its subject's union, and so here."""


class Event(Struct, frozen=True):
    """One entry of a preparation's record."""

    seq: int
    stamp: Attribution
    payload: Payload


class ReadOut(Struct, frozen=True):
    """The summary was read aloud, good until anything changes."""

    fingerprint: str
    stamp: Attribution


class StandDown(Struct, frozen=True):
    """The preparation was stood down."""

    reason: str
    stamp: Attribution
