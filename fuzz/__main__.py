"""Fuzz every reader: `python -m fuzz [--minutes 10] [--only TARGET]`; a minute each is for every night.

Needs atheris (`pip install atheris`), which is no part of the ordinary tests. What a run found to reach new code is
added to `fuzz/corpus/`, smallest first; figures go to `docs/trust-fuzz.json`, from which `docs/make_trust.py` writes.
Exit code 1 where something was found; the input that does it is left in `fuzz/found/`.
"""

import argparse
import json
import re
import subprocess
import sys
import tempfile
import time
from importlib.metadata import version
from pathlib import Path
from typing import Any

HERE = Path(__file__).parent
FIGURES = HERE.parent / "docs" / "trust-fuzz.json"
TARGETS = ("quantity", "toml", "scan", "codec", "records", "store")
MOST_KEPT = 120
LONGEST = {"toml": 32_000, "codec": 4_000}
SEEDS = {"toml": (HERE.parent / "kits", HERE.parent / "demo")}
_DONE = re.compile(rb"Done (\d+) runs in (\d+) second")
_COVERED = re.compile(rb"cov: (\d+) ft: (\d+)")


def main() -> int:
    """Fuzz, keep the corpus and the figures."""
    parser = argparse.ArgumentParser(prog="python -m fuzz", description=__doc__)
    parser.add_argument("--minutes", type=float, default=1)
    parser.add_argument("--only", choices=TARGETS, action="append")
    parser.add_argument("--no-figures", action="store_true", help="leave docs/trust-fuzz.json as it is")
    given = parser.parse_args()
    rows = {name: fuzz(name, given.minutes) for name in given.only or TARGETS}
    for name, row in rows.items():
        print(f"{name}: {row}")
    if not given.no_figures:
        kept = json.loads(FIGURES.read_text("utf-8")) if FIGURES.exists() else {}
        FIGURES.write_text(json.dumps(kept | rows, indent=2, sort_keys=True) + "\n", "utf-8")
    return 1 if any(row["findings"] for row in rows.values()) else 0


def fuzz(name: str, minutes: float) -> dict[str, Any]:
    """Fuzz one target for so many minutes of the clock."""
    corpus, found = HERE / "corpus" / name, HERE / "found"
    corpus.mkdir(parents=True, exist_ok=True)
    found.mkdir(exist_ok=True)
    before = set(found.glob(f"{name}-*"))
    with tempfile.TemporaryDirectory() as grown:
        started = time.monotonic()
        options = [f"-max_total_time={round(minutes * 60)}", f"-max_len={LONGEST.get(name, 400)}", "-timeout=20"]
        folders = [grown, str(corpus), *(str(each) for each in SEEDS.get(name, ()))]
        told = _run(name, *options, f"-artifact_prefix={found}/{name}-", *folders)
        seconds = time.monotonic() - started
        _keep_smallest(Path(grown), corpus)
    done, covered = _DONE.findall(told), _COVERED.findall(told)
    return {
        "minutes": round(seconds / 60, 1),
        "tries": int(done[-1][0]) if done else 0,
        "edges": int(covered[-1][0]) if covered else 0,
        "kept": len(list(corpus.iterdir())),
        "findings": len(set(found.glob(f"{name}-*")) - before),
        "atheris": version("atheris"),
        "day": time.strftime("%Y-%m-%d"),
    }


def _run(name: str, *options: str) -> bytes:
    command = [sys.executable, "-m", "fuzz.one", name, *options]
    ran = subprocess.run(command, cwd=HERE.parent, capture_output=True, check=False)
    if ran.returncode:
        sys.stderr.buffer.write(ran.stderr[-4000:])
    return ran.stderr


def _keep_smallest(grown: Path, corpus: Path) -> None:
    """Add what reached new code, the smallest first, up to a number that the ordinary tests can run."""
    room = MOST_KEPT - len(list(corpus.iterdir()))
    for each in sorted(grown.iterdir(), key=lambda path: path.stat().st_size)[: max(room, 0)]:
        (corpus / each.name).write_bytes(each.read_bytes())


if __name__ == "__main__":
    sys.exit(main())
