"""Levers and pumps worked while a failure is looked at: of the copy, and gone on leaving."""

import pytest
from PySide6.QtCore import Qt

from analysis.readings import readings
from tests.editor.canvas_helpers import LEFT
from tests.editor.test_what_if import ask, checked, open_press
from tests.support.small_press import small_press

PRESS = "The pump drives the ram out"


@pytest.fixture
def hand(qtbot):
    """A window on the small press."""
    return open_press(qtbot)


@pytest.fixture
def failed(hand):
    """The press with its relief valve stuck shut, the selector at left; the text as drawn."""
    ask(hand, "0V1", "stuck_closed")
    hand.before = hand.text()
    return hand


def box(hand, side):
    """The middle of an outer box of the selector, which stands upright."""
    x, y = hand.circuit.components["1V1"].at
    return x + {"left": -4, "centre": 0, "right": 4}[side], y


def wanted(failure, **states):
    """Pressures and velocity of the press with a failure and states, worked out apart."""
    circuit = small_press()
    subject, mode = failure
    circuit.set_value(subject, "fault", mode, state=True)
    for written, value in states.items():
        identifier, _, name = written.partition("_")
        circuit.set_value(identifier, name, value, state=True)
    return readings(circuit)


def same_as_worked_out(hand, failure, **states):
    """Check the readings that are shown against those; returns the velocity of the ram."""
    checked(hand)
    found, told = hand.window.live.readings, wanted(failure, **states)
    assert found.pressures == pytest.approx(told.pressures, abs=10.0)
    velocity = told.quantities["1A1"]["velocity"]
    assert found.quantities["1A1"]["velocity"] == pytest.approx(velocity, abs=1e-6)
    return velocity


def untouched(hand):
    """Not in the text, not on the stack, not in the title."""
    assert hand.text() == hand.before
    assert hand.stack.count() == 0 and hand.stack.isClean()
    assert not hand.window.document.is_modified and not hand.window.isWindowModified()


def test_a_click_on_a_box_moves_the_lever_of_the_copy(failed):
    """The ram, at its stop, stays there; the symbol shows it; the drawing knows nothing."""
    failure = ("0V1", "stuck_closed")
    assert same_as_worked_out(failed, failure) > 1e-3
    drawn = failed.canvas.sheet.components["1V1"].picture
    failed.click(box(failed, "right"))
    assert same_as_worked_out(failed, failure, **{"1V1_position": "right"}) == 0.0
    assert failed.canvas.sheet.components["1V1"].picture is not drawn
    assert failed.banner.moved.text() == "Worked here only: 1V1 at right."
    assert failed.banner.moved.isVisible() and failed.banner.put_back.isVisible()
    assert failed.what_if.active
    untouched(failed)


def test_the_form_shows_the_lever_where_it_stands_here(failed):
    """The position tried and the failure looked at, locked; of the drawing again afterwards."""
    form, window = failed.window.form, failed.window

    def titles():
        return [row.title.text() for row in form.rows]

    def position():
        return form.row("Position").field.currentText()

    failed.click(failed.circuit.components["1V1"].at)
    failed.qtbot.waitUntil(lambda: "Position" in titles())
    assert position() == "centre"
    failed.click(box(failed, "right"))
    assert position() == "right" and not form.isEnabled()
    failed.qtbot.mouseClick(failed.banner.put_back, LEFT)
    assert position() == "left"
    window.selection.set(["0V1"])
    failed.qtbot.waitUntil(lambda: "Set pressure" in titles())
    assert form.row("Fault").field.currentText() == "stuck closed"
    failed.key(Qt.Key.Key_Escape)
    assert form.row("Fault").field.currentText() == "none" and form.isEnabled()
    window.selection.set(["1V1"])
    failed.qtbot.waitUntil(lambda: "Position" in titles())
    assert position() == "left"
    failed.click(box(failed, "right"))
    assert position() == "right" and failed.stack.count() == 1


def test_leaving_puts_everything_back(failed):
    """Readings, symbols and the keys are those of the drawing again."""
    drawn = failed.canvas.sheet.components["1V1"].picture
    failed.click(box(failed, "right"))
    checked(failed)
    failed.key(Qt.Key.Key_Escape)
    assert not failed.what_if.active
    checked(failed)
    told = readings(small_press())
    assert failed.window.live.readings.pressures == pytest.approx(told.pressures, abs=10.0)
    assert failed.canvas.sheet.components["1V1"].picture is drawn
    assert failed.canvas.levers is failed.canvas.drawn_levers
    untouched(failed)
    failed.click(box(failed, "right"))  # now it is an edit again
    assert failed.circuit.components["1V1"].state["position"] == "right"
    assert failed.stack.count() == 1


def test_keys_work_levers_and_pumps_of_the_copy(failed):
    """L goes on, Shift+L back; on a pump it stops and starts."""
    failure = ("0V1", "stuck_closed")
    failed.click(box(failed, "centre"))
    assert failed.window.selection.ids() == ("1V1",)
    same_as_worked_out(failed, failure, **{"1V1_position": "centre"})
    failed.key(Qt.Key.Key_L)
    same_as_worked_out(failed, failure, **{"1V1_position": "right"})
    failed.key(Qt.Key.Key_L, Qt.KeyboardModifier.ShiftModifier)
    failed.key(Qt.Key.Key_L, Qt.KeyboardModifier.ShiftModifier)
    same_as_worked_out(failed, failure, **{"1V1_position": "left"})
    assert not failed.banner.moved.isVisible()  # where it is drawn
    failed.window.selection.set(["0P1"])
    failed.key(Qt.Key.Key_L)
    same_as_worked_out(failed, failure, **{"0P1_running": False})
    assert failed.banner.moved.text() == "Worked here only: 0P1 at rest."
    untouched(failed)


def test_a_pump_is_stopped_by_the_second_click(failed):
    """The first selects it, as on the drawing; a drag from it moves nothing."""
    at = failed.circuit.components["0P1"].at
    failed.click(at)
    assert failed.what_if.moved == []
    failed.drag(at, (at[0] + 5, at[1]))
    assert failed.what_if.moved == []
    failed.click(at)
    assert failed.what_if.moved == ["0P1 at rest"]
    untouched(failed)


def test_the_button_puts_levers_back_and_keeps_the_failure(failed):
    """One press, however many were worked."""
    failed.click(box(failed, "right"))
    failed.window.selection.set(["0P1"])
    failed.key(Qt.Key.Key_L)
    assert len(failed.what_if.moved) == 2
    failed.qtbot.mouseClick(failed.banner.put_back, LEFT)
    assert failed.what_if.active and failed.what_if.moved == []
    assert not failed.banner.put_back.isVisible()
    same_as_worked_out(failed, ("0V1", "stuck_closed"))
    untouched(failed)


def test_what_is_stuck_is_not_moved(hand):
    """By click and key alike; the status line says why."""
    ask(hand, "1V1", "stuck")
    hand.click(box(hand, "right"))
    assert hand.window.status.hint.text() == "1V1 is stuck: it does not move"
    hand.key(Qt.Key.Key_L)
    assert hand.what_if.moved == []
    hand.hover(box(hand, "left"))
    assert "stuck" in hand.window.status.hint.text()


def test_a_line_can_fail_and_the_lever_still_tells_what_goes(hand):
    """With the line to the cap end blocked the ram still cannot go in: its way out is shut."""
    ask(hand, "L5", "blocked")
    hand.before = hand.text()
    assert hand.banner.effect.text().startswith(f"Lost: “{PRESS}”.")
    hand.click(box(hand, "right"))
    velocity = same_as_worked_out(hand, ("L5", "blocked"), **{"1V1_position": "right"})
    assert velocity == pytest.approx(0.0, abs=1e-6)
    untouched(hand)


def test_the_next_failure_begins_with_levers_as_drawn(failed):
    """What was tried with the one is not taken along to the other."""
    failed.click(box(failed, "right"))
    ask(failed, "L2", "blocked")
    assert failed.what_if.moved == []
    same_as_worked_out(failed, ("L2", "blocked"))
