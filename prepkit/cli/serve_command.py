"""`prepkit serve`: the screens in a browser."""

import argparse
import ssl
import sys
import tempfile
from importlib.util import find_spec
from pathlib import Path

from msgspec import Struct
from msgspec.structs import replace

from prepkit.app.demo import lay_out_demo
from prepkit.app.staff import NOBODY_YET
from prepkit.app.workstation import open_workstation
from prepkit.cli.output import Exit
from prepkit.errors import say_install
from prepkit.paths import find_shipped, find_store, find_ward
from prepkit.serve.options import (
    ServeOptions,
    check_options,
    list_left_to_you,
    make_command,
    read_certificate,
    read_passphrase,
    say_where,
)
from prepkit.serve.sign_in import Authenticator
from prepkit.store import StoreAt, is_address, open_sqlite, open_store

_NOT_INSTALLED = f"the browser's part is not installed: {say_install('serve')}"


def run_serve(arguments: argparse.Namespace) -> int:
    """Serve until it is stopped; the exit code."""
    if not all(find_spec(name) for name in ("aiohttp", "textual_serve")):
        return _refuse(_NOT_INSTALLED)
    passphrase, problem = read_passphrase(arguments.passphrase_file)
    options = ServeOptions(
        host=arguments.host,
        port=arguments.port,
        passphrase=passphrase,
        certificate=arguments.certificate,
        key=arguments.key,
        behind_proxy=arguments.behind_proxy,
        names=tuple(arguments.names),
        most_sessions=arguments.sessions,
        idle_minutes=arguments.idle,
    )
    tls, tls_problem = read_certificate(options)
    # The ward file comes last: options that cannot be served open nothing and make no store.
    if problem := problem or check_options(replace(options, pins=True)) or tls_problem:
        return _refuse(problem)
    return _serve_demo(arguments, options, tls) if arguments.demo else _serve_store(arguments, options, tls)


class _Served(Struct, frozen=True):
    """What is served: a store, and the kits and ward file."""

    store: StoreAt
    named: StoreAt | None
    """The store as a session's command names it; None where its environment does."""
    ward: Path | None
    kits: Path | None
    practice: bool


def _serve_store(arguments: argparse.Namespace, options: ServeOptions, tls: ssl.SSLContext | None) -> int:
    at, ward = find_store(arguments.store), find_ward(arguments.ward)
    # An address from the environment may hold a password, so no command line shows it: the session reads it there too.
    named = arguments.store if is_address(at) else at
    return _run(options, _Served(at, named, ward, arguments.kits, practice=False), tls)


def _serve_demo(arguments: argparse.Namespace, options: ServeOptions, tls: ssl.SSLContext | None) -> int:
    ward = arguments.ward or find_shipped("demo") / "ward.toml"
    with tempfile.TemporaryDirectory(prefix="prepkit-demo-") as folder:
        path = Path(folder) / "preparations.sqlite"
        with open_sqlite(path) as store:
            lay_out_demo(store, ward)
        return _run(options, _Served(path, path, ward, arguments.kits, practice=True), tls)


def _run(options: ServeOptions, served: _Served, tls: ssl.SSLContext | None) -> int:
    from prepkit.serve.server import run_server  # noqa: PLC0415  (aiohttp may not be installed)

    with open_store(served.store) as store:  # say here, not on a phone, that it cannot be opened
        desk = open_workstation(store, ward=served.ward, kits=served.kits)
        options = replace(options, pins=desk.identity.needs_pin)
        nobody = NOBODY_YET if options.pins and not desk.identity.list_people() else ""
    if problem := check_options(options):
        return _refuse(problem)
    command = make_command(served.named, served.ward, served.kits, practice=served.practice)
    authenticator = Authenticator(served.store, served.ward, served.kits)
    try:
        run_server(options, command, authenticator, tls, lambda: _tell(options, nobody))
    except OSError as error:
        reason = (error.strerror or str(error)).lower()
        return _refuse(f"{options.host} port {options.port} cannot be served at: {reason}.")
    return Exit.DONE


def _tell(options: ServeOptions, nobody: str) -> None:
    """Say where it is and what it does not protect; and that nobody can sign in yet, if so."""
    sys.stderr.write(f"prepkit is at {say_where(options)} (Ctrl+C stops it). It does not protect against this:\n")
    sys.stderr.writelines(f"- {sentence}\n" for sentence in list_left_to_you(options))
    sys.stderr.write(f"{nobody}\n" if nobody else "")
    sys.stderr.flush()


def _refuse(sentence: str) -> int:
    sys.stderr.write(f"prepkit serve: {sentence}\n")
    return Exit.USAGE
