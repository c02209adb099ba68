"""What all tests share: no example of a property is held to a time, since a machine may be busy."""

import pytest
from hypothesis import HealthCheck, settings

settings.register_profile("unhurried", deadline=None, suppress_health_check=[HealthCheck.too_slow])
settings.load_profile("unhurried")
# Mutation testing: the same examples for every mutant (docs/mutation.md).
settings.register_profile("mutation", settings.get_profile("unhurried"), derandomize=True, max_examples=20)


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Under mutation a mutant is done with at its first failure: what takes one example goes before what takes many."""
    if config.getoption("--hypothesis-profile", None) == "mutation":
        items.sort(key=lambda item: hasattr(getattr(item, "obj", None), "hypothesis"))
