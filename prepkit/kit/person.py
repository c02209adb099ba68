"""The kind of fact that is who has a role, as a kit declares it."""

from typing import Annotated, ClassVar, Literal

from msgspec import Meta

from prepkit.kit.fields import FactId, Spec, Text


class PersonFact(Spec, frozen=True, kw_only=True, tag="person", tag_field="kind"):
    """A fact that is who has a role: initials, and one thing said with them. One person may have several roles."""

    kind: ClassVar[Annotated[Literal["person"], Meta(description="the kind of fact")]] = "person"
    id: Annotated[FactId, Meta(description="the fact's id; `--set` names it")]
    label: Annotated[Text, Meta(description="its name on the screen")]
    ask: Annotated[Text, Meta(description="the question in full")]
    then: Annotated[Text, Meta(description="the second question in full: what is said with the initials")]
    options: Annotated[tuple[Text, ...], Meta(min_length=2, max_length=6, description="the answers to `then`")]
    and_who: Annotated[
        Text | None, Meta(description="the one of the options after which another person's initials stand")
    ] = None
    or_typed: Annotated[
        Text | None, Meta(description="words for typing another answer to `then`; without it, the options are all")
    ] = None
