"""What a kit says of the time at the cot and afterwards: steps, readings, things that may happen, follow-ups.

May import: `prepkit.kit.fields`, pydantic.
"""

from typing import Annotated, Literal

from pydantic import Field

from prepkit.kit.fields import AnyAmount, Based, FactId, Id, Ids, Share, Spec, Text, Texts, Time

FactIds = Annotated[tuple[FactId, ...], Field(strict=False)]


class NumberReading(Spec):
    """Something read off or measured, with a unit: a heart rate, a volume."""

    kind: Literal["amount"] = Field(description="a number with a unit")
    id: FactId = Field(description="its id; steps, happenings and follow-ups name it")
    label: Text = Field(description="its name on the screen")
    ask: Text = Field(description="the question, as a sentence")
    least: AnyAmount = Field(description="no number below this is taken: a guard against slips, not a clinical limit")
    most: AnyAmount = Field(description="no number above this is taken")


class WordReading(Spec):
    """Something seen, in one of a few words: breathing effort."""

    kind: Literal["choice"] = Field(description="one of a few words")
    id: FactId = Field(description="its id; steps, happenings and follow-ups name it")
    label: Text = Field(description="its name on the screen")
    ask: Text = Field(description="the question, as a sentence")
    options: Annotated[tuple[Text, ...], Field(strict=False, min_length=2, max_length=6)] = Field(
        description="the words to choose from"
    )


Reading = Annotated[NumberReading | WordReading, Field(discriminator="kind")]


class Step(Based):
    """Something done at the cot, in the order of the file; one touch records when."""

    id: Id = Field(description="the step's id")
    name: Text = Field(description="what is done, in a few words")
    how: Texts = Field(default=(), description="what to mind, a sentence each")
    lines: Ids = Field(default=(), description="the lines whose amount a hand needs with it")
    asks: FactIds = Field(default=(), description="the readings asked for with it")
    clock: Text | None = Field(default=None, description="what a clock that starts here is called: since sucrose")


class Happening(Based):
    """Something that is not in the plan and may happen."""

    id: Id = Field(description="its id")
    name: Text = Field(description="what happened, in a few words")
    asks: FactIds = Field(default=(), description="the readings asked for with it")
    how: Texts = Field(default=(), description="what is done then, a sentence each")
    rescue: bool = Field(default=False, description="whether the rescue lines are shown with it")


class FollowUp(Based):
    """A look at the baby some time after a step."""

    id: Id = Field(description="its id")
    name: Text = Field(description="what it is called where it is due")
    since: Id = Field(description="the step it counts from")
    after: Time = Field(description="how long after that step it is due")
    asks: FactIds = Field(min_length=1, description="the readings that are taken")


class Afterwards(Based):
    """What the record needs before it can be closed. The basis is that of `delivered_below`."""

    line: Id = Field(description="the dose line whose medicine was given")
    given: FactId = Field(description="the reading that says how much was given")
    aspirated: FactId = Field(description="the reading that says how much came back")
    attempts: FactId | None = Field(
        default=None,
        description="the reading that says at which attempt it was in, the first attempt first",
    )
    delivered_below: Share = Field(description="the dose counts as delivered where less than this share came back")
    outcomes: Annotated[tuple[Text, ...], Field(strict=False, min_length=2, max_length=8)] = Field(
        description="how it may have gone, one of which is chosen"
    )
    complications: Annotated[tuple[Text, ...], Field(strict=False, max_length=12)] = Field(
        default=(), description="what may have gone wrong, any of which may be chosen"
    )


class Procedure(Spec):
    """The time at the cot and afterwards."""

    rescue: Ids = Field(default=(), description="the groups of lines that are shown large when something happens")
    reading: Annotated[tuple[Reading, ...], Field(strict=False)] = Field(
        default=(), description="what is read off or measured at the cot and afterwards"
    )
    step: Annotated[tuple[Step, ...], Field(strict=False, min_length=1)] = Field(
        description="what is done at the cot, in order"
    )
    happening: Annotated[tuple[Happening, ...], Field(strict=False)] = Field(
        default=(), description="what is not in the plan and may happen"
    )
    follow_up: Annotated[tuple[FollowUp, ...], Field(strict=False)] = Field(
        default=(), description="when the baby is looked at again"
    )
    afterwards: Afterwards | None = Field(default=None, description="what the record needs before it can be closed")
