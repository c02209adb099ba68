"""What the tests of papers share: the worked night, kept once, and commands run in this process."""

import importlib.util
import sys
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from types import ModuleType
from typing import Any, TypeAlias

from prepkit.app.eventlog.repository import read_attribution
from prepkit.app.kit_files import load_kit
from prepkit.attribution import Attribution
from prepkit.paths import find_shipped
from prepkit.preparation.decision import Decision
from prepkit.preparation.events import Event, Payload
from prepkit.preparation.evolve import evolve
from prepkit.preparation.listing import make_listed, work_out
from prepkit.preparation.state import Preparation
from prepkit.preparation.text import Refusal
from prepkit.store import Draft, Record, Store

Json: TypeAlias = Any
KITS, WARD = find_shipped("kits"), find_shipped("demo") / "ward.toml"
KIT = "surfactant-supraglottic"
READ, _ = load_kit(KITS / f"{KIT}.toml")
assert READ is not None
KIT_TEXT = READ.text
FIRST = 45
"""How many: a store writes each to the disk."""
NOW = datetime(2026, 11, 25, 9, 0, tzinfo=UTC)


@dataclass(frozen=True)
class Done:
    code: int
    out: str
    err: str


Run: TypeAlias = Callable[..., Done]


def load_night() -> ModuleType:
    """The worked night of `demo/`, as a module."""
    spec = importlib.util.spec_from_file_location("worked_night", find_shipped("demo") / "worked_night.py")
    assert spec is not None
    assert spec.loader is not None
    night = importlib.util.module_from_spec(spec)
    sys.modules["worked_night"] = night
    spec.loader.exec_module(night)
    return night


class Book:
    """One preparation's events as they would be stored, some seconds apart, with real lists."""

    def __init__(self, first: Payload, at: datetime = NOW) -> None:
        self.events: list[Event] = []
        self.at = at
        self.state: Preparation = self._append(None, "RA", first)

    def add(self, payloads: Decision, who: str = "RA", seconds: int = 10) -> bool:
        """Add what was decided; whether it was not refused."""
        if isinstance(payloads, Refusal):
            return False
        self.at += timedelta(seconds=seconds)
        for payload in payloads:
            self.state = self._append(self.state, who, payload)
        return True

    def relist(self) -> None:
        """Add the list as it now comes out."""
        self.add((make_listed(work_out(self.state, self.at + timedelta(seconds=10)), "facts"),))

    def _append(self, state: Preparation | None, who: str, payload: Payload) -> Preparation:
        event = Event(len(self.events) + 1, Attribution(who, self.at, "desk 1"), payload)
        self.events.append(event)
        return evolve(state, event)


def copy_beginning(old: Store, new: Store, prep: str, change: Callable[[Record], str]) -> None:
    """Write the first records of a preparation into a new store, bodies as `change` gives them: the chain is whole."""
    for record in old.read(prep)[:FIRST]:
        draft = Draft(record.kind, record.form, change(record))
        new.append(record.prep, record.seq - 1, [draft], read_attribution(record))


def find_all(value: Json, key: str) -> Iterator[Json]:
    """Every value of a key, however deep."""
    if isinstance(value, dict):
        if key in value:
            yield value[key]
        for inside in value.values():
            yield from find_all(inside, key)
    elif isinstance(value, list):
        for inside in value:
            yield from find_all(inside, key)
