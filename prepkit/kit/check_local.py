"""Checks of what a ward file lays over kits: lines, criteria, sources, and the approvals for going further."""

from collections.abc import Iterator, Sequence

from msgspec.structs import replace

from prepkit.kit.check_kit import CORE_FACTS, check_citations, check_criterion, check_grounds
from prepkit.kit.check_line import check_line
from prepkit.kit.fields import PUBLISHED
from prepkit.kit.kit import Criterion, Kit
from prepkit.kit.layer import lay_over
from prepkit.kit.lines import DoseLine, Line, SettingLine, WardSets
from prepkit.kit.problems import Mistake, suggest
from prepkit.kit.ward import DeadVolume, LeftOut, Local, Ward, Widening
from prepkit.quantities.text import show_range

Path = tuple[str | int, ...]


def check_local(ward: Ward) -> Iterator[Mistake]:
    """What is wrong with them whatever the kits: one line or criterion of one kit changed twice."""
    seen: set[tuple[str, str, str]] = set()
    for at, local in enumerate(ward.local):
        for table, rows in (("line", local.line), ("criterion", local.criterion)):
            for row, each in enumerate(rows):
                keys = [(kit, table, each.id) for kit in dict.fromkeys(local.kits)]
                twice = next((kit for kit, *key in keys if (kit, *key) in seen), None)
                if twice is not None:
                    wrong = f'{table} "{each.id}" of the kit "{twice}" is changed a second time'
                    yield Mistake(("local", at, table, row, "id"), wrong, "keep one of the two")
                seen.update(keys)


def check_local_beside(ward: Ward, kits: Sequence[Kit]) -> Iterator[Mistake]:
    """What is wrong with them beside the kits they are for."""
    names = dict.fromkeys(kit.id for kit in kits)
    tables: tuple[tuple[str, tuple[Local | Widening | LeftOut | DeadVolume, ...]], ...] = (
        ("local", ward.local),
        ("dead_volume", ward.dead_volume),
        ("left_out", ward.left_out),
        ("widening", ward.widening),
    )
    for path, name in (((table, at, "kits", row), name) for table, rows in tables for at, each in enumerate(rows)
                       for row, name in enumerate(each.kits)):  # fmt: skip
        if name not in names:
            yield Mistake(path, f'no kit "{name}" that can be used is on this machine', suggest(name, names))
    for at, local in enumerate(ward.local):
        for kit in (kit for kit in kits if kit.id in local.kits):
            for mistake in _check_over(local, at, kit, ward):
                said = f'{mistake.wrong} (kit "{kit.id}")' if len(local.kits) > 1 else mistake.wrong
                yield replace(mistake, wrong=said)
    yield from _check_left_out(ward, kits)
    yield from _check_settings(ward, kits)
    yield from _check_dead_volumes(ward, kits)
    yield from _check_sources(ward, kits)
    yield from _check_widenings(ward, kits)


def _check_left_out(ward: Ward, kits: Sequence[Kit]) -> Iterator[Mistake]:
    for at, each in enumerate(ward.left_out):
        for kit in (kit for kit in kits if kit.id in each.kits):
            optional = [line.id for line in kit.line if line.optional]
            if each.line not in optional:
                wrong = f'"{each.line}" is no line that the kit "{kit.id}" calls optional'
                yield Mistake(("left_out", at, "line"), wrong, suggest(each.line, optional))


def _check_settings(ward: Ward, kits: Sequence[Kit]) -> Iterator[Mistake]:
    """The ward's values are for lines that leave them to it, within what each takes."""
    left: dict[str, list[WardSets]] = {}
    for line in (line for kit in kits for line in kit.line if isinstance(line, SettingLine)):
        left.setdefault(line.id, []).extend(band.ward_sets for band in line.band if band.ward_sets)
    named = [name for name, ends in left.items() if ends]
    for at, each in enumerate(ward.setting):
        if each.line not in named:
            yield Mistake(("setting", at, "line"), f'no kit leaves "{each.line}" to it', suggest(each.line, named))
        for ends in left.get(each.line, ()):
            if each.value.unit != ends.least.unit or not ends.least <= each.value <= ends.most:
                wrong = f"is outside {show_range(ends.least, ends.most)}, which guard against slips"
                yield Mistake(("setting", at, "value"), wrong)


def _check_dead_volumes(ward: Ward, kits: Sequence[Kit]) -> Iterator[Mistake]:
    seen: set[tuple[str, str]] = set()
    for at, each in enumerate(ward.dead_volume):
        for kit in (kit for kit in kits if kit.id in each.kits):
            with_air = [line.id for line in kit.line if isinstance(line, DoseLine) and line.air]
            if each.line not in with_air:
                wrong = f'the kit "{kit.id}" leaves no air behind "{each.line}"'
                yield Mistake(("dead_volume", at, "line"), wrong, suggest(each.line, with_air))
            if (each.line, kit.id) in seen:
                wrong = f'a second catheter for "{each.line}" of the kit "{kit.id}"'
                yield Mistake(("dead_volume", at, "line"), wrong, "keep that of the catheter in use")
            seen.add((each.line, kit.id))


def _check_over(local: Local, at: int, kit: Kit, ward: Ward) -> Iterator[Mistake]:
    laid = lay_over(kit, ward).kit
    lines, criteria = {line.id: line for line in kit.line}, {row.id: row for row in kit.criterion}
    for row, line in enumerate(local.line):
        path: Path = ("local", at, "line", row)
        wrong = tuple(_check_same_line(line, lines.get(line.id), path))
        yield from wrong or (*check_line(line, laid, path, is_local=True), *check_grounds(line, path, laid))
    facts = {*CORE_FACTS, *(fact.id for fact in kit.fact)}
    for row, criterion in enumerate(local.criterion):
        path = ("local", at, "criterion", row)
        if criterion.id in facts:
            yield Mistake((*path, "id"), f'"{criterion.id}" is already the name of a fact')
        yield from _check_same_criterion(criterion, criteria.get(criterion.id), path)
        yield from (*check_criterion(criterion, path), *check_grounds(criterion, path, laid))


def _check_same_line(line: Line, own: Line | None, path: Path) -> Iterator[Mistake]:
    """A line stands in the place of one like it: what is compared has to be comparable."""
    for key in ("kind", "route"):
        asked = getattr(own, key, None)
        if asked is not None and getattr(line, key, None) != asked:
            wrong = f'the kit\'s line "{line.id}" has the {key} "{asked}", which one in its place must have too'
            yield Mistake((*path, key), wrong, "to add a line, give it an id that the kit does not have")
            return


def _check_same_criterion(criterion: Criterion, own: Criterion | None, path: Path) -> Iterator[Mistake]:
    if own is None:
        return
    if own.where is None:
        wrong = f'the team says the kit\'s "{own.id}", which cannot be replaced'
        yield Mistake((*path, "id"), wrong, "add one of the ward's own under another id")
    elif criterion.where is None:
        wrong = f'the kit\'s "{own.id}" goes by facts, and one in its place must too'
        yield Mistake(path, wrong, "to add one that the team says, give it another id")


def _check_sources(ward: Ward, kits: Sequence[Kit]) -> Iterator[Mistake]:
    for name, source in ward.sources.items():
        for kit in kits:
            if kit.sources.get(name, source) != source:
                wrong = f'"{name}" is another source in the kit "{kit.id}"'
                yield Mistake(("sources", name), wrong, "give the ward's own another id")
    known = {name: source for kit in kits for name, source in kit.sources.items()} | ward.sources
    for at, product in enumerate(ward.product):
        yield from check_citations(product, ("product", at), known)
    for at, recipe in enumerate(ward.recipe):
        if recipe.basis in PUBLISHED:
            yield from check_citations(recipe, ("recipe", at), known)


def _check_widenings(ward: Ward, kits: Sequence[Kit]) -> Iterator[Mistake]:
    for at, widening in enumerate(ward.widening):
        laid = [lay_over(kit, ward).kit for kit in kits if kit.id in widening.kits]
        tables = (row for kit in laid for row in (*kit.line, *kit.criterion, *kit.product))
        names = dict.fromkeys(row.id for row in tables)
        if laid and widening.what not in names:
            wrong = f'no line, criterion or product "{widening.what}" is declared'
            yield Mistake(("widening", at, "what"), wrong, suggest(widening.what, names))
