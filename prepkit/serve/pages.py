"""The pages and the files they are drawn with, each by its name; there is no directory to look into.

May import: textual-serve's files, which are the terminal in the page and its letters.
"""

import html
from functools import cache
from importlib.util import find_spec
from pathlib import Path
from string import Template

OURS = Path(__file__).parent / "page"


def find_file(name: str) -> Path | None:
    """The file of a name; None where nothing is served by it."""
    return _list_files().get(name)


@cache
def _list_files() -> dict[str, Path]:
    spec = find_spec("textual_serve")
    theirs = Path(spec.origin).parent / "static" if spec and spec.origin else OURS
    return {
        "page.css": OURS / "page.css",
        "icon.svg": OURS / "icon.svg",
        "phone.js": OURS / "phone.js",
        "terminal.js": theirs / "js" / "textual.js",
        "terminal.css": theirs / "css" / "xterm.css",
        "letters.ttf": theirs / "fonts" / "RobotoMono-VariableFont_wght.ttf",
        "slanted.ttf": theirs / "fonts" / "RobotoMono-Italic-VariableFont_wght.ttf",
    }


def write_sign_in(sentence: str = "", *, asks: bool) -> str:
    """The sign-in page: a passphrase where one is asked for, a button, and what was wrong last time."""
    ask = _read("ask.html") if asks else "<p>On this machine alone: no passphrase is asked for.</p>"
    said = f'<p class="said" role="alert">{html.escape(sentence)}</p>' if sentence else ""
    button = "Sign in" if asks else "Open"
    return Template(_read("sign_in.html")).substitute(said=said, ask=ask, button=button)


def write_screens() -> str:
    """The page that shows the screens."""
    return _read("screens.html")


@cache
def _read(name: str) -> str:
    return (OURS / name).read_text("utf-8")
