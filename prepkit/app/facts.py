"""Reading a fact as it is typed for one open preparation, and giving it."""

from collections.abc import Callable

from prepkit.app.session import PreparationSession
from prepkit.kit.facts import FactValue, read_fact
from prepkit.kit.problems import Problem
from prepkit.preparation.baby.decide import decide_fact
from prepkit.preparation.baby.events import FactGiven
from prepkit.preparation.decision import Decision
from prepkit.preparation.state import Preparation
from prepkit.preparation.text import Refusal
from prepkit.view.baby import say_wrong


def read_typed(session: PreparationSession, fact: str, typed: str) -> tuple[str, FactValue] | str:
    """The canonical text and the value of a fact; or what is wrong with it, in words."""
    found = read_fact(session.work_out().laid, fact, typed, session.clock())
    return f"{say_wrong(found)}{': ' if found.hint else '.'}{found.hint}" if isinstance(found, Problem) else found


def give_fact(session: PreparationSession, fact: str, value: str, *, only_assumed: bool = False) -> str:
    """Give a fact by its canonical text, with the list as it is with it; a refusal in words, or nothing.

    With `only_assumed` what somebody gave meanwhile, on another device, stands: a default takes no place of it.
    """

    def decide(state: Preparation) -> Decision:
        if only_assumed and fact in state.facts:
            return ()
        return decide_fact(state, fact, value, session.list_ahead(state, FactGiven(fact, value)))

    return session.act(decide)


def give_typed(session: PreparationSession, fact: str, typed: str) -> str:
    """Give a fact as it is typed; a refusal in words, or nothing."""
    found = read_typed(session, fact, typed)
    return found if isinstance(found, str) else give_fact(session, fact, found[0])


def change_fact(session: PreparationSession, fact: str, compute: Callable[[str], str]) -> str:
    """Give a fact made from what it is at the moment of the decision, on whichever device that was given."""

    def decide(state: Preparation) -> Decision:
        typed = compute(state.facts.get(fact, ""))
        found = read_fact(session.look_at(state).laid, fact, typed, session.clock())
        if isinstance(found, Problem):
            return Refusal(f"{say_wrong(found)}.")
        return decide_fact(state, fact, found[0], session.list_ahead(state, FactGiven(fact, found[0])))

    return session.act(decide)
