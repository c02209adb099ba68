"""Checks of what a kit says of the cot and afterwards."""

from collections.abc import Iterable, Iterator

from prepkit.kit.kit import Kit
from prepkit.kit.problems import Mistake, suggest
from prepkit.kit.procedure import Afterwards, NumberReading, Procedure, Reading, Step, WordReading
from prepkit.quantities.units import Dimension

Path = tuple[str | int, ...]
_HERE: Path = ("procedure",)


def check_procedure(kit: Kit) -> Iterator[Mistake]:
    """What is wrong with the procedure, seen beside the rest of the kit."""
    procedure = kit.procedure
    if procedure is None:
        return
    tables = {
        "reading": procedure.reading,
        "step": procedure.step,
        "happening": procedure.happening,
        "follow_up": procedure.follow_up,
    }
    for table, rows in tables.items():
        yield from _check_ids((row.id for row in rows), table)
    for at, reading in enumerate(procedure.reading):
        yield from check_reading(reading, (*_HERE, "reading", at))
    for at, step in enumerate(procedure.step):
        yield from check_step(step, (*_HERE, "step", at))
    yield from _check_names(procedure, kit)
    yield from _check_lines(procedure, kit)
    if procedure.afterwards is not None:
        yield from _check_afterwards(procedure.afterwards, procedure, kit)


def _check_ids(ids: Iterable[str], table: str) -> Iterator[Mistake]:
    seen: set[str] = set()
    for at, name in enumerate(ids):
        if name in seen:
            hint = "each id may be used once in its table"
            yield Mistake((*_HERE, table, at, "id"), f'id "{name}" stands twice', hint)
        seen.add(name)


def check_reading(reading: Reading, path: Path) -> Iterator[Mistake]:
    """What is wrong within one reading, whether a kit or a fragment declares it."""
    if not isinstance(reading, NumberReading):
        return
    if reading.least.unit != reading.most.unit or not reading.least < reading.most:
        yield Mistake((*path, "most"), "least and most must be in one unit, the lower first")


def check_step(step: Step, path: Path) -> Iterator[Mistake]:
    """What is wrong within one step, whether a kit or a fragment declares it."""
    if step.clock_end is not None and step.clock is None:
        wrong = "clock_end without a clock: nothing runs that could end"
        yield Mistake((*path, "clock_end"), wrong, 'name the clock, such as clock = "since sucrose"')


def _check_names(procedure: Procedure, kit: Kit) -> Iterator[Mistake]:
    readings = [reading.id for reading in procedure.reading]
    asking = {
        "step": [row.asks for row in procedure.step],
        "happening": [row.asks for row in procedure.happening],
        "follow_up": [row.asks for row in procedure.follow_up],
    }
    for table, rows in asking.items():
        for at, row in enumerate(rows):
            for place, name in enumerate(row):
                if name not in readings:
                    wrong = f'no reading "{name}" is declared'
                    yield Mistake((*_HERE, table, at, "asks", place), wrong, suggest(name, readings))
    steps, groups = [step.id for step in procedure.step], [group.id for group in kit.group]
    for at, follow_up in enumerate(procedure.follow_up):
        if follow_up.since not in steps:
            wrong = f'no step "{follow_up.since}" is declared'
            yield Mistake((*_HERE, "follow_up", at, "since"), wrong, suggest(follow_up.since, steps))
    for at, group in enumerate(procedure.rescue):
        if group not in groups:
            yield Mistake((*_HERE, "rescue", at), f'no group "{group}" is declared', suggest(group, groups))


def _check_lines(procedure: Procedure, kit: Kit) -> Iterator[Mistake]:
    lines = [line.id for line in kit.line]
    for at, step in enumerate(procedure.step):
        for place, name in enumerate(step.lines):
            if name not in lines:
                wrong = f'no line "{name}" is declared'
                yield Mistake((*_HERE, "step", at, "lines", place), wrong, suggest(name, lines))


def _check_afterwards(afterwards: Afterwards, procedure: Procedure, kit: Kit) -> Iterator[Mistake]:
    path = (*_HERE, "afterwards")
    doses = [line.id for line in kit.line if line.kind == "dose"]
    if afterwards.line not in doses:
        yield Mistake((*path, "line"), f'no dose line "{afterwards.line}" is declared', suggest(afterwards.line, doses))
    readings = {reading.id: reading for reading in procedure.reading}
    for key, name in (("given", afterwards.given), ("recovered", afterwards.recovered)):
        if name is None:
            continue
        reading = readings.get(name)
        if not isinstance(reading, NumberReading) or reading.least.dimension is not Dimension.VOLUME:
            yield Mistake((*path, key), "must name a reading that is a volume")
    if afterwards.attempts is not None and not isinstance(readings.get(afterwards.attempts), WordReading):
        yield Mistake((*path, "attempts"), "must name a reading that is a choice of words")
    for key, texts in (("outcomes", afterwards.outcomes), ("complications", afterwards.complications)):
        if len(set(texts)) < len(texts):
            yield Mistake((*path, key), "one of them stands twice")
