"""Procedures in the window: written, edited in place, and worked live."""

from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QUndoStack
from PySide6.QtWidgets import QLineEdit

import editor
from analysis import read_circuit
from analysis.circuit_file import circuit_text
from analysis.runs import run
from editor.operation import procedure_words as words
from editor.operation.dock import OperationPane
from editor.operation.operation import Operation
from editor.selection import Selection
from editor.unit_presets import DisplayUnits

SAMPLES = Path(editor.__file__).parent.parent / "sample_circuits"


@pytest.fixture
def make_pane(qtbot):
    """Makes an Operation pane on a circuit, its Procedures in front."""
    made = []
    yield lambda circuit: made.append(_pane(qtbot, circuit)) or made[-1]
    for pane in made:
        pane.operation.finish()
        # commands that the garbage collection finds before their stack end the process
        pane.stack.clear()


def _pane(qtbot, circuit):
    operation, stack, selection = Operation(circuit), QUndoStack(), Selection()
    made = OperationPane(circuit, operation, selection, stack, DisplayUnits(circuit))
    made.stack = stack
    qtbot.addWidget(made)
    made.resize(1200, 420)
    with qtbot.waitExposed(made):
        made.show()
    made.tabs.setCurrentWidget(made.procedures)
    return made


@pytest.fixture
def pane(make_pane):
    """The pane on the emergency sample."""
    return make_pane(read_circuit(SAMPLES / "emergency_pump.circuit.json"))


def type_in(qtbot, table, row, column, text):
    """Type into a cell as a person does: double-click, write, Enter."""
    cell = table.visualItemRect(table.item(row, column)).center()
    qtbot.mouseClick(table.viewport(), Qt.MouseButton.LeftButton, pos=cell)
    qtbot.mouseDClick(table.viewport(), Qt.MouseButton.LeftButton, pos=cell)
    field = table.viewport().findChild(QLineEdit)
    field.selectAll()
    qtbot.keyClicks(field, text)
    qtbot.keyClick(field, Qt.Key.Key_Return)
    # Qt takes over what was typed once the key event is done
    qtbot.waitUntil(lambda: not table.viewport().findChildren(QLineEdit))


@pytest.mark.parametrize("path", sorted(SAMPLES.glob("*.circuit.json")), ids=lambda p: p.name)
def test_words_read_back_as_they_were(path):
    """Every step, start and expectation of the samples is the same after its words are read."""
    for raw in read_circuit(path).procedures:
        assert words.parse_changes(words.changes_text(raw.get("start", {}))) == raw.get("start", {})
        for step in raw["steps"]:
            read = {**words.parse_when(words.when_text(step))}
            read["set"] = words.parse_changes(words.changes_text(step["set"]))
            assert read == step
        for item in raw["expect"]:
            read = words.parse_limit(words.limit_text(item))
            read |= words.parse_condition(words.condition_text(item))
            assert read == item


@pytest.mark.parametrize(
    "value",
    ["true", "12", "a; b.c = d", True, 3, 2.5, {"between": ["1 kN", "2 kN"]}, [["0 mm", "1 kN"]]],
)
def test_any_value_reads_back(value):
    """Text that looks like a flag or a number stays text; lists and ranges stay what they are."""
    changes = {"1A1": {"load": value}, "L1": {"fault": "ruptured"}}
    read = words.parse_changes(words.changes_text(changes))
    assert read == changes
    assert type(read["1A1"]["load"]) is type(value)


def test_step_is_edited_in_place_and_undone(qtbot, pane):
    """The typed time is in the circuit, and in the file; one undo takes it back."""
    circuit, table = pane.operation.circuit, pane.procedures.steps.table
    before = circuit_text(circuit)
    assert table.item(0, 0).text() == "at 1 s"
    type_in(qtbot, table, 0, 0, "at 2 s")
    assert circuit.procedures[0]["steps"][0]["at"] == "2 s"
    assert table.item(0, 0).text() == "at 2 s"
    type_in(qtbot, table, 0, 1, "1V1.position = UP; 0P1.running = true")
    assert circuit.procedures[0]["steps"][0]["set"] == {
        "1V1": {"position": "UP"},
        "0P1": {"running": True},
    }
    pane.stack.undo()
    pane.stack.undo()
    assert circuit_text(circuit) == before
    assert table.item(0, 0).text() == "at 1 s"


@pytest.mark.parametrize(
    ("table", "column", "text", "said"),
    [
        ("steps", 0, "at 3", "unit"),
        ("steps", 0, "soon", "at 3 s"),
        ("steps", 0, "at -1 s", "before the start"),
        ("steps", 1, "1V1.position = SIDEWAYS", "SIDEWAYS"),
        ("steps", 1, "9V9.position = DOWN", "9V9"),
        ("steps", 1, "1V1.colour = red", "colour"),
        ("expectations", 0, "1A1.extension at least 3 psi", "psi"),
        ("expectations", 0, "1A1.temper at least 3 psi", "1A1.temper"),
        ("expectations", 1, "some day", "by 60 s"),
    ],
)
def test_wrong_entry_is_said_and_changes_nothing(qtbot, pane, table, column, text, said):
    """What is wrong stands in red under the table; the circuit is as it was."""
    before = circuit_text(pane.operation.circuit)
    type_in(qtbot, getattr(pane.procedures, table).table, 0, column, text)
    assert pane.procedures.complaint.isVisible()
    assert said in pane.procedures.complaint.text()
    assert circuit_text(pane.operation.circuit) == before
    assert not pane.stack.canUndo()


def test_new_procedure_is_written_by_hand(qtbot, pane):
    """New, add a step, add an expectation, rename, remove, delete; all of it undoable."""
    circuit, tab = pane.operation.circuit, pane.procedures
    before, count = circuit_text(circuit), len(circuit.procedures)
    qtbot.mouseClick(tab.new_button, Qt.MouseButton.LeftButton)
    assert tab.chosen == count
    qtbot.mouseClick(tab.steps.add_button, Qt.MouseButton.LeftButton)
    type_in(qtbot, tab.steps.table, 0, 0, "after 1A1.extension at least 1 in, wait 2 s")
    qtbot.mouseClick(tab.expectations.add_button, Qt.MouseButton.LeftButton)
    type_in(qtbot, tab.expectations.table, 0, 1, "throughout")
    tab.list.item(count).setText("A trial")
    made = circuit.procedures[count]
    assert made["name"] == "A trial"
    assert made["steps"][0]["after"] == {"signal": "1A1.extension", "at_least": "1 in"}
    assert made["steps"][0]["wait"] == "2 s"
    assert made["expect"][0]["throughout"] is True
    tab.steps.table.selectRow(0)
    qtbot.mouseClick(tab.steps.remove_button, Qt.MouseButton.LeftButton)
    assert circuit.procedures[count]["steps"] == []
    qtbot.mouseClick(tab.delete_button, Qt.MouseButton.LeftButton)
    assert len(circuit.procedures) == count
    while pane.stack.canUndo():
        pane.stack.undo()
    assert circuit_text(circuit) == before


def test_a_name_that_is_taken_is_refused(pane):
    """Two procedures of one name could not be told apart by `standpipe run`."""
    tab = pane.procedures
    first, second = (p["name"] for p in pane.operation.circuit.procedures[:2])
    tab.list.item(1).setText(first)
    assert "another procedure has the name" in tab.complaint.text()
    assert tab.list.item(1).text() == second


def test_empty_circuit_says_how_to_keep_one(qtbot, make_pane):
    """Without procedures the tab says what to do, and begins one."""
    circuit = read_circuit(SAMPLES / "emergency_pump.circuit.json")
    circuit.set_field("", "requirements", [])
    circuit.set_field("", "procedures", [])
    made = make_pane(circuit)
    assert made.procedures.first_button.isVisible()
    qtbot.mouseClick(made.procedures.first_button, Qt.MouseButton.LeftButton)
    assert made.procedures.steps.isVisible()


def test_replay_decides_as_the_run_does(qtbot, pane):
    """Worked live by the clock, the procedure's steps fire and each expectation ends as in run."""
    circuit, tab = pane.operation.circuit, pane.procedures
    before = circuit_text(circuit)
    expected = run(circuit, circuit.procedures[1]["name"])
    tab.list.setCurrentRow(1)
    pane.operation.speed = 20.0
    qtbot.mouseClick(tab.replay_button, Qt.MouseButton.LeftButton)
    assert tab.expectations.table.item(0, 2).text() == "○ open"
    qtbot.waitUntil(lambda: pane.operation.script.is_closed, timeout=60000)
    assert not pane.operation.running
    assert circuit_text(circuit) == before
    for row, item in enumerate(expected.expectations):
        shown = tab.expectations.table.item(row, 2).text()
        assert shown.startswith("✔ held" if item.holds else "✖ not held")
        if item.time is not None:
            assert pane.operation.script.plan.expectations[row].time == pytest.approx(
                item.time, rel=0.02, abs=0.05
            )
    assert pane.operation.worked_circuit.components["0P1"].state["running"] is False
    told = [e for e in pane.operation.events if e.message == "running set to False"]
    meant = [e for e in expected.events if e.message == "running set to False"]
    assert [e.time for e in told] == pytest.approx([e.time for e in meant], rel=0.02, abs=0.05)


def test_going_back_in_a_replay_leaves_it(qtbot, pane):
    """From an earlier moment the hands go on alone: the procedure is no longer worked."""
    operation = pane.operation
    operation.speed = 20.0
    qtbot.mouseClick(pane.procedures.replay_button, Qt.MouseButton.LeftButton)
    qtbot.waitUntil(lambda: operation.time > 1.0, timeout=30000)
    operation.view(0.5)
    operation.step(0.1)
    assert operation.script is None
    assert pane.procedures.expectations.table.item(0, 2).text() == ""
