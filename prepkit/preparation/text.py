"""What people type (free text, initials, the cot label), checked and cleaned; and the refusal of what cannot be taken.

Text that could hide or reorder what is beside it (control characters, escape sequences, direction controls, characters
without a shape) is refused, never silently repaired. Loaded at the first screen: imports no events.
"""

import unicodedata

from msgspec import Struct

from prepkit.attribution import Attribution

MOST_IN_A_LABEL = 20
MOST_IN_A_TEXT = 200
LEAST_IN_A_REASON = 3
"""One or two letters are no reason."""

_SPACES = str.maketrans({"\u00a0": " ", "\u202f": " "})
"""No-break spaces, which some keyboards type for an ordinary one."""

_SHAPELESS = frozenset("\u034f\u115f\u1160\u2800\u3164\uffa0")
"""Characters that count as printable and show nothing: the joiner, the fillers and the blank pattern."""

_FAR_TOO_MUCH = 5_000


class Refusal(Struct, frozen=True):
    """A command that was not carried out, and why, as a sentence for a person."""

    reason: str


def check_text(typed: str, what: str, *, most: int = MOST_IN_A_TEXT, least: int = 1) -> str | Refusal:
    """Clean one line of free text: outer spaces off, runs of spaces become one, accents composed.

    `what` names the text in the refusal ("reason"); lengths are in characters after cleaning.
    """
    if len(typed) > _FAR_TOO_MUCH:
        return Refusal(f"The {what} is too long: at most {most} characters (got {len(typed)}).")
    spaced = typed.translate(_SPACES).strip()
    for character in spaced:
        if not character.isprintable() or character in _SHAPELESS or _is_selector(character):
            return Refusal(_say_hidden(what, character))
    text = unicodedata.normalize("NFC", " ".join(spaced.split()))
    if not text:
        return Refusal(f"The {what} is empty: type it.")
    if len(text) < least:
        return Refusal(f"The {what} is too short: at least {least} characters (got {text!r}).")
    if len(text) > most:
        return Refusal(f"The {what} is too long: at most {most} characters (got {len(text)}).")
    return text


def check_cot(typed: str) -> str | Refusal:
    """Clean a cot label: 1 to 20 printable characters, at least one of them a letter or a digit."""
    label = check_text(typed, "cot label", most=MOST_IN_A_LABEL)
    if isinstance(label, str) and not any(character.isalnum() for character in label):
        return Refusal(f"The cot label needs a letter or a digit (got {label!r}).")
    return label


def check_initials(typed: str) -> str | Refusal:
    """Clean a person's initials: 2 to 4 letters, returned in upper case."""
    text = check_text(typed, "initials") if typed.strip() else ""
    if isinstance(text, Refusal):
        return Refusal("Initials are 2 to 4 letters: something else was typed with them.")
    initials = text.upper()
    if not initials.isalpha() or not 2 <= len(initials) <= 4:  # noqa: PLR2004 - the sentence below says them
        return Refusal(f"Initials are 2 to 4 letters (got {text[:MOST_IN_A_LABEL]!r}).")
    return initials


def say_stamp(stamp: Attribution) -> str:
    """Say who and when: "AB at 03:12", in the time of day of the stamp's own offset."""
    return f"{stamp.who} at {stamp.at:%H:%M}"


def _is_selector(character: str) -> bool:
    """Say whether a character only chooses among shapes of the one before it."""
    return "\ufe00" <= character <= "\ufe0f" or "\U000e0100" <= character <= "\U000e01ef"


def _say_hidden(what: str, character: str) -> str:
    number = f"U+{ord(character):04X}"
    if character in "\n\r\t":
        return f"The {what} has a line break or a tab in it ({number}): write it on one line."
    return f"The {what} has a character in it that cannot be shown ({number}): type it again without that character."
