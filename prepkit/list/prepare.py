"""A kit and a ward file ready for babies: all that hangs on the two files alone is worked out once.

What is prepared is never kept longer than the two files it was made from, and holds both: there is nothing in it that
could be made from an older one. May import: `prepkit.rules` and below.
"""

from collections.abc import Mapping

from msgspec import Struct, field
from msgspec.structs import replace

from prepkit.kit.kit import Kit
from prepkit.kit.layer import Layer, lay_over
from prepkit.kit.lines import AmountLine, DoseLine, Line, SizeLine
from prepkit.kit.read import Written
from prepkit.kit.ward import Ward
from prepkit.list.fingerprint import compute_line_fingerprint
from prepkit.list.layered import apply_layer
from prepkit.list.layered_criteria import LayeredCriteria, prepare_layered_criteria
from prepkit.list.lines import ListLine
from prepkit.list.rules import prepare_rule
from prepkit.rules.case import Case, Outcome, Rule, cite
from prepkit.rules.size import join_sizes
from prepkit.rules.supply import TrialRule


class PreparedLine(Struct, frozen=True):
    """One line of a kit as the ward has it, ready for babies."""

    line: Line
    rule: Rule
    cited: str
    """The line's own citation, with the basis."""
    route: str | None
    check: bool
    choices: tuple[str, ...]
    finished: Mapping[int, "Finished"] = field(default_factory=dict)
    """The line that each of the rule's fixed outcomes makes, by the `id` of the outcome, which the rule keeps."""

    def work_out(self, case: Case) -> Outcome:
        """Find what the line gives, with what the ward file changed of it judged; `case.found` has what it follows."""
        return apply_layer(self.line, self.rule.work_out(case), case)

    def finish(self, outcome: Outcome) -> "Finished":
        """Make the line of the list from what was found for it."""
        finished = self.finished.get(id(outcome))
        if finished is not None:
            return finished
        line = self._make(outcome)
        return Finished(line, compute_line_fingerprint(line))

    def _make(self, outcome: Outcome) -> ListLine:
        line = self.line
        return ListLine(
            id=line.id,
            group=line.group,
            name=line.name,
            kind=line.kind,
            route=self.route,
            essential=line.essential,
            aloud=line.aloud,
            blocked=outcome.blocked,
            dose=outcome.dose,
            exact=outcome.exact,
            amount=outcome.amount,
            low=outcome.low,
            high=outcome.high,
            size=join_sizes(outcome.sizes) if outcome.sizes else None,
            sizes=outcome.sizes,
            syringe=outcome.syringe,
            product=outcome.product,
            air=outcome.air,
            recipe=outcome.recipe,
            vials=outcome.vials,
            discard=outcome.discard,
            kits_own=outcome.kits_own,
            standing=outcome.standing,
            show=outcome.show,
            details=outcome.details,
            working=outcome.working,
            how=line.how,
            cautions=(*outcome.cautions, *line.cautions),
            basis=outcome.basis or line.basis,
            source=outcome.source or self.cited,
            check=self.check,
            prescribed=outcome.prescribed,
            choices=self.choices,
        )


class Finished(Struct, frozen=True):
    """A line of the list, with its fingerprint."""

    line: ListLine
    fingerprint: str


class Prepared(Struct, frozen=True):
    """A kit and a ward file, ready for babies."""

    kit: Written[Kit]
    ward: Written[Ward] | None
    layer: Layer
    lines: tuple[PreparedLine, ...]
    criteria: LayeredCriteria


def prepare(kit: Written[Kit], ward: Written[Ward] | None) -> Prepared:
    """Prepare a kit with a ward file over it."""
    layer = lay_over(kit.model, ward.model if ward else None)
    lines = prepare_lines(layer.kit, ward.model if ward else None)
    return Prepared(kit, ward, layer, tuple(lines.values()), prepare_layered_criteria(layer))


def prepare_lines(kit: Kit, ward: Ward | None) -> Mapping[str, PreparedLine]:
    """Prepare the lines of a kit that the ward file is laid over, by id, in the kit's order."""
    lines: dict[str, PreparedLine] = {}
    for line in kit.line:
        lines[line.id] = _prepare_line(line, kit, ward, lines)
    return lines


def _prepare_line(line: Line, kit: Kit, ward: Ward | None, before: Mapping[str, PreparedLine]) -> PreparedLine:
    """Prepare one line, after those that it may follow."""
    rule = prepare_rule(line, kit, ward)
    if isinstance(rule, TrialRule):
        rule = rule.prepare_for({name: made.rule.fixed for name, made in before.items()})
    cited, route = cite(kit, line.basis, line.source), getattr(line, "route", None)
    made = PreparedLine(line, rule, cited, route, is_checked_twice(line), _list_choices(line, ward))
    return replace(made, finished={id(outcome): made.finish(outcome) for outcome in rule.fixed})


def is_checked_twice(line: Line) -> bool:
    """Whether a second person works it out again: the kit's word; by default every medicine and the device."""
    if line.check is not None:
        return line.check
    return isinstance(line, DoseLine | AmountLine) or (isinstance(line, SizeLine) and line.label)


def _list_choices(line: Line, ward: Ward | None) -> tuple[str, ...]:
    if not isinstance(line, SizeLine):
        return ()
    own = (*line.sizes, *(size for method in line.method for band in method.band for size in band.size))
    approved = (each.size for each in (ward.approval if ward else ()) if each.line == line.id)
    return tuple(dict.fromkeys((*own, *approved)))
