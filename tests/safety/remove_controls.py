"""Take each control of the hazard log away in turn and see its test fail: `python tests/safety/remove_controls.py`.

Works on a copy of the project in a temporary folder. Each named test has to pass on the copy as it is and to fail on
it without the control. Writes `docs/safety/controls.md`; exit code 1 where a test failed to notice.
"""

import argparse
import os
import shutil
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from hazard_log import ROOT, Hazard, read_log, read_mutations

REPORT = ROOT / "docs" / "safety" / "controls.md"
COPIED = ("prepkit", "kits", "demo", "tests", "docs", "pyproject.toml", "README.md", "DEVELOPERS.md")
_FAILED, _NOTHING_RUN = 1, 5
HEAD = """# Each control taken away

Written by `tests/safety/remove_controls.py` on {day}, from a run over the rows of [hazard-log.md](hazard-log.md): the
control is removed by one edit of the source (`tests/safety/mutations.toml`) in a copy of the project, and the test that
the log names has to fail there. With every control in place, all {count} of these tests passed first.

| Id | Control | Edited | Test | Without the control |
|---|---|---|---|---|
"""


def main() -> int:
    """Remove, run, report."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("ids", nargs="*", help="only these; the others keep their rows")
    only = parser.parse_args().ids
    rows = [row for row in read_log() if not only or row.id in only]
    with tempfile.TemporaryDirectory() as folder:
        copy = Path(folder)
        _copy(copy)
        whole = _run(copy, sorted({row.test for row in rows}))
        if whole:
            sys.stdout.write("The tests do not pass with every control in place: nothing can be shown.\n")
            return 1
        found = {row.id: _remove(copy, row) for row in rows}
    _write(rows, found)
    return 0 if all(said == "fails" for said in found.values()) else 1


def _remove(copy: Path, row: Hazard) -> str:
    mutation = read_mutations()[row.id]
    path = copy / mutation.file
    text = path.read_text("utf-8")
    assert text.count(mutation.old) == 1, row.id
    path.write_text(text.replace(mutation.old, mutation.new), "utf-8")
    try:
        code = _run(copy, [row.test])
    finally:
        path.write_text(text, "utf-8")
    said = "fails" if code == _FAILED else "NOT NOTICED" if code == 0 else f"could not be run ({code})"
    sys.stdout.write(f"{row.id} {row.control}: {said}\n")
    sys.stdout.flush()
    return said


def _run(copy: Path, tests: list[str]) -> int:
    command = [sys.executable, "-B", "-m", "pytest", "-q", "-x", "-p", "no:cacheprovider", "-n", "0", *tests]
    kept = {name: value for name, value in os.environ.items() if not name.startswith("PREPKIT")}
    environment = {**kept, "PYTHONPATH": str(copy), "HYPOTHESIS_STORAGE_DIRECTORY": str(copy / "hypothesis")}
    ran = subprocess.run(command, cwd=copy, env=environment, capture_output=True, text=True, check=False)
    if ran.returncode not in {0, _FAILED}:
        sys.stdout.write(ran.stdout[-2000:] + ran.stderr[-2000:])
    return ran.returncode


def _copy(copy: Path) -> None:
    for name in COPIED:
        source = ROOT / name
        if source.is_dir():
            shutil.copytree(source, copy / name, ignore=shutil.ignore_patterns("__pycache__"))
        else:
            shutil.copyfile(source, copy / name)


def _write(rows: list[Hazard], found: dict[str, str]) -> None:
    mutations = read_mutations()
    before = REPORT.read_text("utf-8").splitlines() if REPORT.exists() else []
    cells = {row.split("|")[1].strip(): row for row in before if row.startswith("| H")}
    for r in rows:
        cells[r.id] = f"| {r.id} | {r.control} | `{mutations[r.id].file}` | `{r.test}` | {found[r.id]} |"
    head = HEAD.format(day=time.strftime("%Y-%m-%d"), count=len({row.test for row in read_log()}))
    REPORT.write_text(head + "".join(f"{cells[id_]}\n" for id_ in sorted(cells)), "utf-8")


if __name__ == "__main__":
    sys.exit(main())
