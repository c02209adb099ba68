"""One list from a loaded kit: beside its own objects made anew, and beside the same amounts in plain pint."""

from collections.abc import Callable, Sequence
from datetime import UTC, datetime
from time import process_time
from typing import Any

from prepkit.app.kit_files import load_kit, load_ward
from prepkit.kit.baby import Baby, make_baby
from prepkit.kit.kit import Kit
from prepkit.kit.read import ParsedFile
from prepkit.kit.ward import Ward
from prepkit.list.compute import compute_list, compute_prepared, prepare_kit
from prepkit.list.lines import DeclaredLine, ListLine, compute_line_fingerprint
from prepkit.paths import find_shipped
from prepkit.quantities.gestation import Gestation
from prepkit.rules.rule import Outcome
from tests.bench.figure import Figure, alternate, make_bound
from tests.bench.plain import find_differences
from tests.bench.plain_list import PlainList

KIT = "surfactant-supraglottic"
NOW = datetime(2026, 11, 25, 3, 0, tzinfo=UTC)
BABIES = 200
ROUNDS = 15
MOST_US, MOST_FIRST_US, LEAST_TIMES = 300, 5000, 5
CPU = f"processor time, mean of {BABIES} babies, the quickest of {ROUNDS} rounds"


def measure() -> list[Figure]:
    """Measure lists of different babies, after the two ways were seen to agree on each of them."""
    kit, ward = load(KIT)
    babies = list_babies(kit.model, BABIES)
    prepared, plain = prepare_kit(kit, ward), PlainList(kit.model, ward.model, NOW)
    for baby in babies:
        tray = compute_prepared(prepared, baby, {}, NOW)
        differing = find_differences(kit.model, plain.work_out(baby), {line.id: line.outcome for line in tray.lines})
        if differing:
            raise AssertionError(f"{baby.words()}: the two ways differ in {', '.join(differing)}")
    changing = _list_changing([compute_prepared(prepared, baby, {}, NOW).lines for baby in babies])
    ways: dict[str, Callable[[Baby], object]] = {
        "list": lambda baby: compute_prepared(prepared, baby, {}, NOW),
        "objects": lambda _: _copy(changing),
        "pint": plain.work_out,
        "alone": lambda baby: compute_list(kit, ward, baby, {}, NOW),
    }
    found = alternate(ROUNDS, {name: _time(way, babies) for name, way in ways.items()})
    one, copies, slow, alone = (min(found[name]) * 1_000_000 for name in ways)
    own = f"its {len(changing)} lines that differ between babies, copied field by field, with their fingerprints"
    us, quick = "µs", "one list from a loaded kit"
    return [
        make_bound(quick, one, us, own, copies, MOST_US, CPU),
        Figure("the amounts of one list, plainly with pint", slow, us, quick, one, f">= {LEAST_TIMES}x",
               slow >= LEAST_TIMES * one, f"without words; {CPU}"),
        make_bound("a first list: the kit prepared, and one list", alone, us, quick, one, MOST_FIRST_US, CPU),
    ]  # fmt: skip


def load(kit: str) -> tuple[ParsedFile[Kit], ParsedFile[Ward]]:
    """Load a shipped kit and the demo ward."""
    written, problems = load_kit(find_shipped("kits") / f"{kit}.toml")
    ward, more = load_ward(find_shipped("demo") / "ward.toml")
    if written is None or ward is None:
        raise AssertionError([*problems, *more])
    return written, ward


def list_babies(kit: Kit, count: int) -> list[Baby]:
    """Babies from all over the domain of the shipped kits, the same ones each time."""
    babies = []
    for at in range(count):
        days = 28 * 7 + at * 37 % (14 * 7)
        facts = {"birth_weight": str(1200 + at * 1777 % 3801), "birth_gestation": str(Gestation(days))}
        baby, problems = make_baby(kit, facts, NOW)
        if baby is None:
            raise AssertionError(problems)
        babies.append(baby)
    return babies


def _time(way: Callable[[Baby], object], babies: Sequence[Baby]) -> Callable[[], float]:
    """What times one way over all the babies: the processor's seconds for one of them."""

    def time() -> float:
        begun = process_time()
        for baby in babies:
            way(baby)
        return (process_time() - begun) / len(babies)

    return time


def _list_changing(lists: Sequence[Sequence[ListLine]]) -> list[tuple[DeclaredLine, dict[str, Any]]]:
    """What was found, field by field, for those lines of which two babies' lists do not hold the very same one."""
    rows = [rows[0] for rows in zip(*lists, strict=True) if any(row is not rows[0] for row in rows)]
    return [(row.declared, row.outcome._asdict()) for row in rows]


def _copy(rows: Sequence[tuple[DeclaredLine, dict[str, Any]]]) -> list[str]:
    return [compute_line_fingerprint(ListLine(declared, Outcome(**fields))) for declared, fields in rows]
