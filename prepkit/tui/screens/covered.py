"""Keeps the list out of sight while somebody checks it: every screen of a preparation derives from this."""

from typing import TYPE_CHECKING, ClassVar, Generic, TypeVar

from textual.await_complete import AwaitComplete
from textual.screen import Screen

from prepkit.tui.private import is_being_removed
from prepkit.tui.routes import navigate
from prepkit.view.routes import ScreenRoute

if TYPE_CHECKING:
    from prepkit.app.open_preparation import OpenPreparation
    from prepkit.app.workstation import Workstation

Result = TypeVar("Result")

NEWS_EVERY = 0.25
"""Seconds between looks at what other devices did."""


class CoveredScreen(Screen[Result], Generic[Result]):
    """A screen over which the cover goes as soon as a check of its preparation is under way."""

    ROUTE: ClassVar[ScreenRoute]
    """Which screen it is; the name of its keys in the table of keys too."""

    desk: "Workstation"
    preparation: "OpenPreparation | None" = None
    """The preparation of which something is shown here; None where nothing of a list can be."""

    TAKES_TYPING: ClassVar[bool] = False
    """Whether what is typed goes into a field here."""

    def has_key(self, key: str) -> bool:
        """Whether a key does something on this screen."""
        return key in self.active_bindings

    def action_scan(self, text: str) -> None:
        """Take a scan that came without a field for it; nothing, where nothing is said of it."""

    @property
    def is_on_top(self) -> bool:
        """Whether this screen is the one that is shown; the library calls the one under it current too."""
        return self.app.screen is self

    @property
    def is_up(self) -> bool:
        """Whether this screen is not being taken down: one that is taken down at once never gets all its parts."""
        return self.app.is_running and self.is_attached and not is_being_removed(self)

    @property
    def takes_actions(self) -> bool:
        """Whether an action has all that it acts on: every part is there and drawn, and this is what is shown.

        A key may come before that: it goes through every widget of the screen before, and is looked up only then. A
        touch or a scan may come when this screen is covered by another one or is being taken down.
        """
        return self.is_up and self.is_mounted and self.is_on_top

    @property
    def is_covered(self) -> bool:
        """Whether nothing of the list is to be shown now."""
        return self.preparation is not None and self.preparation.check.show_cover() is not None

    def dismiss(self, result: Result | None = None) -> AwaitComplete:
        """Close this screen; not while another lies over it.

        The library would close that one, and take this one for closed.
        """
        return super().dismiss(result) if self.is_on_top else AwaitComplete()

    def cover(self) -> bool:
        """Put the cover over this screen where that is due; True where it is."""
        if self.preparation is None or not self.is_covered:
            return False
        if self.is_on_top:
            navigate(self.app, ScreenRoute.COVER, desk=self.desk, preparation=self.preparation)
        return True
