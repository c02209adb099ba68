"""Puts a finding into words, by its kind; the findings among its values are put into words first."""

from collections.abc import Callable, Iterable, Iterator, Mapping

from prepkit.rules.findings import Citation, Finding, Kind
from prepkit.wording import doses, draw_ups, layers, lines
from prepkit.wording.things import say_citation

WORDS: Mapping[Kind, Callable[..., str]] = {**lines.WORDS, **doses.WORDS, **draw_ups.WORDS, **layers.WORDS}
"""Each takes the finding's values by their names."""
NESTED: Mapping[Kind, Callable[..., str]] = {**lines.NESTED, **doses.NESTED, **layers.NESTED}
"""Of what is made of other findings, whose words stand among the values."""
STEPS: Mapping[Kind, Callable[..., tuple[str, ...]]] = draw_ups.STEPS
"""Of what takes several sentences."""
_MOST_SAID = 20
_SAID: dict[int, tuple[tuple[Finding | str, ...], tuple[str, ...]]] = {}
"""What was put into words last, by the `id` of the tuple, which it keeps: a trial says again what its lines found."""


def say(found: Finding | Citation | str | None) -> str:
    """Put what was found into words; words of a kit or a ward file as they are; nothing as an empty string."""
    if isinstance(found, Finding):
        word = WORDS.get(found.kind)
        if word is not None:
            return word(**found.values)
        return NESTED[found.kind](**{name: _word(value) for name, value in found.values.items()})
    return say_citation(found) if isinstance(found, Citation) else found or ""


def say_all(found: Iterable[Finding | str]) -> tuple[str, ...]:
    """Put findings into sentences, in their order."""
    if not isinstance(found, tuple):
        return tuple(_say_each(found))
    if not found:
        return ()
    said = _SAID.get(id(found))
    if said is None:
        said = found, tuple(_say_each(found))
        if len(_SAID) >= _MOST_SAID:
            _SAID.clear()
        _SAID[id(found)] = said
    return said[1]


def _say_each(found: Iterable[Finding | str]) -> Iterator[str]:
    for each in found:
        if isinstance(each, Finding) and each.kind in STEPS:
            yield from STEPS[each.kind](**each.values)
        else:
            yield say(each)


def say_by_word(details: Iterable[Finding]) -> tuple[str, ...]:
    """Put a line's details into words for a paper: what is in the syringe and what is due apart, by word."""
    said = (
        draw_ups.BY_WORD[each.kind](**each.values) if each.kind in draw_ups.BY_WORD else (say(each),)
        for each in details
    )
    return tuple(words for each in said for words in each)


def say_joined(found: Iterable[Finding | Citation | str]) -> str:
    """Put findings into one phrase."""
    return "; ".join(filter(None, map(say, found)))


def _word(value: object) -> object:
    if isinstance(value, Finding):
        return say(value)
    if not isinstance(value, tuple):
        return value
    return say_all(value) if value and isinstance(value[0], Finding) else tuple(map(_word, value))
