"""A picture in cells with its words under it, drawn again for every width."""

from textual.content import Content
from textual.widget import Widget

from prepkit.pictures.drawing import LEAST_WIDTH
from prepkit.tui.layout import styled
from prepkit.tui.widgets.text import TextBlock
from prepkit.view.models import Picture


class PictureWidget(TextBlock):
    """One picture."""

    def __init__(self, picture: Picture) -> None:
        super().__init__(classes="picture")
        self._picture = picture

    def show(self, picture: Picture) -> None:
        """Show another picture."""
        self._picture = picture
        self.redraw()

    def lines(self, width: int) -> list[Content]:
        """The picture where there is room for it, and always its words."""
        drawing = self._picture(width)
        rows = drawing.rows if width >= LEAST_WIDTH else ()
        return [*(Content.styled(row, "$amount") for row in rows), *styled(drawing.words, width, "$pale"), Content("")]


class PictureItem:
    """A picture in a column."""

    def __init__(self, key: str, picture: Picture) -> None:
        self.key = key
        self._picture = picture

    def make(self) -> Widget:
        """A new picture."""
        return PictureWidget(self._picture)

    def update(self, widget: Widget) -> None:
        """Update the picture."""
        if isinstance(widget, PictureWidget):
            widget.show(self._picture)
