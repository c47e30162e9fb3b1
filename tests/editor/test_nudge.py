"""Parts moved by the arrow keys: their lines are led as by a drag, whatever was passed."""

from itertools import pairwise

import pytest
from PySide6.QtCore import QPointF, Qt
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QApplication

from editor.theme import MODULE
from tests.editor.canvas_helpers import open_window

SHIFT = Qt.KeyboardModifier.ShiftModifier


def in_the_way(hand):
    """A pump feeds a jack by a straight line; a filter stands below it."""
    hand.circuit.add("reservoir", id="0Z1", at=(10, 40))
    hand.circuit.add("filter", id="0F1", at=(30, 26), turn=90)
    hand.circuit.add("check_valve", id="0V1", at=(14, 20))
    hand.circuit.add("check_valve", id="0V2", at=(50, 20))
    hand.circuit.connect("0V1.outlet", "0V2.inlet", id="L1")
    return hand


@pytest.mark.parametrize("keys", ["one by one", "by five", "held down"])
def test_lines_of_what_is_moved_by_keys_are_led_as_by_a_drag(qtbot, keys):
    """Both ends brought down beside a filter: the line goes round it, not through it."""
    ways = []
    for by_keys in (False, True):
        hand = in_the_way(open_window(qtbot))
        before = hand.text()
        hand.window.selection.set(["0V2"])
        if by_keys:
            press_down(hand, 6, keys)
        else:
            hand.drag((50, 20), (50, 26))
        hand.window.selection.set(["0V1"])
        if by_keys:
            press_down(hand, 6, keys)
        else:
            hand.drag((14, 20), (14, 26))
        assert [hand.circuit.components[i].at for i in ("0V1", "0V2")] == [(14, 26), (50, 26)]
        line = hand.canvas.sheet.lines["L1"].points
        body = hand.canvas.sheet.components["0F1"]
        box = body.body().translated(body.pos())
        assert not any(box.contains(QPointF(x * MODULE, y * MODULE)) for x, y in between(line))
        ways.append((line, hand.circuit.lines["L1"].via))
        assert hand.stack.count() == 2
        hand.stack.undo()
        hand.stack.undo()
        assert hand.text() == before
    assert ways[0] == ways[1]


def test_a_detour_of_a_step_does_not_stay_in_the_next(qtbot):
    """Passing behind the filter by keys, the line is straight again on the other side."""
    hand = in_the_way(open_window(qtbot))
    before = hand.text()
    hand.window.selection.set(["0V1", "0V2"])
    hand.canvas.setFocus()
    hand.window.selection.set(["0F1"])
    for _ in range(12):
        hand.key(Qt.Key.Key_Up)
    assert hand.circuit.components["0F1"].at == (30, 14)
    hand.window.selection.set(["0V2"])
    for _ in range(6):
        hand.key(Qt.Key.Key_Up)
    led = hand.circuit.lines["L1"].via
    for _ in range(6):
        hand.key(Qt.Key.Key_Down)
    assert led != hand.circuit.lines["L1"].via == []
    hand.stack.undo()
    hand.stack.undo()
    assert hand.text() == before


def press_down(hand, count, keys):
    """Arrow down: tapped, with Shift and tapped, or held until it has repeated often enough."""
    if keys == "by five":
        hand.key(Qt.Key.Key_Down, SHIFT)
        count -= 5
    if keys != "held down":
        for _ in range(count):
            hand.key(Qt.Key.Key_Down)
        return
    hand.canvas.setFocus()
    for number in range(count):
        kind = QKeyEvent.Type.KeyPress
        key = Qt.Key.Key_Down
        plain = Qt.KeyboardModifier.NoModifier
        QApplication.sendEvent(hand.canvas, QKeyEvent(kind, key, plain, "", number > 0))
    QApplication.sendEvent(hand.canvas, QKeyEvent(QKeyEvent.Type.KeyRelease, key, plain))


def between(points):
    """Points of a way, a tenth of a module apart or less."""
    for (x0, y0), (x1, y1) in pairwise(points):
        steps = max(int(max(abs(x1 - x0), abs(y1 - y0)) * 10), 1)
        for n in range(steps + 1):
            yield x0 + (x1 - x0) * n / steps, y0 + (y1 - y0) * n / steps
