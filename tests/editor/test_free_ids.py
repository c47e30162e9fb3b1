"""Ids that requirements and procedures speak of: not given away, and the file stays readable."""

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QFileDialog, QMessageBox

from analysis.circuit_file import circuit_text, parse_circuit
from analysis.errors import EditError
from editor.free_ids import find_spoken_of
from editor.undo_commands import Rename, SetValue, push
from tests.editor.canvas_helpers import open_window

PROCEDURE = {
    "name": "Fill and work",
    "start": {"0Z1": {"volume": "1 gal"}, "1A1": {"rod_diameter": "1 in"}},
    "steps": [{"at": "0 s", "set": {"0P1": {"running": True}, "L1": {"fault": "blocked"}}}],
    "expect": [{"by": "5 s", "signal": "1A1.extension", "at_least": "1 in"}],
}


@pytest.fixture
def hand(qtbot):
    """A reservoir, a pump, a cylinder and a line that a procedure speaks of."""
    hand = open_window(qtbot)
    circuit = hand.circuit
    circuit.add("reservoir", id="0Z1", at=(20, 30))
    circuit.add("hand_pump", id="0P1", at=(40, 20))
    circuit.add("cylinder", id="1A1", at=(60, 20), bore="2 in", rod_diameter="1 in")
    circuit.connect("0Z1.supply", "0P1.inlet", "L1")
    circuit.set_field("", "procedures", [PROCEDURE])
    parse_circuit(hand.text())
    return hand


def delete(hand, identifier):
    """Select it and press the key."""
    hand.window.selection.set([identifier])
    hand.key(Qt.Key.Key_Delete)


def test_new_part_does_not_take_the_id_of_a_deleted_one_that_is_spoken_of(hand):
    """The procedure went on to speak of a plug's volume, and the file could not be read."""
    delete(hand, "0Z1")
    assert find_spoken_of(hand.circuit) == {"0Z1", "L1"}
    hand.canvas.start_placing("plug")
    hand.click((20, 30))
    assert "0Z1" not in hand.circuit and "0Z2" in hand.circuit
    hand.drag(hand.port("0Z2.A"), hand.port("0P1.inlet"))
    assert list(hand.circuit.lines) == ["L2"]
    parse_circuit(hand.text())


def test_id_that_is_spoken_of_is_given_only_to_what_fits(hand):
    """A plug is refused with the place; a reservoir takes the old one's part."""
    delete(hand, "0Z1")
    hand.circuit.add("plug", id="0Z8", at=(20, 10))
    hand.circuit.add("reservoir", id="0Z9", at=(20, 30))
    with pytest.raises(EditError, match=r"procedures\[0\].*0Z1.*choose another id"):
        Rename(hand.circuit, "0Z8", "0Z1")
    push(hand.stack, Rename(hand.circuit, "0Z9", "0Z1"))
    assert not find_spoken_of(hand.circuit) - {"L1"}
    parse_circuit(hand.text())


def test_cut_and_paste_keeps_the_ids_that_are_spoken_of(hand):
    """It is the same part and the same line."""
    hand.window.selection.set(["0Z1", "0P1", "L1"])
    hand.control(Qt.Key.Key_X)
    hand.hover((40, 40))
    hand.control(Qt.Key.Key_V)
    assert {"0Z1", "0P1"} <= set(hand.circuit.components)
    assert list(hand.circuit.lines) == ["L1"]


def test_pasted_part_of_another_kind_gets_an_id_of_its_own(hand, qtbot):
    """Two drawings may use one id for different things."""
    other = open_window(qtbot)
    other.circuit.add("plug", id="0Z1", at=(30, 20))
    other.window.selection.set(["0Z1"])
    other.control(Qt.Key.Key_C)
    with qtbot.waitActive(hand.window):
        hand.window.activateWindow()
    delete(hand, "0Z1")
    hand.hover((40, 40))
    hand.control(Qt.Key.Key_V)
    assert hand.circuit.components["0Z2"].kind == "plug"
    parse_circuit(hand.text())


def test_saving_what_would_not_open_again_says_so(hand, tmp_path, monkeypatch):
    """The cylinder has become thinner than the rod that the procedure gives it."""
    told = []
    monkeypatch.setattr(QMessageBox, "warning", lambda _parent, _title, line: told.append(line))
    target = tmp_path / "jack.circuit.json"
    monkeypatch.setattr(QFileDialog, "getSaveFileName", lambda *_: (str(target), ""))
    assert hand.window.files.save_as()
    assert told == []
    push(hand.stack, SetValue(hand.circuit, "1A1", "rod_diameter", "0.5 in"))
    push(hand.stack, SetValue(hand.circuit, "1A1", "bore", "0.75 in"))
    assert hand.window.files.save()
    assert len(told) == 1
    assert "will not open again" in told[0] and "procedures[0].start.1A1" in told[0]
    assert target.read_text(encoding="utf-8") == circuit_text(hand.circuit)
