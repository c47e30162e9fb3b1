"""The menu of a right click on the sheet: what can be done with what is selected."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtGui import QAction
from PySide6.QtWidgets import QMenu, QWidget


class SheetMenu(QMenu):
    """A menu that leaves some actions out where they would do nothing.

    An action stands in the menu bar too and has a key there, so it is not hidden itself: it
    is taken out of this menu, and put back at its place.
    """

    def __init__(self, parent: QWidget) -> None:
        super().__init__(parent)
        self._asked: list[tuple[QAction, QAction, Callable[[], bool]]] = []
        self.aboutToShow.connect(self.refresh)

    def add_where(
        self, action: QAction, followed_by: QAction, is_of_use: Callable[[], bool]
    ) -> None:
        """Put an action before another that is always there, while `is_of_use` says yes.

        `is_of_use` must keep no window alive: a bound method of what the menu belongs to.
        """
        self._asked.append((action, followed_by, is_of_use))
        self.refresh()

    def refresh(self) -> None:
        """Leave out what is of no use now."""
        for action, followed_by, is_of_use in self._asked:
            if is_of_use():
                self.insertAction(followed_by, action)
            else:
                self.removeAction(action)
