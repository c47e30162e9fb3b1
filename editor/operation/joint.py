"""Shows a circuit at work on the sheet and in the panes, and the instant again afterwards."""

from __future__ import annotations

from PySide6.QtCore import QObject

from editor.canvas.scene import Scene
from editor.live_analysis import LiveAnalysis
from editor.operation.operation import Operation

_FIGURES_TURN = 0


class OperationJoint(QObject):
    """While the circuit is at work its moving states and readings take the instant's place."""

    def __init__(
        self, operation: Operation, scene: Scene, live: LiveAnalysis, parent: QObject | None = None
    ) -> None:
        super().__init__(parent)
        self._operation, self._scene, self._live = operation, scene, live
        operation.shown.connect(self._show)
        operation.ended.connect(self._end)
        operation.running_changed.connect(self._on_running)

    def _show(self) -> None:
        self._scene.show_moving(self._operation.moving, self._operation.worked_circuit)
        operation = self._operation
        due = operation.is_due(_FIGURES_TURN)
        if due or operation.readings is not self._live.readings:
            self._live.present(operation.readings, figures=due)

    def _on_running(self, running: bool) -> None:
        # held in the middle of a second: the figures shown are those of an earlier frame
        if not running and self._operation.active:
            self._show()

    def _end(self) -> None:
        self._scene.show_moving(None)
        self._live.present(None)
