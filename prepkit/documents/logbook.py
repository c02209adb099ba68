"""One person's logbook (`prepkit mine`): what they prepared, checked and gave, with whom; practice apart."""

import json
from collections.abc import Iterable, Iterator, Sequence

from msgspec import Struct

from prepkit.canonical import write_canonical
from prepkit.documents.safe_text import PRACTICE, make_plain, wrap_words
from prepkit.preparation.baby.events import FactGiven, SeniorAgreed, WeightConfirmed
from prepkit.preparation.bedside.events import StepDone
from prepkit.preparation.check.events import CheckEntered, CheckRead
from prepkit.preparation.events import Event, ReadAloud
from prepkit.preparation.lines.events import SetAside, Ticked
from prepkit.preparation.state import Preparation

_PREPARED = (FactGiven, WeightConfirmed, Ticked, SetAside)
_CHECKED = (CheckRead, CheckEntered)


class Part(Struct, frozen=True):
    """One person's part in one preparation."""

    day: str
    cot: str
    kit: str
    did: tuple[str, ...]
    """ "prepared", "checked", "given", "read aloud", "agreed as senior". """
    others: tuple[str, ...]
    """Under whom and with whom, in words: who checked, which senior agreed, who read aloud."""
    ended: str
    practice: bool


class TeamRoles(Struct, frozen=True):
    """Who had which part in one preparation."""

    day: str
    cot: str
    kit: str
    roles: tuple[tuple[str, tuple[str, ...]], ...]
    """What was done and by whom, in the order of `Part.did`."""
    ended: str
    practice: bool


def make_team_roles(events: Sequence[Event], state: Preparation) -> TeamRoles:
    """Who had which part in a preparation."""
    record = state.cot_record
    ended = "closed" if record.closed else "stood down" if state.stood_down else "in progress"
    outcome = f"{ended}: {record.outcome.outcome}" if record.outcome else ended
    roles = tuple(_list_roles(events).items())
    return TeamRoles(f"{state.started.at:%Y-%m-%d}", state.cot, state.kit_name, roles, outcome, state.practice)


def find_part(who: str, team: TeamRoles) -> Part | None:
    """What somebody did on a preparation; None where they did nothing on it."""
    did = tuple(role for role, people in team.roles if who in people)
    if not did:
        return None
    others = tuple(
        f"{role} by {', '.join(found)}"
        for role, people in team.roles
        if (found := [each for each in people if each != who])
    )
    return Part(team.day, team.cot, team.kit, did, others, team.ended, team.practice)


def write_team_roles(team: TeamRoles) -> str:
    """Write it as a line of text to be kept beside the record: a JSON array of its fields in their order."""
    s = team
    return write_canonical([s.day, s.cot, s.kit, s.roles, s.ended, s.practice])


def read_team_roles(text: str) -> TeamRoles:
    """Read what `write_team_roles` wrote. Raises ValueError for anything else."""
    try:
        day, cot, kit, roles, ended, practice = json.loads(text)
        return TeamRoles(day, cot, kit, tuple((role, tuple(people)) for role, people in roles), ended, practice)
    except TypeError as error:
        raise ValueError(f"not a preparation: {error}") from error


def write_logbook_text(who: str, parts: Iterable[Part]) -> str:
    """The list in plain text: what counts first, practice apart."""
    found = tuple(parts)
    return make_plain("\n".join(_write(who, found)) + "\n")


def _list_roles(events: Sequence[Event]) -> dict[str, tuple[str, ...]]:
    return {
        "prepared": _list_people(events, _PREPARED),
        "checked": _list_people(events, _CHECKED),
        "given": _list_people(events, (StepDone,)),
        "read aloud": _list_people(events, (ReadAloud,)),
        "agreed as senior": tuple(
            dict.fromkeys(each.payload.senior for each in events if isinstance(each.payload, SeniorAgreed))
        ),
    }


def _list_people(events: Sequence[Event], kinds: tuple[type, ...]) -> tuple[str, ...]:
    seconds = [each.payload.second for each in events if isinstance(each.payload, WeightConfirmed)]
    also = [each for each in seconds if each] if WeightConfirmed in kinds else []
    return tuple(dict.fromkeys([*(each.stamp.who for each in events if isinstance(each.payload, kinds)), *also]))


def _write(who: str, parts: tuple[Part, ...]) -> Iterator[str]:
    real = [part for part in parts if not part.practice]
    practice = [part for part in parts if part.practice]
    yield f"{who}: {_count(real)}"
    yield from _write_parts(real)
    if practice:
        yield ""
        yield f"{PRACTICE}: {_count(practice)}"
        yield from _write_parts(practice)
    yield ""
    yield from wrap_words('"Given" is who entered the steps at the cot. Initials are as they were signed on with.', "")


def _count(parts: Sequence[Part]) -> str:
    counts = [f"{role} {sum(role in part.did for part in parts)}" for role in ("prepared", "checked", "given")]
    return f"{len(parts)} preparation{'' if len(parts) == 1 else 's'} · {' · '.join(counts)}"


def _write_parts(parts: Sequence[Part]) -> Iterator[str]:
    for part in parts:
        under = f" · {'; '.join(part.others)}" if part.others else " · alone"
        practice = "practice · " if part.practice else ""
        words = f"{practice}{part.cot} · {part.kit} · {', '.join(part.did)}{under} · {part.ended}"
        yield from wrap_words(words, f"  {part.day}  ")
