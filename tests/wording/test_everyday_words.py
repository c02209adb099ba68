"""Words that the users of a night stumbled over stand nowhere, and what kits say keeps to the style of the house."""

import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from shipped import KIT_IDS, read_kit_text

from prepkit.kit.kit import Kit
from prepkit.kit.read import read_kit

TOP = Path(__file__).parents[2]
STUMBLED_OVER = (
    "stays shut",
    "nothing known rules out for",
    "looks afterwards",
    "look afterwards",
    "not made: ",
    '"not made"',
    ": to say",
    '"to say"',
    ": to give",
    '"to give"',
    "nobody gave it",
    "only assumed",
    "never passed",
    "surfactant comes back",
    "converted to",
    "stand beside every tick",
    "see whether it is ready",
    "take it in on the list",
    "try it now",
    "11 of 35",
    "and so babies under 3 kg",
)
"""What users read twice or misread, in small letters."""
QUOTED = {"changelog.md", "style.md"}
"""Pages that may quote what stood there before."""
VERBS = frozenset(
    {
        "agree",
        "ask",
        "block",
        "check",
        "choose",
        "confirm",
        "connect",
        "discard",
        "draw",
        "flush",
        "give",
        "have",
        "hold",
        "keep",
        "lay",
        "listen",
        "leave",
        "look",
        "mark",
        "measure",
        "move",
        "pass",
        "prescribe",
        "put",
        "read",
        "repeat",
        "say",
        "secure",
        "set",
        "spread",
        "stop",
        "swirl",
        "take",
        "turn",
        "use",
        "warm",
        "wean",
    }
)
"""The first words of the instructions in the shipped kits."""
ORDERS = VERBS | {"never", "not", "do", "only"}


def list_written() -> Iterator[Path]:
    for folder in ("prepkit", "kits", "docs", "demo"):
        for kind in ("py", "toml", "md", "html", "js"):
            yield from sorted((TOP / folder).rglob(f"*.{kind}"))
    yield TOP / "README.md"


def find_said(text: str) -> list[str]:
    """Find the old words in a text; a sentence may be cut into two literals, or into two lines."""
    joined = " ".join(re.sub(r'"\s*f?"', "", text).lower().split())
    return [words for words in STUMBLED_OVER if words in joined]


def test_no_word_that_users_stumbled_over_is_said_again() -> None:
    files = [path for path in list_written() if path.name not in QUOTED]
    assert len(files) > 300
    found = {str(path.relative_to(TOP)): find_said(path.read_text("utf-8")) for path in files}
    assert {path: words for path, words in found.items() if words} == {}


def test_a_sentence_cut_in_two_is_found_all_the_same() -> None:
    assert find_said('f"only "\n    f"assumed: {label}"') == ["only assumed"]
    assert find_said("The mark is never\n    passed.") == ["never passed"]


def take_kit(kit: str) -> Kit:
    read, problems = read_kit(read_kit_text(kit), f"{kit}.toml")
    assert read is not None, problems
    return read.model


def list_instructions(kit: Kit) -> Iterator[str]:
    cot = kit.procedure
    steps = (*cot.step, *cot.happening, *cot.follow_up) if cot else ()
    for row in (*kit.line, *steps):
        yield from row.how
    for product in kit.product:
        yield from product.handling


def find_first_word(words: str) -> str:
    return re.split(r"\W", words.lower(), maxsplit=1)[0]


@pytest.mark.parametrize("kit", KIT_IDS)
def test_an_instruction_begins_with_its_verb(kit: str) -> None:
    said = list(list_instructions(take_kit(kit)))
    assert said
    assert [words for words in said if find_first_word(words) not in VERBS | {"do"}] == []


@pytest.mark.parametrize("kit", KIT_IDS)
def test_a_caution_says_what_can_happen_and_gives_no_order(kit: str) -> None:
    read = take_kit(kit)
    said = [words for line in read.line for words in line.cautions]
    advice = [each.text for product in read.product for each in product.advice]
    assert said
    assert [words for words in said if find_first_word(words) in ORDERS] == []
    assert [words for words in advice if find_first_word(words) in VERBS] == []


@pytest.mark.parametrize("kit", KIT_IDS)
def test_the_briefing_says_who_does_what_when_to_stop_and_the_way_back(kit: str) -> None:
    (line,) = [line for line in take_kit(kit).line if line.id == "team-briefed"]
    said = " ".join(line.how)
    for words in ("holds what is in it", "who gives", "who watches", "who writes", "when to stop", "way back"):
        assert words in said
