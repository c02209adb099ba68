"""Paragraphs of finished words."""

from msgspec import Struct
from textual.content import Content

from prepkit.tui.widgets.drawn import Drawn
from prepkit.tui.words import beside, styled


class Sentence(Struct, frozen=True):
    """One paragraph: its words, the ink, and what stands before its first line."""

    words: str
    style: str = "$ink"
    lead: str = ""


class Sentences(Drawn):
    """Paragraphs one under the other, wrapped, with hanging leads."""

    def __init__(self, *sentences: Sentence, id: str | None = None, classes: str | None = None) -> None:  # noqa: A002 (the library's own name)
        super().__init__(id=id, classes=classes)
        self._sentences = sentences

    def say(self, *sentences: Sentence) -> None:
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
    return beside((lead, hang), (styled(sentence.words, width - hang, sentence.style), width - hang))
