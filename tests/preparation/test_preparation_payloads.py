"""Every kind of event: stored, folded and shown. A kind that somebody adds and forgets in one place fails here."""

import importlib
import pkgutil
from collections.abc import Iterator

import pytest

import prepkit.preparation
from prepkit.documents import timeline
from prepkit.preparation.events import PAYLOADS, Payload, Started
from prepkit.preparation.payload import EventPayload
from prepkit.preparation.state import apply

SHOWN_ELSEWHERE = {
    # with the baby's facts and answers, and with the lines of the list
    *("fact-given", "listed", "ordered"),
    *("value-entered", "ticked", "unticked", "set-aside", "restored", "in-hand", "put-back"),
    *("check-entered", "difference-settled"),
    # as entries of the timeline, and beneath it
    *("step-done", "step-left-out", "happened", "reading-given", "time-corrected", "struck", "entry-noted"),
    *("follow-up-set", "follow-up-missed", "outcome-given", "complications-said", "addendum-written"),
}
"""The kinds that are no milestone of a record's timeline, since the record shows them in another place."""


def list_kinds(cls: type[EventPayload]) -> Iterator[type[EventPayload]]:
    for each in cls.__subclasses__():
        if hasattr(each, "KIND"):
            yield each
        yield from list_kinds(each)


def test_every_kind_that_is_declared_can_be_stored() -> None:
    for module in pkgutil.walk_packages(prepkit.preparation.__path__, "prepkit.preparation."):
        importlib.import_module(module.name)
    ours = {each for each in list_kinds(EventPayload) if each.__module__.startswith("prepkit.")}
    assert ours == set(PAYLOADS)
    assert len({(each.KIND, each.FORM) for each in PAYLOADS}) == len(PAYLOADS)


@pytest.mark.parametrize("cls", [each for each in PAYLOADS if each is not Started])
def test_every_kind_has_a_reducer_in_its_subject(cls: type[Payload]) -> None:
    """All but the first, from which the state is made."""
    reducer = apply.dispatch(cls)
    assert reducer is not apply.dispatch(object)
    subject = cls.__module__.removesuffix("events")
    assert reducer.__module__ in {f"{subject}apply", f"{subject}evolve"}


def test_every_kind_is_a_milestone_of_the_timeline_or_shown_elsewhere() -> None:
    milestones = {each.KIND for each in timeline._MILESTONES}
    assert milestones | SHOWN_ELSEWHERE == {each.KIND for each in PAYLOADS}
    assert not milestones & SHOWN_ELSEWHERE
