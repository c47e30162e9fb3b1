"""What happens to a gesture when the circuit changes under it, and where the keys go after one."""

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from tests.editor.canvas_helpers import open_window


@pytest.fixture
def press(qtbot):
    """A pump and a valve; undoing takes the valve away."""
    hand = open_window(qtbot)
    hand.canvas.start_placing("hand_pump")
    hand.click((20, 20))
    hand.canvas.start_placing("relief_valve")
    hand.click((45, 22))
    return hand


def begin_drag(hand, start, end):
    """Press and move; the button is still down."""
    hand.press(start)
    for share in (0.5, 1.0):
        at = tuple(a + (b - a) * share for a, b in zip(start, end, strict=True))
        hand.qtbot.mouseMove(hand.canvas.viewport(), hand.pixel(at))


def test_undo_takes_away_the_part_that_a_line_is_drawn_from(press):
    """From click to click: the line is given up, and the sheet can be worked on."""
    press.click(press.port("0V1.inlet"))
    press.hover((40, 8))
    press.stack.undo()
    press.hover((30, 8))
    press.click((30, 8))
    assert list(press.circuit.components) == ["0P1"]
    press.stack.redo()
    press.drag(press.port("0P1.outlet"), press.port("0V1.inlet"))
    assert press.circuit.lines["L1"].end == "0V1.inlet"


def test_undo_takes_away_the_part_that_is_dragged(press):
    """The drag ends in nothing."""
    begin_drag(press, (45, 22), (50, 30))
    press.stack.undo()
    press.hover((52, 32))
    press.release((52, 32))
    assert list(press.circuit.components) == ["0P1"]
    press.stack.redo()
    assert press.circuit.components["0V1"].at == (45, 22)


def test_undo_takes_away_the_line_that_is_bent(press):
    """No item of it stays behind."""
    press.drag(press.port("0P1.outlet"), press.port("0V1.inlet"))
    points = press.canvas.sheet.lines["L1"].points
    middle = tuple((a + b) / 2 for a, b in zip(points[1], points[2], strict=True))
    begin_drag(press, middle, (middle[0], middle[1] - 4))
    press.stack.undo()
    press.hover((40, 30))
    press.release((40, 30))
    assert not press.circuit.lines
    assert not press.canvas.sheet.lines


def test_renaming_in_the_form_gives_up_a_line_begun_on_the_sheet(press):
    """The port that it began at has another name now."""
    press.click(press.port("0V1.inlet"))
    press.hover((40, 8))
    press.circuit.rename("0V1", "3V7")
    press.hover((30, 8))
    press.drag(press.port("3V7.inlet"), press.port("0P1.outlet"))
    assert press.circuit.lines["L1"].start == "3V7.inlet"


def test_keys_turn_the_part_that_was_dragged_from_the_shelf(qtbot):
    """After the drop the sheet has the keys, wherever they were before."""
    hand = open_window(qtbot)
    hand.window.activateWindow()
    shelf = hand.window.shelf
    shelf.search.setFocus()
    spot = shelf.list.visualRect(shelf.list.index_of("fixed_pump")).center()
    goal = hand.canvas.viewport().mapToGlobal(hand.pixel((25, 25)))
    qtbot.mousePress(shelf.list.viewport(), Qt.MouseButton.LeftButton, pos=spot)
    for share in (0.5, 1.0):
        start = shelf.list.viewport().mapToGlobal(spot)
        here = shelf.list.viewport().mapFromGlobal(start + (goal - start) * share)
        qtbot.mouseMove(shelf.list.viewport(), here)
    end = shelf.list.viewport().mapFromGlobal(goal)
    qtbot.mouseRelease(shelf.list.viewport(), Qt.MouseButton.LeftButton, pos=end)
    assert QApplication.focusWidget() is hand.canvas
    QTest.keyClick(QApplication.focusWidget(), Qt.Key.Key_R)
    assert hand.circuit.components["0P1"].turn == 90
