"""docs/hospital.md: its commands, run as they stand on a server of the test's own."""

import os
import re
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest
from pg_server import Server, find_programs

from prepkit.errors import say_install
from prepkit.store import check_store, open_store

GUIDE = Path(__file__).parents[2] / "docs" / "hospital.md"


def read_commands() -> list[str]:
    found = re.search(r"<!-- setup -->\n```sh\n(.*?)```\n<!-- end -->", GUIDE.read_text("utf-8"), re.DOTALL)
    assert found
    return found[1].splitlines()


@pytest.mark.thorough
def test_the_guides_commands_make_a_store_that_a_ward_can_use(pg_server: Server, tmp_path: Path) -> None:
    programs = find_programs()
    assert programs is not None
    hba = tmp_path / "pg_hba.conf"
    commands = [line.replace("/etc/postgresql/15/main/pg_hba.conf", str(hba)) for line in read_commands()]
    assert commands[3].endswith(r"'\password ward_3_east'")
    # There is no terminal here that the password could be typed on.
    commands[3] = commands[3].replace(r"\password ward_3_east", "ALTER ROLE ward_3_east PASSWORD $p$x$p$")
    own = tmp_path / "bin"
    own.mkdir()
    (own / "prepkit").write_text(f'#!/bin/sh\nexec {sys.executable} -m prepkit "$@"\n')
    (own / "prepkit").chmod(0o755)
    environment = {
        **os.environ,
        "PYTHONPATH": os.pathsep.join(part for part in sys.path if part),
        "PATH": f"{own}:{programs}:{os.environ['PATH']}",
        "PGHOST": str(pg_server.folder),
        "PGPORT": str(pg_server.port),
        "PGUSER": "postgres",
    }
    script = "\n".join(["set -euo pipefail", *commands])
    with pg_server.admin() as admin:
        # Roles are the server's, and this database is another one than that of the other tests.
        done = subprocess.run(["/bin/bash", "-c", script], env=environment, capture_output=True, text=True, check=False)
        try:
            assert done.returncode == 0, done.stderr
            assert hba.read_text().startswith("hostssl prepkit ward_3_east")
            with open_store(f"postgresql://ward_3_east@127.0.0.1:{pg_server.port}/prepkit") as store:
                assert check_store(store) == ()
        finally:
            admin.execute("DROP DATABASE prepkit")
            admin.execute("DROP ROLE ward_3_east")


def test_no_message_names_an_install_that_readme_does_not() -> None:
    """The index has another package called prepkit: a message must not have a ward install a stranger's code."""
    top = GUIDE.parents[1]
    readme = (top / "README.md").read_text("utf-8")
    known = {extra: say_install(extra).split(": ", 1)[1] for extra in ("serve", "postgres")}
    assert [extra for extra, command in known.items() if command not in readme] == []
    sources = {path: path.read_text("utf-8") for path in (top / "prepkit").rglob("*.py")}
    assert [path.name for path, text in sources.items() if re.search(r"(pip|pipx|uv)\b[^\n]*\binstall\b", text)] == [
        "errors.py"
    ]
    assert {extra for text in sources.values() for extra in re.findall(r"say_install\(['\"](\w+)", text)} == set(known)


def test_the_distribution_has_not_the_name_of_another_package() -> None:
    project = tomllib.loads((GUIDE.parents[1] / "pyproject.toml").read_text("utf-8"))["project"]
    assert project["name"] == "neonatal-prepkit"
    assert project["scripts"] == {"prepkit": "prepkit.cli.main:main"}


def test_no_page_has_prepkit_installed_by_its_name_alone() -> None:
    """A public index would be asked for the name, and what answers there need not be prepkit."""
    top = GUIDE.parents[1]
    pages = [top / "README.md", top / "DEVELOPERS.md", *sorted((top / "docs").rglob("*.md"))]
    assert len(pages) > 10
    named = [page.name for page in pages if re.search(r"pip install[^\n&`]*\bprepkit\b", page.read_text("utf-8"))]
    assert named == []
