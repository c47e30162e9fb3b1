"""While a failure is looked at, what edits the drawing is locked; Escape leads back.

Levers and pumps can be worked on the sheet and by their keys: they are those of the copy.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, QPointF, Qt
from PySide6.QtGui import QAction, QKeySequence, QShortcut, QTransform
from PySide6.QtWidgets import QWidget

from editor.single_failures.looking import Looking

if TYPE_CHECKING:
    from editor.main_window import MainWindow

_EDITS = (
    "Cut",
    "Paste",
    "Duplicate",
    "Delete",
    "Turn",
    "Mirror",
)

_HINT = "Work levers and pumps here to see what still goes; Esc leads back to the drawing"

_SHOWING = ("readings", "findings")


class WhatIfJoint(QObject):
    """Joins the view of a failure with the window around it."""

    def __init__(self, window: MainWindow) -> None:
        super().__init__(window)
        self._window = window
        self._looking = Looking(window.canvas)
        self._place = _Place(window)
        self._escape = QShortcut(QKeySequence(Qt.Key.Key_Escape), window)
        self._escape.setEnabled(False)
        self._escape.activated.connect(self._looking.cancel)
        self._looking.leave_requested.connect(window.what_if.leave)
        window.what_if_banner.leave_requested.connect(window.what_if.leave)
        window.what_if.entered.connect(self._enter)
        window.what_if.left.connect(self._leave)
        # queued: the band may need more lines, and takes its room first
        window.what_if.changed.connect(self._settle, Qt.ConnectionType.QueuedConnection)
        # queued: the window answers the same signal first, and offers its actions anew
        window.document.changed.connect(self._lock, Qt.ConnectionType.QueuedConnection)

    def _enter(self) -> None:
        window = self._window
        window.canvas.pointer.cancel_gesture()
        window.canvas.handler = self._looking
        assert window.what_if.levers is not None
        window.canvas.levers = window.what_if.levers
        window.form.show_of(window.what_if.levers.circuit)
        self._place.keep()
        window.what_if_banner.refresh()
        self._escape.setEnabled(True)
        self._lock()
        failure = window.what_if.failure
        if failure is not None:
            window.selection.set([failure.subject], reveal=True)
        window.status.say(_HINT)
        self._place.settle()

    def _settle(self) -> None:
        self._place.settle_again()

    def _leave(self, why: str) -> None:
        window = self._window
        self._looking.end()
        window.canvas.handler = window.canvas.pointer
        window.canvas.levers = window.canvas.drawn_levers
        window.form.show_of(window.document.circuit)
        window.canvas.viewport().unsetCursor()
        window.what_if_banner.refresh()
        self._place.restore()
        self._escape.setEnabled(False)
        for widget in self._editors():
            widget.setEnabled(True)
        for action in self._actions():
            action.setEnabled(window.document.is_open)
        stack, named = window.document.stack, window.menus.named
        named["Undo"].setEnabled(stack.canUndo())
        named["Redo"].setEnabled(stack.canRedo())
        window.findings_pane.waivers.set_locked(False)
        window.status.say(why)

    def _lock(self) -> None:
        """Offer nothing that would change the drawing."""
        if not self._window.what_if.active:
            return
        for widget in self._editors():
            widget.setEnabled(False)
        named = self._window.menus.named
        for action in (*self._actions(), named["Undo"], named["Redo"]):
            action.setEnabled(False)
        self._window.findings_pane.waivers.set_locked(True)

    def _editors(self) -> list[QWidget]:
        """What can change the drawing: all panes but those that only show."""
        window = self._window
        docks = [*window.docks, window.operation_dock]
        return [dock.widget() for dock in docks if dock.objectName() not in _SHOWING]

    def _actions(self) -> list[QAction]:
        window = self._window
        work = window.menus.work
        return [
            *(window.menus.named[name] for name in _EDITS),
            *(action for action in work.actions if action is not work.failures),
            window.units_menu.menuAction(),
        ]


class _Place:
    """Where the canvas looks: the band over it takes room, and gives it back."""

    def __init__(self, window: MainWindow) -> None:
        self._window = window
        self._kept: tuple[QTransform, QPointF] | None = None
        self._settled = QTransform()
        self._fits = False

    def keep(self) -> None:
        """Remember where it looks, before the band has taken its room."""
        canvas = self._window.canvas
        if self._kept is None:
            shown = canvas.mapToScene(canvas.viewport().rect()).boundingRect()
            drawn = canvas.sheet.extent()
            # by its size: showing the failed part may just have pushed an edge out of sight
            self._fits = shown.width() >= drawn.width() and shown.height() >= drawn.height()
            self._kept = canvas.transform(), shown.center()

    def settle(self) -> None:
        """Show the whole drawing in the room that is left, if there was room for it before."""
        self._give_room()
        if self._fits:
            self._window.canvas.fit()
        self._settled = self._window.canvas.transform()

    def settle_again(self) -> None:
        """The band has become higher or lower; whoever has zoomed meanwhile is left alone."""
        if self._kept is not None and self._settled == self._window.canvas.transform():
            self.settle()

    def restore(self) -> None:
        """Look where it looked before, now that the band is gone."""
        self._give_room()
        if self._kept is not None:
            transform, centre = self._kept
            self._kept = None
            self._window.canvas.setTransform(transform)
            self._window.canvas.centerOn(centre)
            self._window.canvas.zoomed.emit(transform.m11())

    def _give_room(self) -> None:
        centre = self._window.centralWidget()
        layout = centre.layout() if centre is not None else None
        if layout is not None:
            layout.activate()
