"""The pages and the files that they load, each by its name. No directory is ever listed.

The terminal in the page and its fonts are textual-serve's.
"""

import html
from functools import cache
from importlib.util import find_spec
from pathlib import Path
from string import Template

from prepkit.serve.sign_in import SignInRequirements

OURS = Path(__file__).parent / "page"
_NOTHING_ASKED = "<p>On this machine alone: no passphrase is asked for.</p>"


def find_file(name: str) -> Path | None:
    """The file served under a name; None where there is none."""
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


def write_sign_in(asked: SignInRequirements, sentence: str = "", initials: str = "") -> str:
    """The sign-in page: what it asks for, what was wrong last time, and a button. Initials need not be typed again."""
    parts = (("ask_passphrase.html", asked.passphrase), ("ask_pin.html", asked.pin))
    asks = "\n      ".join(Template(_read(name)).substitute(initials=_quote(initials)) for name, on in parts if on)
    said = f'<p class="said" role="alert">{_quote(sentence or asked.shut)}</p>' if sentence or asked.shut else ""
    button = "" if asked.shut else f'<button type="submit">{"Sign in" if asks else "Open"}</button>'
    empty = '<input id="pin"' if initials and not asked.passphrase else "<input "
    ask = "" if asked.shut else asks.replace(empty, f"{empty} autofocus ", 1) or _NOTHING_ASKED
    return Template(_read("sign_in.html")).substitute(said=said, ask=ask, button=button)


def _quote(text: str) -> str:
    """Text from elsewhere, as text on a page."""
    return html.escape(text.replace("\0", ""))


def write_screens() -> str:
    """The page that shows the screens."""
    return _read("screens.html")


@cache
def _read(name: str) -> str:
    return (OURS / name).read_text("utf-8")
