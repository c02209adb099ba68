"""What a desk knows of the way to its store, whatever the machine's clock does and whatever stands in the records."""

import pytest
from workstation_scene import Clock

from prepkit.app.connectivity import SETTLED_AFTER, Connectivity
from prepkit.errors import PrepkitError, StoreDamaged, StoreUnsure


class Seconds:
    """Seconds that only go forward, moved by the test."""

    def __init__(self) -> None:
        self.now = 100.0

    def __call__(self) -> float:
        return self.now


class OneRecord:
    """A store in reach, with news once; what is read of it is nothing, or an error."""

    def __init__(self) -> None:
        self.error: PrepkitError | None = None
        self.news = False

    def has_news(self) -> bool:
        news, self.news = self.news, False
        return news

    def read(self, _prep: str, _after: int) -> tuple[()]:
        if self.error is not None:
            raise self.error
        return ()


@pytest.fixture
def seconds() -> Seconds:
    return Seconds()


@pytest.fixture
def store() -> OneRecord:
    return OneRecord()


@pytest.fixture
def reach(store: OneRecord, clock: Clock, seconds: Seconds) -> Connectivity:
    """The way to a store that went while something was being saved, and has just come back."""
    made = Connectivity(store, clock, seconds)  # type: ignore[arg-type]  (as much of a store as it asks)
    made.note(StoreUnsure("went out of reach", "a", 3, (("ticked", 1),)))
    assert made.look()
    return made


def test_a_clock_set_forward_tells_nothing_before_it_can_be_known(
    reach: Connectivity, clock: Clock, seconds: Seconds
) -> None:
    clock.move(hours=1)
    assert not reach.look()
    assert reach.take_words() == ()
    seconds.now += SETTLED_AFTER
    assert reach.look()
    assert "not saved: do it again" in reach.take_words()[0]


def test_a_clock_set_back_keeps_nobody_waiting(reach: Connectivity, clock: Clock, seconds: Seconds) -> None:
    clock.move(hours=-1)
    seconds.now += SETTLED_AFTER
    assert reach.look()
    assert len(reach.take_words()) == 1


def test_a_record_that_cannot_be_read_is_said_and_keeps_no_news_away(
    reach: Connectivity, store: OneRecord, seconds: Seconds
) -> None:
    store.error, store.news = StoreDamaged("record 3 was changed"), True
    seconds.now += SETTLED_AFTER
    assert reach.look()
    (words,) = reach.take_words()
    assert "cannot be told" in words
    assert "saved" in words
    store.news = True
    assert reach.look()
    assert reach.take_words() == ()
    assert reach.show() == ""
