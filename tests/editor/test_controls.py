"""The levers and pumps of the pane Operation follow what is drawn, running or not."""

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QToolButton

from tests.editor.canvas_helpers import open_window


def test_the_pane_opened_before_anything_runs_has_the_levers(qtbot):
    """Shown by its menu entry it lists them, follows what is drawn and how they stand."""
    hand = open_window(qtbot)
    window, controls = hand.window, hand.window.operation_pane.controls
    hand.circuit.add("valve_4_3", id="1V1", at=(40, 20))

    def texts():
        return {button.text(): button.isChecked() for button in controls.findChildren(QToolButton)}

    window.operation_dock.toggleViewAction().trigger()
    positions = {"left": False, "centre": True, "right": False}
    qtbot.waitUntil(lambda: texts() == positions)
    hand.circuit.add("fixed_pump", id="0P1", at=(20, 40))
    qtbot.waitUntil(lambda: "running" in texts())
    window.selection.set(["1V1"])
    hand.key(Qt.Key.Key_L)
    assert texts()["right"] and not texts()["centre"]
    window.selection.set(["0P1"])
    hand.key(Qt.Key.Key_Delete)
    qtbot.waitUntil(lambda: set(texts()) == set(positions))
    hand.circuit.set_field("1V1", "labels", {"left": "UP"})
    qtbot.waitUntil(lambda: "UP" in texts())
