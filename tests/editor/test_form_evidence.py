"""Evidence in the form: whatever is entered, the file can be read again."""

import pytest

from analysis.circuit_file import circuit_text, parse_circuit
from tests.editor.form_desk import FormDesk


@pytest.fixture
def desk(qtbot):
    """A form that shows a relief valve."""
    desk = FormDesk(qtbot)
    desk.select("0V1")
    return desk


def readable(desk):
    """What a saved file of the circuit would hold of the evidence."""
    return parse_circuit(circuit_text(desk.circuit)).components["0V1"].evidence


def test_source_without_a_status_is_of_unknown_standing(desk):
    """The contract's file holds a status wherever it holds a source."""
    desk.type("Source", "data plate")
    assert readable(desk) == {"status": "unknown", "source": "data plate"}
    status = desk.form.row("Status").field
    status.activated.emit(status.findText("confirmed"))
    assert readable(desk) == {"status": "confirmed", "source": "data plate"}
    desk.type("Source", "")
    assert readable(desk) == {"status": "confirmed"}


def test_status_is_not_taken_from_a_source(desk):
    """It is refused with the mend, below the field, and the status stays."""
    desk.type("Source", "sketch")
    field = desk.form.row("Status").field
    field.activated.emit(field.findText("not said"))
    assert "take it away first" in desk.form.row("Status").message.text()
    assert field.currentText() == "unknown"
    assert readable(desk) == {"status": "unknown", "source": "sketch"}
    desk.type("Source", "")
    field.activated.emit(field.findText("not said"))
    assert readable(desk) == {}


def test_source_of_several_parts(desk):
    """Each keeps its own status, or gets one."""
    desk.choose("Status", "confirmed")
    desk.select("0V1", "1V1")
    desk.type("Source", "manual")
    twin = parse_circuit(circuit_text(desk.circuit)).components
    assert twin["0V1"].evidence == {"status": "confirmed", "source": "manual"}
    assert twin["1V1"].evidence == {"status": "unknown", "source": "manual"}


def test_evidence_that_stood_in_the_file_is_taken_away(desk):
    """An empty record in its place would make the file unreadable."""
    for identifier in ("0V1", "L1"):
        desk.circuit.set_field(identifier, "evidence", {"status": "inferred"})
    desk.circuit.replace_with(parse_circuit(circuit_text(desk.circuit)))
    desk.select("0V1", "L1")
    status = desk.form.row("Status").field
    status.activated.emit(status.findText("not said"))
    assert readable_at(desk, "0V1") == readable_at(desk, "L1") == {}
    desk.stack.undo()
    assert readable_at(desk, "0V1") == readable_at(desk, "L1") == {"status": "inferred"}


def readable_at(desk, identifier):
    """What a saved file would hold of the evidence of a part or line."""
    return parse_circuit(circuit_text(desk.circuit)).element(identifier).evidence
