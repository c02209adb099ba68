"""Fuzz every reader: `python tests/fuzz/run.py`, ten minutes each; every night `python tests/fuzz/run.py --nightly`.

Needs atheris (`pip install atheris`), which is no part of the ordinary tests. What a run found to reach new code goes
into `tests/fuzz/corpus/`, as few files as reach all of it; figures go to `docs/trust-fuzz.json`, from which
`docs/make_trust.py` writes. Exit code 1 where something was found; the input that does it is left in
`tests/fuzz/found/`.
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
ROOT = HERE.parents[1]
FIGURES = ROOT / "docs" / "trust-fuzz.json"
TARGETS = ("quantity", "toml", "scan", "codec", "records", "store")
MOST_KEPT = 120
LONGEST = {"toml": 32_000, "codec": 4_000}
READ_UNSEEN = ("codec",)
"""Read by a library's compiled code, whose ways are not seen: what else the corpus reaches there is kept too."""
SEEDS = {"toml": (ROOT / "kits", ROOT / "kits" / "fragments", ROOT / "demo")}
_DONE = re.compile(rb"Done (\d+) runs in (\d+) second")
_COVERED = re.compile(rb"cov: (\d+) ft: (\d+)")


def main() -> int:
    """Fuzz, keep the corpus and the figures."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--minutes", type=float, default=10, help="for each reader")
    parser.add_argument("--only", choices=TARGETS, action="append")
    parser.add_argument("--nightly", action="store_true", help="a minute each; docs/trust-fuzz.json stays as it is")
    given = parser.parse_args()
    rows = {name: fuzz(name, 1 if given.nightly else given.minutes) for name in given.only or TARGETS}
    for name, row in rows.items():
        print(f"{name}: {row}")
    if not given.nightly:
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
        _merge(name, corpus, Path(grown))
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
    command = [sys.executable, str(HERE / "one.py"), name, *options]
    ran = subprocess.run(command, cwd=ROOT, capture_output=True, check=False)
    if ran.returncode:
        sys.stderr.buffer.write(ran.stderr[-4000:])
    return ran.stderr


def _merge(name: str, corpus: Path, grown: Path) -> None:
    """Keep as few files as reach what the corpus and the run reached, the smallest first where there are too many."""
    with tempfile.TemporaryDirectory() as merged:
        _run(name, "-set_cover_merge=1", merged, str(corpus), str(grown))
        smallest = sorted(Path(merged).iterdir(), key=lambda path: path.stat().st_size)[:MOST_KEPT]
        kept = {each.name: each.read_bytes() for each in smallest}
    if not kept:  # the merge itself was stopped
        return
    for each in () if name in READ_UNSEEN else tuple(corpus.iterdir()):
        each.unlink()
    for file, tried in kept.items():
        (corpus / file).write_bytes(tried)


if __name__ == "__main__":
    sys.exit(main())
