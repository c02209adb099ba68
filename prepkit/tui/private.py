"""Every private name of the terminal library that prepkit uses: it may go in any release, so it is used here alone.

`tests/tui/test_tui_private.py` tries each of them, and pyproject.toml bounds the library from above for their sake.
"""

from textual.app import App
from textual.widget import Widget


def is_being_removed(widget: Widget) -> bool:
    """Whether a widget is being taken down, which its public state says only once that is done.

    A touch or a key that comes in between would act on what stands in its place by then.
    """
    return widget._pruning  # noqa: SLF001 (there is no public name for it)


class QuietApp(App[None]):
    """An app that keeps a fault to itself: the library would paint it with every local variable, a baby's facts too."""

    @property
    def is_leaving(self) -> bool:
        """Whether the program was told to end: screens go from then on, though the app still counts as running."""
        return self._exit

    @property
    def fault(self) -> Exception | None:
        """What stopped the app, if it was a fault; the library offers its exit code alone."""
        return self._exception

    def _fatal_error(self) -> None:
        """Close without painting: the library's own draws the traceback first and then does the same."""
        self._close_messages_no_wait()
