"""The options of `prepkit serve`: why they may be refused, and what they do not protect against.

Also the command that starts a session's program, which everybody on the machine can read.
"""

import ipaddress
import os
import socket
import ssl
import sys
from pathlib import Path

from msgspec import Struct

PASSPHRASE_VARIABLE = "PREPKIT_PASSPHRASE"  # noqa: S105  (where it is, not what it is)
LEAST_CHARACTERS = 12
"""The shortest passphrase: three short words."""
_EVERYWHERE = ("0.0.0.0", "::")  # noqa: S104  (named to be told apart, not to listen on)


class ServeOptions(Struct, frozen=True):
    """How to serve."""

    host: str = "127.0.0.1"
    port: int = 8000
    passphrase: str = ""
    """Empty for none, which is allowed with PINs, and on this machine alone."""
    pins: bool = False
    """Whether the ward file has people sign in with PINs."""
    certificate: Path | None = None
    key: Path | None = None
    behind_proxy: bool = False
    names: tuple[str, ...] = ()
    """Names that a browser may use for this server, besides the machine's own."""
    most_sessions: int = 12
    idle_minutes: int = 30

    @property
    def is_loopback(self) -> bool:
        """Whether only this machine can connect, and no proxy lets anybody else through."""
        return is_loopback(self.host) and not self.behind_proxy

    @property
    def is_encrypted(self) -> bool:
        """Whether browsers reach it over TLS: its own, or the proxy's."""
        return self.certificate is not None or self.behind_proxy


def is_loopback(host: str) -> bool:
    """Whether an address is one of this machine alone."""
    if host.lower() == "localhost":
        return True
    try:
        return ipaddress.ip_address(host.strip("[]")).is_loopback
    except ValueError:
        return False


def check_options(options: ServeOptions) -> str:
    """Why these options are refused, in words; an empty string where they are not."""
    if not 1 <= options.port <= 65535:  # noqa: PLR2004  (what a port is)
        return f"--port must be 1 to 65535 (got {options.port})."
    if options.most_sessions < 1 or options.idle_minutes < 1:
        return "--sessions and --idle must be 1 or more."
    if (options.certificate is None) != (options.key is None):
        return "--certificate and --key go together: give both files."
    if options.passphrase and len(options.passphrase) < LEAST_CHARACTERS:
        return f"The passphrase is too short: {LEAST_CHARACTERS} characters or more, such as four words."
    return "" if options.is_loopback else _check_wider(options)


def _check_wider(options: ServeOptions) -> str:
    """Check what other machines could connect to."""
    if not options.passphrase and not options.pins:
        return (
            "Other machines could connect, so PINs or a passphrase are needed: set pins = true under [people] in the"
            f" ward file, or name a file with --passphrase-file FILE, or set {PASSPHRASE_VARIABLE}."
        )
    if not options.is_encrypted:
        return (
            "Other machines could connect, so the connection must be encrypted:"
            " give --certificate FILE and --key FILE, or --behind-proxy where a proxy in front does it."
        )
    return ""


def read_passphrase(path: Path | None) -> tuple[str, str]:
    """The passphrase from its file, or from the environment where no file is named; and why there is none.

    The last line break of a file is not part of it. A file that other users of the machine can read is refused.
    """
    if path is None:
        return os.environ.get(PASSPHRASE_VARIABLE, ""), ""
    try:
        if path.stat().st_mode & 0o007:
            return "", f'Other users of this machine can read "{path}". Take that away: chmod o-rwx "{path}"'
        passphrase = path.read_text("utf-8").rstrip("\r\n")
    except (OSError, UnicodeDecodeError) as error:
        reason = getattr(error, "strerror", None) or "it is not UTF-8 text"
        return "", f'The passphrase file "{path}" cannot be read: {reason.lower()}.'
    return (passphrase, "") if passphrase else ("", f'The passphrase file "{path}" is empty.')


def read_certificate(options: ServeOptions) -> tuple[ssl.SSLContext | None, str]:
    """TLS with the named certificate and key, or none where none is named; and why there is none."""
    if options.certificate is None or options.key is None:
        return None, ""
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    context.minimum_version = ssl.TLSVersion.TLSv1_2
    try:
        context.load_cert_chain(options.certificate, options.key, password=lambda: "")
    except OSError as error:  # TLS reports a bad file with one of these too
        reason = error.strerror or str(error)
        return None, f'"{options.certificate}" with "{options.key}" is no certificate with its key: {reason.lower()}.'
    return context, ""


def say_where(options: ServeOptions) -> str:
    """The address to open: with the given name where the certificate is ours, never with one that means "all"."""
    scheme = "https" if options.certificate else "http"
    host = options.host
    if options.certificate and options.names:
        host = options.names[0]
    elif host in _EVERYWHERE:
        host = socket.gethostname()
    return f"{scheme}://{f'[{host}]' if ':' in host else host}:{options.port}/"


LEFT_TO_YOU = (
    "Anybody who can see or pick up an unlocked phone sees what is on it: lock the phones.",
    "The store and its folder are protected by this machine's own accounts and disk, not by prepkit.",
    "Other programs and users of this machine; a browser's extensions; a phone that somebody else controls.",
    "Somebody who floods it, or who locks the sign-in by guessing: keep it off the open internet.",
)
_PLAIN = "On this machine alone, without a passphrase or PINs: whoever is logged in here can open it."
_WORD = "One passphrase opens it for everybody who knows it: initials are somebody's word, not a proof."
_PIN = "A PIN is short: whoever watches it being typed, or is told it, is that person to prepkit."
_TRIES = "Without a passphrase, whoever reaches the sign-in can try PINs: a few wrong ones make their owner wait."
_PROXY = (
    "Behind a proxy: it must encrypt, keep the Host header, set X-Forwarded-For itself, and be the only way in."
    " What lies between it and prepkit is not encrypted."
)
_TLS = "The wifi is not trusted; a browser that was told to go on past a certificate warning is not protected."


def list_left_to_you(options: ServeOptions) -> tuple[str, ...]:
    """What serving like this does not protect against, in sentences."""
    has_word, pins = bool(options.passphrase), options.pins
    also = (
        (_PLAIN, not has_word and not pins),
        (_WORD, has_word and not pins),
        (_PIN, pins),
        (_TRIES, pins and not has_word),
        (_PROXY, options.behind_proxy),
        (_TLS, options.is_encrypted),
    )
    return (*(sentence for sentence, holds in also if holds), *LEFT_TO_YOU)


def make_command(store: Path | str | None, ward: Path | None, kits: Path | None, *, practice: bool) -> tuple[str, ...]:
    """The words that start a session's program; without a store it looks where the environment says.

    Everybody on the machine can read them, so they name files and nobody.
    """
    optional = (("--store", store), ("--ward", ward), ("--kits", kits))
    named = [word for option, path in optional if path is not None for word in (option, str(path))]
    last = ["--practice"] if practice else []
    return (sys.executable, "-m", "prepkit.serve.screens", *named, *last)
