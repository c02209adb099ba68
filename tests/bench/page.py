"""docs/speed.md: the figures kept in docs/speed.json, then what docs/speed-missed.md says of those that missed."""

import json
from pathlib import Path
from typing import Any

DOCS = Path(__file__).parents[2] / "docs"
KEPT = DOCS / "speed.json"
PAGE = DOCS / "speed.md"
MISSED = DOCS / "speed-missed.md"

HEAD = """# Speed

`python -m tests.bench` writes this page from the figures of its last runs; nobody typed one. Beside each figure is its
floor: what nothing can undercut on the same machine, measured in the same run and in turn with it. The ratio carries
over to another machine; the milliseconds do not. The ordinary tests assert no time.

| What | Measured | Floor | Ratio | Target | | On |
|---|---|---|---|---|---|---|
"""


def keep(name: str, run: dict[str, Any]) -> None:
    """Keep the figures of one module beside those of the others, and write the page."""
    runs = read_kept() | {name: run}
    KEPT.write_text(json.dumps(dict(sorted(runs.items())), indent=1, ensure_ascii=False) + "\n", "utf-8")
    PAGE.write_text(make_page(), "utf-8")


def read_kept() -> dict[str, Any]:
    """The figures of each module's last run."""
    found: dict[str, Any] = json.loads(KEPT.read_text("utf-8")) if KEPT.exists() else {}
    return found


def make_page() -> str:
    """The whole page."""
    runs = read_kept()
    rows = "".join(_show_row(figure, run["day"]) for run in runs.values() for figure in run["figures"])
    return "\n".join((HEAD + rows, *_list_floors(runs), _list_machines(runs), MISSED.read_text("utf-8")))


def show_line(figure: dict[str, Any]) -> str:
    """A figure on one line of a terminal."""
    met = "met" if figure["met"] else "MISSED"
    note = f" ({figure['note']})" if figure["note"] else ""
    return (
        f"{figure['name']}: {_say(figure['value'])} {figure['unit']}, floor {_say(figure['floor'])} {figure['unit']}"
        f" = {figure['ratio']:.2f}x; target {figure['target']}: {met}{note}\n"
    )


def _show_row(figure: dict[str, Any], day: str) -> str:
    name = f"{figure['name']} ({figure['note']})" if figure["note"] else figure["name"]
    unit = figure["unit"]
    cells = (name, f"{_say(figure['value'])} {unit}", f"{_say(figure['floor'])} {unit}", f"{figure['ratio']:.2f}",
             figure["target"], "met" if figure["met"] else "**missed**", day)  # fmt: skip
    return f"| {' | '.join(cells)} |\n"


def _list_floors(runs: dict[str, Any]) -> list[str]:
    """What each floor is, once."""
    floors: dict[str, list[str]] = {}
    for run in runs.values():
        for figure in run["figures"]:
            floors.setdefault(figure["floor_name"], []).append(figure["name"])
    return ["## The floors\n", *(f"- {floor}: for {'; '.join(names)}." for floor, names in floors.items()), ""]


def _list_machines(runs: dict[str, Any]) -> str:
    machines = dict.fromkeys(run["machine"] for run in runs.values())
    loads = [f"{name} {run['load']}" for name, run in runs.items() if "load" in run]
    busy = f" Programs that wanted a processor as each ended: {', '.join(loads)}." if loads else ""
    return f"Measured on: {'; '.join(machines)}.{busy}\n"


def _say(number: float) -> str:
    return f"{number:,.0f}" if abs(number) >= 100 else f"{number:.3g}"
