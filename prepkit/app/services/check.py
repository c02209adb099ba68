"""The second check of one preparation: the checker signs in on the spot and works blind."""

from collections.abc import Callable, Mapping

from msgspec.structs import replace

from prepkit.app.session import PreparationSession
from prepkit.kit.facts import read_fact
from prepkit.kit.problems import Problem
from prepkit.list.agreement import agrees, check_count, read_entered
from prepkit.list.lines import ListLine
from prepkit.people.pin import Pin, hide_pin
from prepkit.preparation.check.decide import (
    decide_check_begin,
    decide_check_end,
    decide_check_entry,
    decide_check_leave,
    decide_check_read,
    decide_settle,
)
from prepkit.preparation.check.events import CheckEntered, CheckRead, FactRead
from prepkit.preparation.check.required import find_check_wanted, list_checked_lines, list_unchecked
from prepkit.preparation.decision import Decision
from prepkit.preparation.state import Preparation, agrees_with
from prepkit.preparation.text import Refusal, check_initials
from prepkit.view.baby import say_wrong
from prepkit.view.check import CheckedView, CheckView, CoverView, show_check, show_checked, show_cover
from prepkit.wording.things import show_vials


class SecondCheckService:
    """The second check of one open preparation. Methods that change something return a refusal, or an empty string.

    The checker is signed in for the check alone, until it ends or is stopped; whoever prepares stays signed in.
    """

    def __init__(self, session: PreparationSession) -> None:
        """Nobody is signed in to check yet."""
        self._session = session
        self._checker = ""

    def show_cover(self) -> CoverView | None:
        """What stands in the place of every screen while somebody checks; None while nobody does."""
        return show_cover(self._session.state)

    def show_check(self) -> CheckView:
        """The check under way, for the checker."""
        return show_check(self._session.state, self._session.work_out(), self._session.clock())

    def show_checked(self) -> CheckedView:
        """Both results of every line, and whether a check can begin."""
        return show_checked(self._session.state, self._session.work_out())

    @property
    def is_signed_in(self) -> bool:
        """Whether the person who began the check under way is signed in for it here."""
        check = self._session.state.check
        return (
            check is not None and check.stamp.who == self._checker and self._session.identity.is_beside(self._checker)
        )

    def begin(self, typed: str, pin: str | Pin = "") -> str:
        """Sign the checker in on the spot, and begin, or go on with the check that they began."""
        pin = hide_pin(pin)
        who = check_initials(typed)
        if isinstance(who, Refusal):
            return who.reason
        policy = self._session.identity.read_policy()
        refusal = self._session.identity.verify(who, pin, policy) or self._find_seen(who)
        if refusal:
            return refusal
        refusal = self._session.act(lambda state: decide_check_begin(state, who, self._find_wanted(state)), who, policy)
        if not refusal:
            self._checker = who
        return refusal

    def enter_fact(self, fact: str, typed: str) -> str:
        """Take what the checker read of a fact off the cot or the notes; what differs stops everything."""
        session = self._session
        found = read_fact(session.work_out().laid, fact, typed, session.clock())
        if isinstance(found, Problem):
            return f"{say_wrong(found)}."
        value = found[0]

        def decide(state: Preparation) -> Decision:
            listed = None
            ours = state.facts.get(fact, "")
            if state.check is not None and not agrees_with(FactRead(fact, value, state.check.stamp), ours):
                listed = session.list_ahead(state, CheckRead(fact, value, agrees=False), self._checker)
            return decide_check_read(state, self._checker, fact, value, listed)

        return self._act(decide)

    def refuse_part(self, line: str, typed: str, counts: Mapping[str, str]) -> str:
        """Why what was typed for a line so far cannot be taken; an empty string where it can.

        Asked before all of it is there. Says nothing of what the list has.
        """
        found = next((each for each in self._list_lines(self._session.state) if each.id == line), None)
        if found is None:
            return ""
        alone = replace(found, outcome=found.outcome._replace(prescribed=None))
        entered = read_entered(alone, typed, {})
        if isinstance(entered, str):
            return entered
        return next((wrong for size, count in counts.items() if (wrong := check_count(size, count))), "")

    def enter(self, line: str, typed: str, counts: Mapping[str, str] | None = None) -> str:
        """Take what the checker worked out for a line: a number in its unit or a size, and containers by their size."""
        found = next((each for each in self._list_lines(self._session.state) if each.id == line), None)
        if found is None:
            return "This line is not to be checked any more: go on with the next."
        entered = read_entered(found, typed, counts or {})
        if isinstance(entered, str):
            return entered
        seen = self._session.find_fingerprint(line)
        entry = CheckEntered(line, seen, entered.show_value(), show_vials(entered.vials), agrees=agrees(found, entered))
        return self._act(lambda state: decide_check_entry(state, self._checker, entry, self._list_wanted(state)))

    def end(self) -> str:
        """End a check with nothing left to enter, because its last lines are gone from the list."""
        return self._act(lambda state: decide_check_end(state, self._checker, self._list_wanted(state)))

    def asks_pin_to_stop(self, typed: str) -> bool:
        """Whether these initials have to be proven first: they are not those of whoever is signed in."""
        identity = self._session.identity
        return identity.needs_pin and typed.strip().upper() != identity.who

    def stop(self, typed: str = "", pin: str | Pin = "") -> str:
        """Stop the check before its end: what was entered does not count. The checker signs out.

        `typed` are the initials of whoever stops it; left out, it is the checker where they are signed in here, else
        whoever is signed in.
        """
        pin = hide_pin(pin)
        who = check_initials(typed) if typed else self._checker if self.is_signed_in else ""
        if isinstance(who, Refusal):
            return who.reason
        identity = self._session.identity
        policy = identity.read_policy()
        beside = who if typed and who != identity.who else ""
        if beside and (refusal := identity.verify(beside, pin, policy, checks=False)):
            return refusal
        refusal = self._session.act(decide_check_leave, who if who != identity.who else "", policy)
        if not refusal:
            self._checker = ""
        return refusal

    def settle(self, line: str, reason: str) -> str:
        """Let a line stand although the check differed, with the reason."""
        return self._session.act(lambda state: decide_settle(state, line, reason))

    def _find_seen(self, who: str) -> str:
        """Why somebody who had the list open here cannot check it blind here; empty where they can."""
        state = self._session.state
        if state.check is not None or who in state.preparers or who not in self._session.seen_by:
            return ""
        return (
            f"{who} has had this list open here, with its amounts: somebody else has to check it."
            " On a device of your own, begin from the first screen, before you open the list."
        )

    def _act(self, decide: Callable[[Preparation], Decision]) -> str:
        """Act as the checker, who may have been signed out meanwhile: the screen was locked, another one signed in."""
        policy = self._session.identity.read_policy()
        if not self._session.identity.is_beside(self._checker, policy):
            return "The checker is signed out: sign in again to go on."
        return self._session.act(decide, self._checker, policy)

    def _list_lines(self, state: Preparation) -> tuple[ListLine, ...]:
        return list_checked_lines(state, self._session.work_out())

    def _list_wanted(self, state: Preparation) -> tuple[str, ...]:
        return tuple(line.id for line in list_unchecked(state, self._session.work_out()))

    def _find_wanted(self, state: Preparation) -> tuple[str, ...]:
        return find_check_wanted(state, self._session.work_out())
