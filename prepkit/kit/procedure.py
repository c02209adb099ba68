"""What a kit says of the time at the cot and afterwards, and what a ward adds: steps, readings, follow-ups."""

from typing import Annotated, ClassVar, Literal, TypeAlias

from msgspec import Meta

from prepkit.kit.fields import AnyAmount, Based, FactId, Id, Ids, Share, Spec, Text, Texts, Time

FactIds = tuple[FactId, ...]


class NumberReading(Spec, frozen=True, kw_only=True, tag="amount", tag_field="kind"):
    """Something read off or measured, with a unit: a heart rate, a volume."""

    kind: ClassVar[Annotated[Literal["amount"], Meta(description="a number with a unit")]] = "amount"
    id: Annotated[FactId, Meta(description="its id; steps, happenings and follow-ups name it")]
    label: Annotated[Text, Meta(description="its name on the screen")]
    ask: Annotated[Text, Meta(description="the question, as a sentence")]
    least: Annotated[
        AnyAmount, Meta(description="no number below this is taken: a guard against slips, not a clinical limit")
    ]
    most: Annotated[AnyAmount, Meta(description="no number above this is taken")]


class WordReading(Spec, frozen=True, kw_only=True, tag="choice", tag_field="kind"):
    """Something seen, in one of a few words: breathing effort."""

    kind: ClassVar[Annotated[Literal["choice"], Meta(description="one of a few words")]] = "choice"
    id: Annotated[FactId, Meta(description="its id; steps, happenings and follow-ups name it")]
    label: Annotated[Text, Meta(description="its name on the screen")]
    ask: Annotated[Text, Meta(description="the question, as a sentence")]
    options: Annotated[tuple[Text, ...], Meta(min_length=2, max_length=6, description="the words to choose from")]


class PersonReading(Spec, frozen=True, kw_only=True, tag="person", tag_field="kind"):
    """Who does something at the cot: who holds the device. One person may do several things."""

    kind: ClassVar[Annotated[Literal["person"], Meta(description="a person's initials")]] = "person"
    id: Annotated[FactId, Meta(description="its id; steps and happenings name it")]
    label: Annotated[Text, Meta(description="its name on the screen")]
    ask: Annotated[Text, Meta(description="the question, as a sentence")]


Reading: TypeAlias = NumberReading | WordReading | PersonReading


class ClockEnd(Based, frozen=True, kw_only=True):
    """When a clock has run out, and what holds before and after."""

    after: Annotated[Time, Meta(description="how long after the step")]
    until: Annotated[Text, Meta(description="what holds until then: no airway suction, unless it is blocked")]
    past: Annotated[Text, Meta(description="what holds from then on: it no longer helps")]


class Step(Based, frozen=True, kw_only=True):
    """Something done at the cot, in the order of the file; one touch records when."""

    id: Annotated[Id, Meta(description="the step's id")]
    name: Annotated[Text, Meta(description="what is done, in a few words")]
    how: Annotated[Texts, Meta(description="what to mind, a sentence each")] = ()
    lines: Annotated[Ids, Meta(description="the lines whose amount a hand needs with it")] = ()
    asks: Annotated[FactIds, Meta(description="the readings asked for with it")] = ()
    clock: Annotated[
        Text | None,
        Meta(
            description="what a clock that starts here is called: since sucrose; it takes the place of one of that name"
        ),
    ] = None
    clock_end: Annotated[ClockEnd | None, Meta(description="when that clock has run out; without it, never")] = None


class Happening(Based, frozen=True, kw_only=True):
    """Something that is not in the plan and may happen."""

    id: Annotated[Id, Meta(description="its id")]
    name: Annotated[Text, Meta(description="what happened, in a few words")]
    asks: Annotated[FactIds, Meta(description="the readings asked for with it")] = ()
    how: Annotated[Texts, Meta(description="what is done then, a sentence each")] = ()
    rescue: Annotated[bool, Meta(description="whether the rescue lines are shown with it")] = False


class FollowUp(Based, frozen=True, kw_only=True):
    """A look at the baby some time after a step."""

    id: Annotated[Id, Meta(description="its id")]
    name: Annotated[Text, Meta(description="what it is called where it is due")]
    since: Annotated[Id, Meta(description="the step it counts from")]
    after: Annotated[Time, Meta(description="how long after that step it is due")]
    asks: Annotated[FactIds, Meta(min_length=1, description="the readings that are taken")]
    how: Annotated[Texts, Meta(description="what to do with it, a sentence each")] = ()


class Afterwards(Spec, frozen=True, kw_only=True):
    """What the record needs before it can be closed."""

    line: Annotated[Id, Meta(description="the dose line whose medicine was given")]
    given: Annotated[FactId, Meta(description="the reading that says how much was given")]
    recovered: Annotated[
        FactId | None, Meta(description="the reading that says how much of it was recovered from the stomach")
    ] = None
    attempts: Annotated[
        FactId | None, Meta(description="the reading that says at which attempt it was in, the first attempt first")
    ] = None
    outcomes: Annotated[
        tuple[Text, ...], Meta(min_length=2, max_length=8, description="how it may have gone, one of which is chosen")
    ]
    complications: Annotated[
        tuple[Text, ...], Meta(max_length=12, description="what may have gone wrong, any of which may be chosen")
    ] = ()


class WardAfterwards(Spec, frozen=True, kw_only=True):
    """The ward's follow-up beside that of its kits, and what it does where much of a dose is recovered."""

    follow_up: Annotated[
        tuple[Time, ...],
        Meta(description="when the baby is looked at beside the kit's own times; asked as in its first follow-up"),
    ] = ()
    recovered_over: Annotated[
        Share | None, Meta(description="the share recovered past which the record says what to do then")
    ] = None
    then: Annotated[Text, Meta(description="what to do then, in the ward's words")] = ""
    source: Annotated[Text, Meta(description='where it comes from, in words: a paper\'s number, or "ours, unsourced"')]


class Procedure(Spec, frozen=True, kw_only=True):
    """The time at the cot and afterwards."""

    rescue: Annotated[Ids, Meta(description="the groups of lines that are shown large when something happens")] = ()
    reading: Annotated[
        tuple[Reading, ...], Meta(description="what is read off or measured at the cot and afterwards")
    ] = ()
    step: Annotated[tuple[Step, ...], Meta(min_length=1, description="what is done at the cot, in order")]
    happening: Annotated[tuple[Happening, ...], Meta(description="what is not in the plan and may happen")] = ()
    follow_up: Annotated[tuple[FollowUp, ...], Meta(description="when the baby is looked at again")] = ()
    afterwards: Annotated[Afterwards | None, Meta(description="what the record needs before it can be closed")] = None


class SharedRows(Spec, frozen=True, kw_only=True):
    """What a fragment holds of the time at the cot."""

    reading: Annotated[tuple[Reading, ...], Meta(description="readings that a kit's procedure may place")] = ()
    step: Annotated[tuple[Step, ...], Meta(description="steps that a kit's procedure may place")] = ()
    happening: Annotated[tuple[Happening, ...], Meta(description="happenings that a kit's procedure may place")] = ()
    follow_up: Annotated[tuple[FollowUp, ...], Meta(description="follow-ups that a kit's procedure may place")] = ()
