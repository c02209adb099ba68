"""Where in the screens a person is, as text short enough to hand to a new program that opens there.

A place names who is signed in, the preparation, the screen and how far it is scrolled; never anything that was typed.
`routes` knows how to get there. Kept apart from it because the first screen needs places, and must load no other
screen.
"""

import json

from msgspec import Struct, to_builtins
from msgspec.structs import fields

MOST_CHARACTERS = 1000
"""No place that was written here is longer."""


class Place(Struct, frozen=True):
    """Where somebody is; empty where nobody is at the desk yet."""

    who: str = ""
    prep: str = ""
    screen: str = ""
    subject: str = ""
    """The line, the step or the entry that the screen is about."""
    mark: str = ""
    """Key of the marked row."""
    rows: int = 0
    """How many rows of the column have been scrolled away."""
    under: str = ""
    """The screens between the list and this one, with spaces between them: where Back leads."""


HOME = Place()


def write_place(place: Place) -> str:
    """A place as text."""
    return json.dumps(to_builtins(place), ensure_ascii=False)


def read_place(text: str) -> Place:
    """Read a place; home where the text is not one."""
    if len(text) > MOST_CHARACTERS:
        return HOME
    try:
        read = json.loads(text)
    except ValueError:
        return HOME
    kinds = {field.name: type(field.default) for field in fields(Place)}
    if not isinstance(read, dict) or any(type(value) is not kinds.get(name) for name, value in read.items()):
        return HOME
    return Place(**read)
