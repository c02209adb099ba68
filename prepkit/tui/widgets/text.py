"""Text on the screen: a widget that is as tall as the lines it draws, and paragraphs made with it."""

from msgspec import Struct
from textual.content import Content
from textual.geometry import Size
from textual.widget import Widget

from prepkit.tui.layout import side_by_side, stacked, styled


class TextBlock(Widget):
    """Subclasses give their lines; nothing is ever cut, because the height follows the lines."""

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


class Sentence(Struct, frozen=True):
    """One paragraph: its words, the ink, and what stands before its first line."""

    words: str
    style: str = "$ink"
    lead: str = ""


class Sentences(TextBlock):
    """Paragraphs one under the other, wrapped, with hanging leads."""

    def __init__(self, *sentences: Sentence, id: str | None = None, classes: str | None = None) -> None:  # noqa: A002 (the library's own name)
        super().__init__(id=id, classes=classes)
        self._sentences = sentences

    def show(self, *sentences: Sentence) -> None:
        """Show other paragraphs."""
        if sentences != self._sentences:
            self._sentences = sentences
            self.redraw()

    def lines(self, width: int) -> list[Content]:
        """The paragraphs' lines."""
        return [line for sentence in self._sentences for line in _lines_of(sentence, width)]


def _lines_of(sentence: Sentence, width: int) -> list[Content]:
    if not sentence.words:
        return [Content("")]
    hang = len(sentence.lead)
    lead = [Content.styled(sentence.lead, sentence.style)]
    return side_by_side((lead, hang), (styled(sentence.words, width - hang, sentence.style), width - hang))
