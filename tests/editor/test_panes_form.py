"""The part form: what people type goes into the circuit, or is refused where it stands."""

import json
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QUndoStack

from analysis.circuit import Circuit
from analysis.circuit_file import circuit_text
from editor import theme
from editor.panes.part_form import PartForm
from editor.panes.rows import TextRow
from editor.selection import Selection
from symbols.catalogue import KINDS


class Desk:
    """A circuit with a form beside it."""

    def __init__(self, qtbot):
        self.qtbot = qtbot
        self.circuit = Circuit()
        self.circuit.display_units = {"pressure": "psi", "flow": "gal/min", "length": "in"}
        self.circuit.add("cylinder", id="1A1", name="Left jack", bore="2 in", rod_diameter="1 in")
        self.circuit.add("relief_valve", id="0V1")
        self.circuit.add("valve_4_3", id="1V1")
        self.circuit.connect("0V1.inlet", "1V1.P", bore="0.25 in", length="6 ft")
        self.circuit.connect("0V1.outlet", "1V1.T", role="return")
        self.selection = Selection(self.circuit)
        self.stack = QUndoStack()
        self.form = PartForm(self.circuit, self.selection, self.stack)
        qtbot.addWidget(self.form)
        self.form.resize(340, 900)
        with qtbot.waitExposed(self.form):
            self.form.show()

    def select(self, *ids):
        self.selection.set(ids)
        self.qtbot.waitUntil(lambda: not self.form._soon.isActive())

    def type(self, title, text, end=Qt.Key.Key_Return):
        """Click into the field, select what is there, type over it, and end with a key."""
        field = self.form.row(title).field
        self.qtbot.mouseClick(field, Qt.MouseButton.LeftButton)
        field.selectAll()
        self.qtbot.keyClick(field, Qt.Key.Key_Delete)
        self.qtbot.keyClicks(field, text)
        if end is not None:
            self.qtbot.keyClick(field, end)

    def choose(self, title, text):
        """With the keys, down from the first one."""
        field = self.form.row(title).field
        field.setFocus()
        wanted = field.findText(text)
        assert wanted >= 0, f"{text} is not offered"
        self.qtbot.keyClick(field, Qt.Key.Key_Home)
        for _ in range(wanted):
            self.qtbot.keyClick(field, Qt.Key.Key_Down)
        assert field.currentText() == text


@pytest.fixture
def desk(qtbot):
    """A circuit with a form beside it."""
    return Desk(qtbot)


@pytest.mark.parametrize(
    ("typed", "written"),
    [
        ("1000 psi", "1000 psi"),
        ("68.9 bar", "68.9 bar"),
        ("1 1/2 ksi", "1 1/2 ksi"),
        ("900 psi to 1100 psi", {"between": ["900 psi", "1100 psi"]}),
        ("900 to 1100 psi", {"between": ["900 psi", "1100 psi"]}),
        ("900..1100 psi", {"between": ["900 psi", "1100 psi"]}),
        ("?", None),
    ],
)
def test_what_people_type_is_kept_as_they_typed_it(desk, typed, written):
    """Units as typed, ranges and unknowns; undo restores the file byte for byte."""
    before = circuit_text(desk.circuit)
    desk.select("0V1")
    desk.type("Set pressure", typed)
    assert desk.circuit.components["0V1"].settings == {"set_pressure": written}
    assert desk.stack.undoText() == "Set set pressure of 0V1"
    desk.stack.undo()
    assert circuit_text(desk.circuit) == before
    assert desk.form.row("Set pressure").field.text() == ""
    desk.stack.redo()
    assert desk.circuit.components["0V1"].settings == {"set_pressure": written}


@pytest.mark.parametrize(
    ("title", "typed", "said"),
    [
        ("Bore", "2", "no unit"),
        ("Bore", "2 psi", "not a length"),
        ("Bore", "2 inchworms", "not a known unit"),
        ("Bore", "0 mm", "greater than zero"),
        ("Bore", "two inches", "not a quantity"),
        ("Bore", "1/0 in", "zero"),
        ("Bore", "3 in to 2 in", "lower value first"),
        ("Bore", "0 in: 2 in; 1 in: 3 in", "not a table"),
        ("Rod diameter", "2 in", "thick as the bore"),
        ("Load against extension", "0 in: 200 lbf; 6 in 400 lbf", "position: value"),
        ("Load against extension", "6 in: 200 lbf; 0 in: 400 lbf", "rising positions"),
        ("Extension", "?", "must be given"),
    ],
)
def test_a_wrong_entry_is_said_at_once_and_changes_nothing(desk, title, typed, said):
    """In red below the field while it is typed; Enter does not force it in; no dialog."""
    before = circuit_text(desk.circuit)
    desk.select("1A1")
    row = desk.form.row(title)
    desk.type(title, typed, end=None)
    for _ in range(2):
        assert said in row.message.text()
        assert row.message.isVisible()
        assert row.message.palette().color(row.message.foregroundRole()) == theme.ERROR
        desk.qtbot.keyClick(row.field, Qt.Key.Key_Return)
    assert row.field.text() == typed  # there to be mended
    assert circuit_text(desk.circuit) == before
    assert desk.stack.count() == 0


def test_escape_brings_back_what_is_written(desk):
    """The wrong entry and its message go."""
    desk.select("1A1")
    desk.type("Bore", "2 psi", end=None)
    row = desk.form.row("Bore")
    desk.qtbot.keyClick(row.field, Qt.Key.Key_Escape)
    assert row.field.text() == "2 in"
    assert not row.message.isVisible()


def test_a_mended_entry_takes_its_message_away(desk):
    """The message goes as soon as the text can be accepted."""
    desk.select("1A1")
    desk.type("Bore", "2", end=None)
    row = desk.form.row("Bore")
    assert row.message.isVisible()
    desk.qtbot.keyClicks(row.field, ".5 in")
    assert not row.message.isVisible()
    desk.qtbot.keyClick(row.field, Qt.Key.Key_Tab)
    assert desk.circuit.components["1A1"].settings["bore"] == "2.5 in"


def test_the_default_is_pale_and_comes_back_when_cleared(desk):
    """A default is a placeholder in the user's unit; written text is text."""
    desk.select("0V1")
    row = desk.form.row("Set pressure")
    assert row.field.text() == ""
    assert row.field.placeholderText().endswith(" psi")
    assert not row.reset.isVisible()
    desk.type("Set pressure", "1200 psi")
    assert row.field.text() == "1200 psi" and row.reset.isVisible()
    desk.qtbot.mouseClick(row.reset, Qt.MouseButton.LeftButton)
    assert "set_pressure" not in desk.circuit.components["0V1"].settings
    desk.type("Set pressure", "1300 psi")
    desk.type("Set pressure", "")
    assert "set_pressure" not in desk.circuit.components["0V1"].settings


def test_a_table_is_shown_and_edited_as_text(desk):
    """Model to view and view to model."""
    desk.select("1A1")
    desk.circuit.set_value("1A1", "load", [["0 in", "100 lbf"], ["6 in", "300 lbf"]])
    row = desk.form.row("Load against extension")
    assert row.field.text() == "0 in: 100 lbf; 6 in: 300 lbf"
    desk.type("Load against extension", "0 in: 200 lbf; 6 in: 400 lbf")
    assert desk.circuit.components["1A1"].settings["load"] == [
        ["0 in", "200 lbf"],
        ["6 in", "400 lbf"],
    ]


def test_the_form_shows_what_others_change(desk):
    """A change from elsewhere is shown; a range says what it counts with."""
    desk.select("0V1")
    desk.circuit.set_value("0V1", "set_pressure", {"between": ["900 psi", "1100 psi"]})
    row = desk.form.row("Set pressure")
    assert row.field.text() == "900 psi to 1100 psi"
    assert "1000 psi" in row.message.text()
    desk.circuit.set_value("0V1", "set_pressure", None)
    assert row.field.text() == "?" and row.message.text().startswith("Not known")


def test_other_units_change_the_defaults_shown(desk):
    """The placeholder follows the units of the circuit; what is written stays as written."""
    desk.select("1A1")
    desk.circuit.set_field("", "display_units", {"length": "mm"})
    assert desk.form.row("Bore").field.text() == "2 in"
    assert desk.form.row("Stroke").field.placeholderText().endswith(" mm")


def test_a_position_is_shown_and_written_by_its_label(desk):
    """The user's words stand in the list; the circuit gets the position."""
    desk.circuit.set_field("1V1", "labels", {"left": "DOWN", "right": "UP"})
    desk.select("1V1")
    desk.choose("Position", "UP")
    assert desk.circuit.components["1V1"].state["position"] == "right"
    assert desk.stack.undoText() == "Set position of 1V1"


def test_a_label_is_edited_without_losing_the_lever(desk):
    """State and requirements that name the old label name the position afterwards."""
    circuit = desk.circuit
    circuit.set_field("1V1", "labels", {"left": "DOWN"})
    circuit.set_value("1V1", "position", "DOWN", state=True)
    circuit.set_field("", "requirements", [{"name": "x", "set": {"1V1": {"position": "DOWN"}}}])
    before = (circuit.components["1V1"].labels, circuit.requirements)
    desk.select("1V1")
    desk.type("Left", "LOWER")
    assert circuit.components["1V1"].labels == {"left": "LOWER"}
    assert circuit.components["1V1"].state["position"] == "left"
    assert circuit.requirements[0]["set"] == {"1V1": {"position": "left"}}
    assert desk.form.row("Position").field.currentText() == "LOWER"
    assert desk.stack.count() == 1
    desk.stack.undo()
    assert (circuit.components["1V1"].labels, circuit.requirements) == before
    assert circuit.components["1V1"].state["position"] == "DOWN"


def test_two_positions_cannot_have_one_label(desk):
    """The second is refused where it stands."""
    desk.select("1V1")
    desk.type("Left", "DOWN")
    desk.type("Right", "DOWN")
    assert "left position already" in desk.form.row("Right").message.text()
    assert desk.circuit.components["1V1"].labels == {"left": "DOWN"}


def test_a_flag_is_a_check_box(desk):
    """Clicked, it is written; the reset button takes it away."""
    desk.circuit.add("fixed_pump", id="0P1")
    desk.select("0P1")
    row = desk.form.row("Running")
    shown = row.field.isChecked()
    assert shown is KINDS["fixed_pump"].states["running"].default
    assert "default" in row.field.text()
    desk.qtbot.keyClick(row.field, Qt.Key.Key_Space)
    assert desk.circuit.components["0P1"].state["running"] is not shown
    desk.qtbot.mouseClick(row.reset, Qt.MouseButton.LeftButton)
    assert "running" not in desk.circuit.components["0P1"].state


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
    assert [line.evidence for line in desk.circuit.lines.values()] == [{"source": "page 12"}] * 2
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
    from PySide6.QtCore import QEvent
    from PySide6.QtGui import QKeyEvent

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
    from analysis.circuit_file import read_circuit

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
