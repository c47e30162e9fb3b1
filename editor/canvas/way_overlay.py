"""Shows the ways of a verdict on the sheet, and keeps them in place while it changes."""

from __future__ import annotations

from PySide6.QtCore import QObject, QTimer

from analysis.circuit import Circuit
from analysis.events import Change
from analysis.verdict_ways import Shown
from editor.canvas.scene import Scene
from editor.canvas.way_item import WayItem
from editor.canvas.way_legend import WayLegend
from editor.canvas.way_paths import drawn
from editor.listening import listen


class WayOverlay(QObject):
    """One item over the sheet and one legend; nothing while nothing is shown."""

    def __init__(
        self, circuit: Circuit, scene: Scene, legend: WayLegend, parent: QObject | None = None
    ) -> None:
        super().__init__(parent)
        self._circuit, self._scene, self.legend = circuit, scene, legend
        self.shown = Shown()
        self.item = WayItem()
        self.item.hide()
        scene.addItem(self.item)
        self._holds = True
        self._owner: QObject | None = None
        # lines are routed anew by the scene in answer to the same change; this comes after
        self._soon = QTimer(self)
        self._soon.setSingleShot(True)
        self._soon.setInterval(0)
        self._soon.timeout.connect(self._redraw)
        listen(circuit.changed, self._on_change)

    def show(self, owner: QObject, shown: Shown, title: str, outcome: str, *, holds: bool) -> None:
        """Draw these ways and explain them; the `owner` alone may clear them again."""
        self._owner = owner
        if not shown.ways and not shown.marks:
            self._put_away()
            return
        self.shown, self._holds = shown, holds
        self.legend.show_words(title, outcome, shown, holds=holds)
        self._redraw()

    def clear(self, owner: QObject) -> None:
        """Draw none, if what is drawn is the owner's."""
        if owner is self._owner:
            self._put_away()

    def _put_away(self) -> None:
        self.shown = Shown()
        self._soon.stop()
        self.item.hide()
        self.legend.hide()

    def _on_change(self, change: Change) -> None:
        if change.action == "reset":
            self._put_away()
        elif self.item.isVisible():
            self._soon.start()

    def _redraw(self) -> None:
        self.item.show_drawn(drawn(self._scene, self._circuit, self.shown), self._holds)
        self.item.show()
