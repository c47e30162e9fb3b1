"""The part form: what it shows for a part, a line, several, and the circuit."""

import json
from pathlib import Path

import pytest
from PySide6.QtCore import QEvent, Qt
from PySide6.QtGui import QKeyEvent, QUndoStack

from analysis.circuit_file import circuit_text, read_circuit
from editor.panes.part_form import PartForm
from editor.panes.rows import TextRow
from editor.selection import Selection
from symbols.catalogue import KINDS
from tests.editor.form_desk import FormDesk


@pytest.fixture
def desk(qtbot):
    """A circuit with a form beside it."""
    return FormDesk(qtbot)


def test_the_id_is_changed_or_refused(desk):
    """A taken id is refused; a free one is followed by lines and selection."""
    desk.select("1A1")
    desk.type("Id", "0V1")
    assert "taken" in desk.form.row("Id").message.text()
    desk.type("Id", "2A1")
    desk.qtbot.waitUntil(lambda: not desk.form._soon.isActive())
    assert "2A1" in desk.circuit and desk.selection.ids() == ("2A1",)
    assert desk.form.row("Id").field.text() == "2A1"
    desk.stack.undo()
    assert "1A1" in desk.circuit


def test_a_line_has_size_role_fault_and_evidence(desk):
    """All of a line can be said; an unknown bore and a fault among it."""
    desk.select("L1")
    assert desk.form.row("Bore").field.text() == "0.25 in"
    desk.type("Bore", "5/16 in")
    desk.type("Roughness", "3 um")
    desk.choose("Fault", "blocked")
    desk.choose("Role", "suction")
    desk.choose("Status", "assumed")
    desk.type("Source", "sister ship")
    line = desk.circuit.lines["L1"]
    assert (line.settings["bore"], line.settings["roughness"]) == ("5/16 in", "3 um")
    assert line.state == {"fault": "blocked"} and line.role == "suction"
    assert line.evidence == {"status": "assumed", "source": "sister ship"}


def test_several_selected_offer_what_they_have_in_common(desk):
    """Two lines: role and evidence for both, undone in one step."""
    desk.select("L1", "L2")
    assert {row.title.text() for row in desk.form.rows} == {"Role", "Status", "Source"}
    assert desk.form._heading.text() == "2 selected"
    desk.type("Source", "page 12")
    written = {"status": "unknown", "source": "page 12"}
    assert [line.evidence for line in desk.circuit.lines.values()] == [written] * 2
    desk.stack.undo()
    assert [line.evidence for line in desk.circuit.lines.values()] == [{}, {}]
    desk.select("L1", "1A1")
    assert {row.title.text() for row in desk.form.rows} == {"Status", "Source"}


def test_nothing_selected_offers_the_circuit(desk):
    """Title block, fluid with its temperature, sheet and units."""
    desk.select()
    desk.type("Title", "Test rig")
    desk.choose("Kind", "ISO VG 32")
    desk.type("Temperature", "900 degC")
    assert "between -60 degC and 150 degC" in desk.form.row("Temperature").message.text()
    desk.type("Temperature", "40 degC")
    desk.choose("Size", "A1")
    desk.choose("Pressure", "bar")
    circuit = desk.circuit
    assert circuit.title == {"name": "Test rig"}
    assert circuit.fluid == {"kind": "ISO VG 32", "temperature": "40 degC"}
    assert circuit.sheet == {"size": "A1"}
    assert circuit.display_units["pressure"] == "bar"
    while desk.stack.canUndo():  # the keys pass over other choices, each a step of its own
        desk.stack.undo()
    assert (circuit.title, circuit.fluid, circuit.sheet) == ({}, {}, {})


@pytest.mark.parametrize("kind", KINDS)
def test_every_setting_and_state_of_every_kind_has_a_row(desk, kind):
    """Nothing of the catalogue is out of reach."""
    desk.circuit.add(kind, id="9Z9")
    desk.select("9Z9")
    declared = KINDS[kind]
    titles = [row.title.text() for row in desk.form.rows]
    for setting in (*declared.settings.values(), *declared.states.values()):
        assert setting.title in titles
    assert ("Fault" in titles) == bool(declared.faults)


def test_a_part_that_is_deleted_leaves_the_form(desk):
    """The form shows the circuit then, and survives the undo."""
    desk.select("1A1")
    removed = desk.circuit.remove("1A1")
    desk.qtbot.waitUntil(lambda: desk.form._heading.text() == "Circuit")
    for index, element in reversed(removed):
        desk.circuit.add_component(element, index)
    assert desk.form._heading.text() == "Circuit"


def test_undo_in_a_field_is_the_windows_once_the_field_has_nothing_to_undo(desk):
    """A field that was just entered does not swallow the shortcut."""
    desk.select("1A1")
    field = desk.form.row("Bore").field

    def swallowed():
        event = QKeyEvent(
            QEvent.Type.ShortcutOverride, Qt.Key.Key_Z, Qt.KeyboardModifier.ControlModifier
        )
        event.ignore()
        field.event(event)
        return event.isAccepted()

    assert not swallowed()
    desk.type("Bore", "3", end=None)
    assert swallowed()


@pytest.mark.parametrize(
    "path", sorted((Path(__file__).parents[2] / "sample_circuits").glob("*.json"))
)
def test_looking_at_every_part_of_a_sample_writes_nothing(qtbot, path):
    """Views never write while refreshing: the circuit's text stays byte for byte."""
    circuit = read_circuit(path)
    before, stack, selection = circuit_text(circuit), QUndoStack(), Selection(circuit)
    form = PartForm(circuit, selection, stack)
    qtbot.addWidget(form)
    for element in list(circuit.elements()):
        selection.set([element.id])
        form._soon.stop()
        form._follow()
        for row in form.rows:
            if isinstance(row, TextRow):
                row.field.editingFinished.emit()
    assert circuit_text(circuit) == before
    assert stack.count() == 0
    assert json.loads(before)["components"]
