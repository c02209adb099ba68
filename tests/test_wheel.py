"""The wheel holds what it must, and does the main job in a clean environment."""

import json
import os
import subprocess
import sys
import textwrap
import venv
import zipfile
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent

MAIN_JOB = textwrap.dedent("""
    import asyncio, sys
    from pathlib import Path
    import prepkit
    assert "site-packages" in prepkit.__file__, prepkit.__file__
    from prepkit.app.workstation import open_workstation
    from prepkit.quantities.text import show_amount, write_decimal
    from prepkit.paths import find_shipped
    from prepkit.store import open_sqlite
    from prepkit.tui.app import PrepkitApp

    store = open_sqlite(Path(sys.argv[1]))
    desk = open_workstation(store, ward=find_shipped("demo") / "ward.toml", kits=None, who="RA")
    opened = desk.start("surfactant-supraglottic", "Cot 4")
    for fact, typed in (("birth_weight", "1450"), ("birth_gestation", "30+2"), ("born", "today")):
        assert opened.baby.give_fact(fact, typed) == ""
    usual = {"fio2": "38", "line_patent": "yes", "leads": "RA, skilled", "intubates": "RA, in the room"}
    for fact, typed in usual.items():
        assert opened.baby.give_fact(fact, typed) == ""
    for group in opened.lines.show_list().groups:
        for line in group.lines:
            assert opened.lines.tick(line.id, {"catheter-depth": "15"}.get(line.id, "")) == "", line.id
    assert opened.baby.answer_others() == ""
    assert opened.baby.confirm_facts() == ""
    assert opened.check.begin("TO") == ""
    assert opened.check.enter_fact("birth_weight", "1450") == opened.check.enter_fact("born", "today") == ""
    lines = {line.id: line for line in opened.session.work_out().tray.lines}
    while (field := opened.check.show_check().field) is not None:
        line = lines[field.line]
        found = line.outcome
        counts = {show_amount(vial.size): str(vial.count) for vial in found.vials}
        typed = found.sizes[0] if line.declared.choices else write_decimal((found.amount or found.high).value)
        assert opened.check.enter(line.id, typed, counts) == "", line.id
    assert opened.ready.read_aloud() == "", opened.ready.show_ready().missing

    async def look():
        app = PrepkitApp(desk)
        async with app.run_test(size=(40, 20)) as pilot:
            await pilot.pause()
            assert "Cot&#160;4" in app.export_screenshot()

    asyncio.run(look())
    print("ready")
""")


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("wheel")
    command = [sys.executable, "-m", "build", "--wheel", "--no-isolation", "--outdir", str(folder), str(ROOT)]
    subprocess.run(command, check=True, capture_output=True)
    return next(folder.glob("*.whl"))


def test_the_wheel_holds_kits_the_demo_stylesheets_units_and_the_type_marker(wheel: Path) -> None:
    names = set(zipfile.ZipFile(wheel).namelist())
    stylesheets = {str(path.relative_to(ROOT)) for path in (ROOT / "prepkit").rglob("*.tcss")}
    pages = {str(path.relative_to(ROOT)) for path in (ROOT / "prepkit" / "serve" / "page").iterdir()}
    kits = {f"prepkit/shipped/{path.relative_to(ROOT)}" for path in (ROOT / "kits").rglob("*.toml")}
    assert stylesheets
    assert any("fragments" in name for name in kits)
    assert pages
    assert stylesheets | pages | kits <= names
    assert {"prepkit/py.typed", "prepkit/quantities/units.txt", "prepkit/shipped/demo/ward.toml"} <= names
    assert {f"prepkit/store/postgres/{name}.sql" for name in ("setup", "ward")} <= names
    assert not [name for name in names if name.startswith(("tests/", "docs/"))]


def test_the_wheel_does_the_main_job_in_a_clean_environment(wheel: Path, tmp_path: Path) -> None:
    home = tmp_path / "clean"
    venv.create(home, with_pip=True)
    run = {"cwd": tmp_path, "capture_output": True, "text": True, "timeout": 170}
    clean = {
        name: value for name, value in os.environ.items() if not name.startswith(("PREPKIT", "PYTHON", "VIRTUAL_ENV"))
    }
    subprocess.run([home / "bin" / "pip", "install", "--quiet", wheel], check=True, env=clean, **run)  # type: ignore[call-overload]
    command = [
        home / "bin" / "prepkit",
        "list",
        "surfactant-supraglottic",
        "--birth-weight",
        "1450",
        "--birth-gestation",
        "30+2",
    ]
    listed = subprocess.run([*command, "--format", "json"], check=False, env=clean, **run)  # type: ignore[call-overload]
    assert listed.returncode == 1, listed.stderr
    blocked = {line["id"] for line in json.loads(listed.stdout)["lines"] if line["blocked"]}
    assert "airway-device" in blocked
    script = [home / "bin" / "python", "-c", MAIN_JOB, tmp_path / "store.sqlite"]
    done = subprocess.run(script, check=False, env=clean, **run)  # type: ignore[call-overload]
    assert done.stdout.strip() == "ready", done.stderr
