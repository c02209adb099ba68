"""The kept corpus of the fuzzer goes through every target again; the fuzzer itself is `python tests/fuzz/run.py`."""

from pathlib import Path

import pytest
from targets import TARGETS

CORPUS = Path(__file__).parent / "corpus"


@pytest.mark.parametrize("name", TARGETS)
def test_everything_the_fuzzer_kept_still_holds_its_law(name: str) -> None:
    kept = sorted((CORPUS / name).iterdir())
    assert kept
    for each in kept:
        TARGETS[name](each.read_bytes())


@pytest.mark.parametrize("name", TARGETS)
def test_nothing_at_all_holds_the_law_too(name: str) -> None:
    TARGETS[name](b"")
