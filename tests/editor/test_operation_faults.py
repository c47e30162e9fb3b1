"""Faults put in from the window, hidden from a student, and revealed; traces of the selection."""

from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QLabel

import editor
from editor.undo_commands import SetValue, push
from tests.editor.canvas_helpers import open_window

SAMPLES = Path(editor.__file__).parent.parent / "sample_circuits"


@pytest.fixture
def hand(qtbot):
    """A window on the emergency sample, its Operation pane shown on Faults."""
    made = open_window(qtbot)
    made.window.files.open(str(SAMPLES / "emergency_pump.circuit.json"))
    made.window.operation_dock.show()
    made.pane = made.window.operation_pane
    made.pane.tabs.setCurrentWidget(made.pane.faults)
    made.settled()
    yield made
    made.window.operation.finish()


def rupture(hand, qtbot, line):
    """Put a rupture into a line by the buttons of the Faults tab."""
    hand.window.selection.set((line,))
    qtbot.mouseClick(hand.pane.faults.buttons["ruptured"], Qt.MouseButton.LeftButton)


def row_of(table, identifier):
    """The row of an id in a table."""
    return next(r for r in range(table.rowCount()) if table.item(r, 0).text() == identifier)


def test_fault_is_put_in_and_undone(qtbot, hand):
    """The selected line breaks by a button, is listed, and is whole again by undo."""
    before, line = hand.text(), next(iter(hand.circuit.lines))
    faults = hand.pane.faults
    hand.window.selection.set((line,))
    assert faults.picked.text() == f"Selected: {line} —"
    rupture(hand, qtbot, line)
    assert hand.circuit.lines[line].state["fault"] == "ruptured"
    assert faults.table.item(row_of(faults.table, line), 2).text() == "✖ ruptured"
    assert faults.buttons["ruptured"].isChecked()
    hand.stack.undo()
    assert hand.text() == before
    assert faults.table.item(row_of(faults.table, line), 2).text() == ""


def test_no_fault_takes_the_entry_away(qtbot, hand):
    """Mended, the file is as it was before the fault."""
    before, line = hand.text(), next(iter(hand.circuit.lines))
    rupture(hand, qtbot, line)
    qtbot.mouseClick(hand.pane.faults.buttons["none"], Qt.MouseButton.LeftButton)
    assert hand.text() == before


def test_row_selects_on_the_sheet(hand):
    """A row of the table is the same selection as on the sheet."""
    table = hand.pane.faults.table
    table.selectRow(row_of(table, "1A1"))
    assert hand.window.selection.ids() == ("1A1",)


def test_fault_goes_into_the_motion_live(qtbot, hand):
    """While the circuit is at work a rupture breaks the line of the motion, at that time."""
    operation, line = hand.window.operation, next(iter(hand.circuit.lines))
    operation.step(0.2)
    rupture(hand, qtbot, line)
    assert operation.active
    assert operation.motion.circuit.lines[line].state["fault"] == "ruptured"
    event = next(e for e in operation.events if e.message == "fault set to ruptured")
    assert (event.subject, event.time) == (line, pytest.approx(0.2, abs=0.01))


def test_student_sees_symptoms_only_and_reveal_brings_all_back(qtbot, hand):
    """Hidden: no pane, overlay, event, undo or word names the fault; revealed: as before."""
    window, line = hand.window, next(iter(hand.circuit.lines))
    rupture(hand, qtbot, line)
    window.docks[3].hide()
    shown = [dock.isVisible() for dock in window.docks]
    assert window.canvas.sheet.lines[line]._fault == "ruptured"
    qtbot.mouseClick(hand.pane.faults.hide_button, Qt.MouseButton.LeftButton)
    for dock in window.docks[1:]:
        assert not dock.isVisible()
        assert not dock.toggleViewAction().isEnabled()
    assert not window.overlay.is_on
    assert window.canvas.sheet.lines[line]._fault == ""
    assert not window.menus.named["Undo"].isVisible()
    assert not hand.pane.faults.isVisible()
    window.operation.step(0.2)
    # an edit makes the window offer its actions anew
    window.document.stack.setClean()
    push(hand.stack, SetValue(hand.circuit, "0P1", "running", True, state=True))
    qtbot.waitUntil(lambda: not window.docks[1].toggleViewAction().isEnabled())
    assert not window.menus.work.trace.isEnabled() and not window.status.findings.isVisible()
    visible = [hand.pane.tabs.widget(i) for i in range(5) if hand.pane.tabs.isTabVisible(i)]
    assert hand.pane.events not in visible and hand.pane.traces not in visible
    labels = [w.text() for w in window.findChildren(QLabel) if w.isVisible()]
    assert not [text for text in labels if "rupture" in text.lower()]
    assert window.canvas.describe(line) == line
    assert window.selection.ids() == ()
    window.selection.set((line,))
    hand.key(Qt.Key.Key_T)
    assert hand.pane.tabs.currentWidget() is hand.pane.instruments
    qtbot.mouseClick(hand.pane.instruments.reveal_button, Qt.MouseButton.LeftButton)
    assert [dock.isVisible() for dock in window.docks] == shown
    assert window.overlay.is_on
    assert window.menus.named["Undo"].isVisible()
    assert window.canvas.sheet.lines[line]._fault == "ruptured"
    assert hand.pane.tabs.currentWidget() is hand.pane.faults


def test_instruments_read_what_the_gauges_read(qtbot, hand):
    """Each gauge reads its port's pressure at the time shown, in the circuit's units."""
    window = hand.window
    qtbot.mouseClick(hand.pane.faults.hide_button, Qt.MouseButton.LeftButton)
    window.operation.step(0.5)
    table = hand.pane.instruments.table
    gauges = [c for c in hand.circuit.components.values() if c.kind == "pressure_gauge"]
    assert gauges
    for gauge in gauges:
        port = gauge.declared.ports[0].name
        pressure = window.operation.motion.signals()[f"{gauge.id}.{port}.pressure"]
        read = table.item(row_of(table, gauge.id), 2).text()
        resting = abs(pressure) < 100.0
        assert read == window.units.format(0.0 if resting else pressure, "pressure")
    qtbot.mouseClick(hand.pane.instruments.reveal_button, Qt.MouseButton.LeftButton)


def test_opening_another_circuit_ends_the_hiding(qtbot, hand):
    """Nothing stays covered for the next circuit."""
    qtbot.mouseClick(hand.pane.faults.hide_button, Qt.MouseButton.LeftButton)
    hand.window.files.open(str(SAMPLES / "hand_pumped_gear.circuit.json"))
    assert hand.window.form.isVisible()
    assert not hand.window.menus.work.student_view.hidden


def test_key_traces_the_selected_cylinder(no_menus_left, hand):
    """T on a selected cylinder plots its extension and the pressures at its ports."""
    hand.window.selection.set(("1A1",))
    hand.key(Qt.Key.Key_T)
    assert hand.pane.tabs.currentWidget() is hand.pane.traces
    assert hand.window.menus.work.trace in hand.canvas.context_menu.actions()
    names = hand.pane.traces.names
    ports = [p.name for p in hand.circuit.components["1A1"].declared.ports]
    assert names == ["1A1.extension", *(f"1A1.{p}.pressure" for p in ports)]


def test_the_instruments_have_the_height_of_the_pane(qtbot, hand):
    """Reveal stands beside the words, as Hide did, and not below the table."""
    hand.window.menus.work.student_view.hide()
    instruments = hand.pane.instruments
    qtbot.waitUntil(instruments.isVisible)
    button, table = instruments.reveal_button, instruments.table
    qtbot.waitUntil(lambda: table.geometry().top() > button.geometry().top())
    assert instruments.height() - table.geometry().bottom() < button.height()
    qtbot.mouseClick(button, Qt.MouseButton.LeftButton)
    assert hand.pane.faults.isVisible()
