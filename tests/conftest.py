"""What all tests share: no example of a property is held to a time, since a machine may be busy; one PostgreSQL."""

import os
from typing import TYPE_CHECKING

import pytest
from hypothesis import HealthCheck, Phase, settings

if TYPE_CHECKING:
    from collections.abc import Iterator

    from pg_server import Server

settings.register_profile("unhurried", deadline=None, suppress_health_check=[HealthCheck.too_slow])
settings.load_profile("unhurried")
# Mutation testing: the same examples for every mutant (docs/mutation.md), and none made smaller that fails: it is done.
settings.register_profile(
    "mutation",
    settings.get_profile("unhurried"),
    derandomize=True,
    max_examples=20,
    phases=(Phase.explicit, Phase.generate),
)


def pytest_xdist_auto_num_workers() -> int:
    """Two for each core: half of the time goes into waiting, for screens, for the disk and for child processes."""
    return 2 * (os.cpu_count() or 1)


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Under mutation a mutant is done with at its first failure: what takes one example goes before what takes many."""
    if config.getoption("--hypothesis-profile", None) == "mutation":
        items.sort(key=lambda item: hasattr(getattr(item, "obj", None), "hypothesis"))


@pytest.fixture(scope="session")
def pg_server() -> "Iterator[Server]":
    """A PostgreSQL with the store's tables, started for the first test that asks; one for each worker."""
    from pg_server import ABSENT, find_programs, run_server  # noqa: PLC0415  (loads the driver)

    if find_programs() is None:
        pytest.skip(ABSENT)
    with run_server() as server:
        yield server


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    """Say in one line where PostgreSQL's tests were left out."""
    from pg_server import ABSENT, find_programs  # noqa: PLC0415  (as above)

    if find_programs() is None:
        terminalreporter.write_line(ABSENT)
