"""Themes: calm colours of our own for a bright room, for dusk and for the small hours, and one of high contrast.

Every ink can be read on every ground at 4.5:1 or better, and at 7:1 in high contrast. Colour never stands alone:
signs, words, reverse video and the ▶ say the same without it.
"""

from msgspec import Struct
from msgspec.structs import replace
from textual.theme import Theme

from prepkit.view.signs import Sign

BLACK, GREY = "#000000", "#aaaaaa"
"""Black and white as every console of sixteen colours has them."""

DUSK, DAY, NIGHT, CONTRAST = "dusk", "day", "night", "contrast"


class Palette(Struct, frozen=True):
    """The colours of one light."""

    name: str
    says: str
    """For whom it is, in a few words."""
    dark: bool
    ground: str
    tile: str
    raised: str
    rule: str
    ink: str
    amount: str
    name_ink: str
    pale: str
    done: str
    ask: str
    changed: str
    blocked: str
    advice: str
    primary: str
    on_primary: str

    @property
    def inks(self) -> dict[str, str]:
        """Colours that text is set in, on any of the grounds."""
        return {
            "ink": self.ink,
            "amount": self.amount,
            "name": self.name_ink,
            "pale": self.pale,
            "done": self.done,
            "ask": self.ask,
            "changed": self.changed,
            "blocked": self.blocked,
            "advice": self.advice,
            "primary-ink": self.primary,
        }

    @property
    def grounds(self) -> dict[str, str]:
        """Colours that text is set on."""
        return {"ground": self.ground, "tile": self.tile, "raised": self.raised}

    def make_bare(self) -> "Palette":
        """The palette for a terminal of sixteen colours: one ground, and in the light ones one ink.

        A dark grey ground is no ground such a console surely has, and on its light grey nothing but black can be read.
        """
        if self.dark:
            return replace(self, tile=self.ground, raised=self.ground)
        return replace(
            self,
            ground=GREY,
            tile=GREY,
            raised=GREY,
            rule=BLACK,
            ink=BLACK,
            amount=BLACK,
            name_ink=BLACK,
            pale=BLACK,
            done=BLACK,
            ask=BLACK,
            changed=BLACK,
            blocked=BLACK,
            advice=BLACK,
            primary=BLACK,
            on_primary=GREY,
        )

    def make_theme(self) -> Theme:
        """The palette as the terminal library takes it."""
        return Theme(
            name=self.name,
            primary=self.primary,
            foreground=self.ink,
            background=self.ground,
            surface=self.tile,
            panel=self.raised,
            dark=self.dark,
            text_alpha=1.0,
            variables={**self.inks, **self.grounds, "rule": self.rule, "on-primary": self.on_primary},
        )


PALETTES = {
    each.name: each
    for each in (
        Palette(
            name=DUSK,
            says="cool and dark",
            dark=True,
            ground="#14181c",
            tile="#1d242a",
            raised="#28323a",
            rule="#4d5b66",
            ink="#e8e6df",
            amount="#ffffff",
            name_ink="#d3d6d6",
            pale="#b9bdc0",
            done="#a5cfa0",
            ask="#e2cc94",
            changed="#c6b8e6",
            blocked="#e3b795",
            advice="#a9c7e4",
            primary="#a8cfc6",
            on_primary="#10201d",
        ),
        Palette(
            name=DAY,
            says="light, for a bright room",
            dark=False,
            ground="#f7f5ef",
            tile="#eeebe2",
            raised="#e2ded2",
            rule="#8b8777",
            ink="#22272a",
            amount="#000000",
            name_ink="#2c3236",
            pale="#4a5054",
            done="#1f5a2a",
            ask="#664a00",
            changed="#4f3a86",
            blocked="#843c10",
            advice="#1c4a75",
            primary="#17544a",
            on_primary="#f7f5ef",
        ),
        Palette(
            name=NIGHT,
            says="dim and warm, for dark-adapted eyes",
            dark=True,
            ground="#0d0906",
            tile="#140e09",
            raised="#1d140d",
            rule="#4a3828",
            ink="#b8977a",
            amount="#d0ab8a",
            name_ink="#b09074",
            pale="#9c7f66",
            done="#a0986a",
            ask="#bb9a5c",
            changed="#b08f92",
            blocked="#c08a62",
            advice="#a2937f",
            primary="#bf9a6e",
            on_primary="#120c07",
        ),
        Palette(
            name=CONTRAST,
            says="black and white, with the strongest colours",
            dark=True,
            ground="#000000",
            tile="#000000",
            raised="#1c1c1c",
            rule="#ffffff",
            ink="#ffffff",
            amount="#ffffff",
            name_ink="#ffffff",
            pale="#ffffff",
            done="#7dff7d",
            ask="#ffff66",
            changed="#e5c8ff",
            blocked="#ffc08a",
            advice="#a8dcff",
            primary="#ffff66",
            on_primary="#000000",
        ),
    )
}
"""In the order in which they are offered."""

SIGN_INKS: dict[str, str] = {
    Sign.TO_DO: "$ink",
    Sign.DONE: "$done",
    Sign.NOT_NEEDED: "$pale",
    Sign.BLOCKED: "$blocked",
    Sign.CHANGED: "$changed",
    Sign.QUESTION: "$ask",
    Sign.ADVICE: "$advice",
}
"""The ink of each sign; a sign without one is set in plain ink."""
