"""The levers and pumps of the pane Operation follow what is drawn, running or not."""

from pathlib import Path

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QToolButton

from tests.editor.canvas_helpers import open_window

SAMPLE = Path(__file__).parents[2] / "sample_circuits" / "bench_press.circuit.json"


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


def test_the_pane_opened_by_its_entry_leaves_the_sheet_its_room(qtbot):
    """As high as by F5, and all that is drawn is in sight."""
    heights = []
    for by_key in (True, False):
        hand = open_window(qtbot)
        window = hand.window
        window.files.open(str(SAMPLE))
        hand.settled()
        if by_key:
            hand.key(Qt.Key.Key_F5)
            hand.key(Qt.Key.Key_F5)
        else:
            window.operation_dock.toggleViewAction().trigger()
        qtbot.waitUntil(lambda w=window: not out_of_sight(w.canvas))
        heights.append(window.operation_dock.height())
        window.operation.finish()
        assert window.operation_pane._slider.value() == 0
    assert heights[0] == heights[1]


def out_of_sight(canvas):
    """What of the drawing is out of sight, as a rectangle's sides; empty if nothing is."""
    seen = canvas.mapToScene(canvas.viewport().rect()).boundingRect()
    drawn = canvas.sheet.extent()
    return [] if seen.contains(drawn) else [drawn, seen]
