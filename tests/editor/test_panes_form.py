"""The part form: what people type goes into the circuit, or is refused where it stands."""

import pytest
from PySide6.QtCore import Qt

from analysis.circuit_file import circuit_text
from editor import theme
from symbols.catalogue import KINDS
from tests.editor.form_desk import FormDesk


@pytest.fixture
def desk(qtbot):
    """A circuit with a form beside it."""
    return FormDesk(qtbot)


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
    assert desk.stack.undoText() == "Change set pressure of 0V1"
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
