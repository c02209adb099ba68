"""`prepkit serve`: the screens in a browser. May import: everything."""

import argparse
import sys
import tempfile
from importlib.util import find_spec
from pathlib import Path
from typing import TYPE_CHECKING

from prepkit.cli.exits import Exit
from prepkit.serve.command import make_command
from prepkit.serve.options import (
    Options,
    check_options,
    list_left_to_you,
    read_certificate,
    read_passphrase,
    say_where,
)
from prepkit.shelf import find_shipped, find_store, find_ward
from prepkit.store import is_address, open_sqlite, open_store

if TYPE_CHECKING:
    import ssl

_NOT_INSTALLED = "the browser's part is not installed. Install it with: pip install 'prepkit[serve]'"


def run_serve(arguments: argparse.Namespace) -> int:
    """Serve until it is stopped; the exit code."""
    if not all(find_spec(name) for name in ("aiohttp", "textual_serve")):
        return _refuse(_NOT_INSTALLED)
    passphrase, problem = read_passphrase(arguments.passphrase_file)
    options = Options(
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
    problem = problem or check_options(options)
    tls, tls_problem = read_certificate(options)
    if problem or tls_problem:
        return _refuse(problem or tls_problem)
    return _serve_demo(arguments, options, tls) if arguments.demo else _serve_store(arguments, options, tls)


def _serve_store(arguments: argparse.Namespace, options: Options, tls: "ssl.SSLContext | None") -> int:
    at, ward = find_store(arguments.store), find_ward(arguments.ward)
    with open_store(at):  # a store that cannot be opened is said here, not on a phone
        pass
    # An address from the environment may hold a password, which no command line shows: the session finds it there too.
    told = arguments.store if is_address(at) else at
    return _run(options, make_command(told, ward, arguments.kits, practice=False), tls)


def _serve_demo(arguments: argparse.Namespace, options: Options, tls: "ssl.SSLContext | None") -> int:
    from prepkit.desk.demo import lay_out_demo  # noqa: PLC0415  (only the demo needs it)

    ward = arguments.ward or find_shipped("demo") / "ward.toml"
    with tempfile.TemporaryDirectory(prefix="prepkit-demo-") as folder:
        path = Path(folder) / "preparations.sqlite"
        with open_sqlite(path) as store:
            lay_out_demo(store, ward)
        return _run(options, make_command(path, ward, arguments.kits, practice=True), tls)


def _run(options: Options, command: tuple[str, ...], tls: "ssl.SSLContext | None") -> int:
    from prepkit.serve.server import run_server  # noqa: PLC0415  (needs what may not be installed)

    try:
        run_server(options, command, tls, lambda: _tell(options))
    except OSError as error:
        reason = (error.strerror or str(error)).lower()
        return _refuse(f"{options.host} port {options.port} cannot be served at: {reason}.")
    return Exit.DONE


def _tell(options: Options) -> None:
    sys.stderr.write(f"prepkit is at {say_where(options)} (Ctrl+C stops it). It does not protect against this:\n")
    sys.stderr.writelines(f"- {sentence}\n" for sentence in list_left_to_you(options))
    sys.stderr.flush()


def _refuse(sentence: str) -> int:
    sys.stderr.write(f"prepkit serve: {sentence}\n")
    return Exit.USAGE
