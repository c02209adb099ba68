"""The banner: whose preparation this is, on top of every screen of it; under it the screen's title."""

from textual import events
from textual.content import Content
from textual.message import Message

from prepkit.tui.layout import wrap
from prepkit.tui.widgets.text import TextBlock
from prepkit.view.signs import Banner

NARROW = 60
ROOMY = 76
"""Cells from which today's gestation stands there too: a screen of 80 columns."""
PRACTICE = "practice"
TOUCHED = 12
"""Cells at the right end of banner and title that belong to the initials for a finger."""


class BannerBar(TextBlock):
    """Cot label, weights and gestation, kit where there is room, and "practice" where it is."""

    class Touched(Message):
        """The banner or the title under it was touched: both are one target, because each is only a row high."""

        def __init__(self, *, at_end: bool) -> None:
            super().__init__()
            self.at_end = at_end
            """Whether the touch was over or on the initials."""

    def __init__(self, banner: Banner | None = None) -> None:
        super().__init__(id="banner")
        self._banner = banner

    @property
    def banner(self) -> Banner | None:
        """The banner shown now."""
        return self._banner

    def show(self, banner: Banner | None) -> None:
        """Show this banner, or none."""
        self.display = banner is not None
        if banner != self._banner:
            self._banner = banner
            self.redraw()

    def lines(self, width: int) -> list[Content]:
        """One line where it fits, more where it does not; nothing is cut."""
        if self._banner is None:
            return [Content("")]
        cot, baby, *others = _pieces(self._banner, width)
        whole = Content("   ").join([cot, baby, *others])
        if whole.cell_length <= width:
            return [whole]
        return [line for piece in _packed([cot, *others, baby], width) for line in _wrapped(piece, width)]

    def on_click(self, event: events.Click) -> None:
        """Tell the screen; it leads to the baby, or over the initials to them."""
        self.post_message(self.Touched(at_end=event.offset.x >= self.size.width - TOUCHED))


class TitleLine(TextBlock):
    """The screen's title on the left, progress and who is signed in on the right, and arrows.

    The arrows say where more is out of sight. A touch on the initials lets another person take over; they stand there
    if that costs no row.
    """

    def __init__(self, title: str = "") -> None:
        super().__init__(id="title")
        self._title = title
        self._progress = ""
        self._who = ""
        self._arrows = ""

    def show(self, title: str, progress: str = "", who: str = "") -> None:
        """Show a title, its progress and, where it belongs, who is signed in."""
        if (title, progress, who) != (self._title, self._progress, self._who):
            self._title, self._progress, self._who = title, progress, who
            self.redraw()

    def on_click(self, event: events.Click) -> None:
        """Tell the screen, as the banner does."""
        self.post_message(BannerBar.Touched(at_end=event.offset.x >= self.size.width - TOUCHED))

    def point(self, *, above: bool, below: bool) -> None:
        """Show whether there is more above and more below."""
        arrows = ("▲" if above else " ") + ("▼" if below else " ") if above or below else ""
        if arrows != self._arrows:
            self._arrows = arrows
            self.redraw()

    def lines(self, width: int) -> list[Content]:
        """Title and progress on one line where they fit, else under each other."""
        title = Content.styled(self._title, "bold $ink")
        bare, full = self._end(""), self._end(self._who)
        progress = full if title.cell_length + full.cell_length < width else bare
        gap = width - title.cell_length - progress.cell_length
        if gap > 0:
            return [title.append(" " * gap).append(progress)]
        last = full if full.cell_length <= width else bare
        above = [Content.styled(line, "bold $ink") for line in wrap(self._title, width)]
        return [*above, last.pad_left(max(width - last.cell_length, 0))]

    def _end(self, who: str) -> Content:
        progress = Content.styled(f"{self._progress}  ".lstrip(), "$pale")
        people = Content.styled(f"[{who}]", "bold $ink").append("  ") if who else Content("")
        return progress.append(people).append(Content.styled(self._arrows or "  ", "$pale"))


def _pieces(banner: Banner, width: int) -> list[Content]:
    practice = [Content.styled(f" {PRACTICE} ", "reverse bold")] if banner.practice else []
    kit = [Content.styled(banner.kit, "$pale")] if width >= NARROW else []
    today = f", {banner.today}" if banner.today and width >= ROOMY else ""
    baby = Content.styled(f"{banner.baby}{today}", "bold $ink")
    return [Content.styled(banner.cot, "bold $amount"), baby, *practice, *kit]


def _packed(pieces: list[Content], width: int) -> list[Content]:
    """As many pieces on a line as fit."""
    packed: list[Content] = []
    for piece in pieces:
        together = packed[-1].append("   ").append(piece) if packed else piece
        if packed and together.cell_length <= width:
            packed[-1] = together
        else:
            packed.append(piece)
    return packed


def _wrapped(piece: Content, width: int) -> list[Content]:
    return [piece] if piece.cell_length <= width else piece.wrap(width)
