"""Whether a second person's own volumes agree with the list.

They agree within the syringe's mark: what was entered rounds to the mark that the list gives.
"""

from collections.abc import Mapping
from fractions import Fraction

from msgspec import Struct

from prepkit.list.lines import ListLine
from prepkit.quantities.amount import Amount, convert, divide, multiply
from prepkit.quantities.text import (
    UnreadableAmountError,
    choose_mass_unit,
    read_amount,
    read_number,
    round_half_up,
    show_amount,
)
from prepkit.rules.rule import VialCount

_MOST_VIALS = 20
_ON_PAPER = Fraction(1, 100)
_TIMES = "\N{MULTIPLICATION SIGN}"


class Entered(Struct, frozen=True):
    """What a second person entered for one line."""

    value: Amount | None
    size: str
    """For a thing that comes in sizes; else empty."""
    vials: tuple[VialCount, ...]

    def show_value(self) -> str:
        """The value as it is shown."""
        return self.size if self.value is None else show_amount(self.value)


def read_entered(line: ListLine, typed: str, counts: Mapping[str, str]) -> Entered | str:
    """Read what was typed for a line; or say what is wrong with it, without a word of what the list has.

    Args:
        line: the line that is checked.
        typed: a number in the line's own unit, or one of its sizes.
        counts: how many of each container, by its size as shown ("3 mL"); left out means none.
    """
    if line.declared.choices:
        size = next((each for each in line.declared.choices if each == typed.strip()), None)
        return f"The size is one of {', '.join(line.declared.choices)}." if size is None else Entered(None, size, ())
    unit = _find_unit(line)
    if unit is None:
        return "Nothing is entered for this line."
    try:
        value = Amount(read_number(typed.strip()), unit.unit)
    except UnreadableAmountError as error:
        return f"What was typed {error.reason}."
    if value.value <= 0:
        return "Enter more than nothing."
    vials = _read_counts(line, counts)
    return vials if isinstance(vials, str) else Entered(value, "", vials)


def check_count(size: str, typed: str) -> str:
    """Say what is wrong with how many of a container are opened; an empty string where nothing is."""
    text = typed.strip()
    fits = text.isascii() and text.isdigit() and int(text) <= _MOST_VIALS
    return "" if fits else f"How many of {size}: a whole number up to {_MOST_VIALS}."


def agrees(line: ListLine, entered: Entered) -> bool:
    """Say whether the entry is what the list has: the value within a mark, the containers exactly."""
    if entered.value is None:
        return entered.size in line.outcome.sizes
    if line.outcome.prescribed is not None and _count(entered.vials) != _count(line.outcome.vials):
        return False
    if line.outcome.amount is None:
        return (
            line.outcome.low is not None
            and line.outcome.high is not None
            and line.outcome.low <= entered.value <= line.outcome.high
        )
    if line.outcome.syringe is None:
        return bool(entered.value.value == convert(line.outcome.amount, entered.value.unit).value)
    volume = convert(entered.value, "mL").value
    at_mark = round_half_up(volume, convert(line.outcome.syringe.marks, "mL").value)
    return bool(at_mark == convert(line.outcome.amount, "mL").value) or _is_exact(line, volume)


def _is_exact(line: ListLine, volume: Fraction) -> bool:
    """Whether the exact volume was entered, rounded as on paper: near half a mark that may round to the next one."""
    return line.outcome.exact is not None and volume == round_half_up(
        convert(line.outcome.exact, "mL").value, _ON_PAPER
    )


def explain_entered(line: ListLine, value: str, vials: str) -> tuple[str, ...]:
    """Give the working back from what was entered: what it would come to for this baby, to be redone on paper.

    `value` is as an `Entered` shows it, `vials` in words, empty where none are asked for.
    """
    opened = (f"Opened: {vials}.",) if vials else ()
    weight = line.outcome.weight
    if line.outcome.recipe is None or weight is None:
        return (f"Entered: {value}.", *opened)
    mass = choose_mass_unit(multiply(read_amount(value), line.outcome.recipe.strength, "mg"))
    per_kg = divide(mass, weight, f"{mass.unit.text}/kg")
    strength = show_amount(line.outcome.recipe.strength)
    return (
        f"Entered: {value} {_TIMES} {strength} = {show_amount(mass, 2)}.",
        f"{show_amount(mass, 2)} ÷ {show_amount(weight)} = {show_amount(per_kg, 2)}.",
        *opened,
    )


def _find_unit(line: ListLine) -> Amount | None:
    found = line.outcome
    return found.amount or found.high or found.low


def _read_counts(line: ListLine, counts: Mapping[str, str]) -> tuple[VialCount, ...] | str:
    if line.outcome.prescribed is None:
        return ()
    vials = []
    # Large ones first, as the list has them.
    for size in sorted(line.outcome.prescribed.holds, reverse=True):
        typed = counts.get(show_amount(size), "").strip() or "0"
        if wrong := check_count(show_amount(size), typed):
            return wrong
        if int(typed):
            vials.append(VialCount(size, int(typed)))
    return tuple(vials) if vials else f"Enter how many to open: at least one {line.outcome.prescribed.container}."


def _count(vials: tuple[VialCount, ...]) -> dict[Amount, int]:
    return {convert(vial.size, "mL"): vial.count for vial in vials}
