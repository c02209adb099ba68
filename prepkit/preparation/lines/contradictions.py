"""Ticks that say something else of a fact than the fact does, such as a line that was flushed beside "patent: no".

Worked out from the ticks and the facts as they are, whichever of them came later: nothing of it is recorded.
"""

from collections.abc import Iterator

from msgspec import Struct

from prepkit.kit.facts import show_fact
from prepkit.list.lines import ListLine, TrayList
from prepkit.preparation.readiness import About, Missing
from prepkit.preparation.state import Preparation


class Contradiction(Struct, frozen=True):
    """A fact that is not what a line's tick says of it."""

    fact: str
    label: str
    is_now: str
    """What the fact says."""

    def words(self) -> str:
        """What is said beside the line: "but Line checked as patent: no"."""
        return f"but {self.label}: {self.is_now}"


def find_contradicting(line: ListLine, tray: TrayList) -> Contradiction | None:
    """Find the first fact that is not what a tick of the line says or would say of it; None where there is none."""
    for name, said in line.declared.line.claims.items():
        value = tray.baby.facts.get(name)
        if value is not None and value != said:
            label = next(fact.label for fact in tray.laid.fact if fact.id == name)
            return Contradiction(name, label, show_fact(value))
    return None


def find_contradictions(state: Preparation, tray: TrayList | None) -> Iterator[Missing]:
    """Say of each line that is ticked against a fact which one it is: either has to be put right before ready."""
    for line in tray.lines if tray else ():
        found = find_contradicting(line, tray) if tray and state.is_ticked(line.id) else None
        if found is not None:
            words = f"{line.name}: ticked, {found.words()}. Correct one of the two."
            yield Missing(words, About.CONTRADICTION, line.id, found.fact)
