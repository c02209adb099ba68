"""A widget that draws its own lines for the width it is given, and is as high as they are."""

from textual.content import Content
from textual.geometry import Size
from textual.widget import Widget

from prepkit.tui.words import stacked


class Drawn(Widget):
    """Subclasses say their lines; nothing they say is ever cut, because the height follows the lines."""

    ALLOW_SELECT = False

    def lines(self, width: int) -> list[Content]:
        """What to draw in `width` cells."""
        raise NotImplementedError

    def render(self) -> Content:
        """All lines as one content."""
        return stacked(self.lines(max(self.content_size.width, 1)))

    def get_content_height(self, container: Size, viewport: Size, width: int) -> int:  # noqa: ARG002 (the library's signature)
        """As many rows as there are lines."""
        return len(self.lines(max(width, 1)))

    def redraw(self) -> None:
        """Paint again; move what is below only where the number of lines has changed."""
        width = self.content_size.width
        grew = width > 0 and len(self.lines(width)) != self.content_size.height
        self.refresh(layout=grew or width == 0)
