"""Commands: undo brings back the saved text byte for byte, redo the text after."""

from itertools import pairwise
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from PySide6.QtGui import QUndoStack

from analysis.circuit import DEFAULT, Circuit, Component, Line
from analysis.circuit_file import circuit_text, read_circuit
from analysis.errors import CircuitError
from analysis.routing import route
from editor.moving import following, mirrored, move_command, turned
from editor.undo_commands import (
    AddElements,
    Edit,
    RemoveElements,
    Rename,
    SetField,
    SetFields,
    SetValue,
    push,
)

SAMPLE = Path(__file__).parents[2] / "sample_circuits" / "hand_pumped_gear.circuit.json"


@pytest.fixture
def circuit():
    """A sample, with requirements and procedures that name its parts."""
    return read_circuit(SAMPLE)


COMMANDS = {
    "value": lambda c: SetValue(c, "0V2", "set_pressure", "900 psi"),
    "default": lambda c: SetValue(c, "0P1", next(iter(c.components["0P1"].settings)), DEFAULT),
    "unknown": lambda c: SetValue(c, "0V2", "set_pressure", None),
    "state": lambda c: SetValue(c, "1V1", "position", "UP", state=True),
    "fault": lambda c: SetValue(c, "0P1", "fault", "no_output", state=True),
    "name": lambda c: SetField(c, "0P1", "name", "Pump by the left seat"),
    "title": lambda c: SetField(c, "", "title", {"name": "Other"}),
    "line role": lambda c: SetField(c, next(iter(c.lines)), "role", "drain"),
    "add": lambda c: AddElements(
        c, [Component("9V9", "check_valve", at=(1, 1)), Line("L999", "9V9.inlet", "0P1.outlet")]
    ),
    "remove": lambda c: RemoveElements(c, ["0P1", "1V1", "0Z1", next(iter(c.lines))]),
    "rename": lambda c: Rename(c, "1A1", "7A7"),
    "rename line": lambda c: Rename(c, next(iter(c.lines)), "Lx"),
    "fields": lambda c: SetFields(c, "Both", [("0P1", "turn", 90), ("0V2", "at", (3, 3))]),
}


@pytest.mark.parametrize("name", COMMANDS)
def test_undo_and_redo_are_exact(name, circuit, qapp):
    """Each command of the editor, on a sample with requirements."""
    stack = QUndoStack()
    before = circuit_text(circuit)
    push(stack, COMMANDS[name](circuit))
    after = circuit_text(circuit)
    assert after != before
    for _ in range(3):
        stack.undo()
        assert circuit_text(circuit) == before
        stack.redo()
        assert circuit_text(circuit) == after


@given(st.lists(st.sampled_from(sorted(COMMANDS)), min_size=2, max_size=8))
@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow])
def test_rows_of_commands_are_undone_exactly(names):
    """In any order; what the circuit refuses by then is refused before it is pushed."""
    circuit, stack = read_circuit(SAMPLE), QUndoStack()
    texts = [circuit_text(circuit)]
    for name in names:
        try:
            command = COMMANDS[name](circuit)
        except (CircuitError, KeyError, StopIteration):
            assert circuit_text(circuit) == texts[-1]
            continue
        push(stack, command)
        texts.append(circuit_text(circuit))
    for text in reversed(texts[:-1]):
        stack.undo()
        assert circuit_text(circuit) == text
    for text in texts[1:]:
        stack.redo()
        assert circuit_text(circuit) == text


@pytest.mark.parametrize(
    "make",
    [
        lambda c: SetValue(c, "0V2", "set_pressure", "900 mm"),
        lambda c: SetValue(c, "0V2", "no_such_setting", "1 bar"),
        lambda c: SetValue(c, "1V1", "position", "SIDEWAYS", state=True),
        lambda c: SetField(c, "0P1", "turn", 45),
        lambda c: SetField(c, "nothing", "name", "x"),
        lambda c: AddElements(c, [Component("0P1", "hand_pump")]),
        lambda c: AddElements(c, [Line("L999", "0P1.outlet", "0P1.outlet")]),
        lambda c: RemoveElements(c, ["nothing"]),
        lambda c: Rename(c, "0P1", "0V2"),
        lambda c: Rename(c, "0P1", "no good id"),
    ],
)
def test_what_is_not_allowed_is_refused_before_it_is_done(make, circuit):
    """The command cannot even be made; the circuit is untouched."""
    before = circuit_text(circuit)
    with pytest.raises(CircuitError):
        make(circuit)
    assert circuit_text(circuit) == before


def test_nudges_merge_and_others_do_not(circuit, qapp):
    """One undo for a row of nudges of the same part."""
    stack, before = QUndoStack(), circuit_text(circuit)
    for x in (1, 2, 3):
        push(stack, SetFields(circuit, "Move", [("0P1", "at", (x, 1))], ("nudge", "0P1")))
    push(stack, SetFields(circuit, "Move", [("0V2", "at", (9, 9))], ("nudge", "0V2")))
    assert stack.count() == 2
    stack.undo()
    stack.undo()
    assert circuit_text(circuit) == before


def test_texts_are_in_the_users_words(circuit):
    """What Undo says it undoes."""
    assert SetValue(circuit, "0V2", "set_pressure", "1 bar").text() == "Change set pressure of 0V2"
    assert RemoveElements(circuit, ["0P1"]).text() == "Delete hand pump 0P1"
    assert RemoveElements(circuit, ["0P1", "0V2"]).text() == "Delete 2 parts"
    assert Rename(circuit, "0P1", "0P9").text() == "Rename 0P1 to 0P9"


def places(circuit: Circuit):
    """Where all components stand."""
    return {c.id: c.at for c in circuit.components.values()}


@pytest.mark.parametrize("change", [turned, mirrored], ids=["turn", "mirror"])
def test_turning_and_mirroring_the_whole_sheet_comes_full_circle(change, circuit):
    """Four turns, or two mirrorings, bring the very file back, corners of lines included."""
    before = circuit_text(circuit)
    times = 4 if change is turned else 2
    for time in range(times):
        parts, where = list(circuit.components.values()), places(circuit)
        moved = change(parts, where, 90) if change is turned else change(parts, where)
        command = move_command(circuit, "Turn", moved, following(circuit, moved, where))
        assert isinstance(command, Edit)
        command.redo()
        text = circuit_text(circuit)
        assert (text == before) == (time == times - 1)
        for line in circuit.lines.values():
            points = route(circuit, line)
            assert all(a[0] == b[0] or a[1] == b[1] for a, b in pairwise(points))
