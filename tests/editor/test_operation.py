"""The circuit at work: clock, levers, strokes, moments, and the return to the instant."""

from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QColor, QImage, QUndoStack
from PySide6.QtWidgets import QFileDialog, QPushButton

import editor
from analysis import read_circuit
from analysis.circuit import Circuit
from analysis.circuit_file import circuit_text
from analysis.motion import Motion
from analysis.procedures import parse_procedure
from analysis.resolved import resolve_element
from analysis.runs import run
from editor.canvas.scene import Scene
from editor.operation.dock import OperationPane
from editor.operation.history import MOST_MOMENTS, History
from editor.operation.operation import Operation
from editor.operation.traces import COLOURS, figures_of
from editor.selection import Selection
from editor.undo_commands import SetValue, push
from editor.unit_presets import DisplayUnits

SAMPLES = Path(editor.__file__).parent.parent / "sample_circuits"


@pytest.fixture
def gear():
    """The hand-pumped gear with its lever at DOWN."""
    circuit = read_circuit(SAMPLES / "hand_pumped_gear.circuit.json")
    circuit.set_value("1V1", "position", "DOWN", state=True)
    for leg in ("1A1", "1A2", "1A3"):
        circuit.set_value(leg, "extension", "0 in", state=True)
    circuit.set_value("0P1", "running", False, state=True)
    return circuit


@pytest.fixture
def pane(qtbot, gear):
    """The pane on that circuit."""
    operation, stack, selection = Operation(gear), QUndoStack(), Selection()
    made = OperationPane(gear, operation, selection, stack, DisplayUnits(gear))
    made.stack = stack
    qtbot.addWidget(made)
    with qtbot.waitExposed(made):
        made.show()
    yield made
    operation.finish()


def test_clock_runs_and_the_gear_moves(qtbot, pane):
    """Run, pump: the legs go out while the clock goes on, and the circuit stays as drawn."""
    before = circuit_text(pane.operation.circuit)
    qtbot.mouseClick(pane.run_button, Qt.MouseButton.LeftButton)
    pane.operation.speed = 20.0
    pane.operation.work("0P1", True)
    qtbot.waitUntil(
        lambda: max(pane.operation.moving[x]["extension"] for x in ("1A1", "1A2", "1A3")) > 0.01,
        timeout=15000,
    )
    assert pane.operation.time > 0.1
    assert circuit_text(pane.operation.circuit) == before
    qtbot.mouseClick(pane.run_button, Qt.MouseButton.LeftButton)
    assert not pane.operation.running


def test_one_press_is_one_stroke(pane):
    """One stroke delivers one displacement and the handle comes to rest."""
    operation = pane.operation
    operation.step(0.1)
    operation.stroke("0P1")
    for _ in range(60):
        operation.step(0.1)
    assert operation.motion.strokes["0P1"] == pytest.approx(1.0, rel=0.02)
    assert operation.motion.circuit.components["0P1"].state["running"] is False


@pytest.mark.parametrize("acting", ["single", "double"])
def test_one_press_is_one_stroke_wherever_the_handle_is(pane, acting):
    """By strokes too: from the end of its way, and from where it was let go before."""
    operation = pane.operation
    operation.circuit.set_value("0P1", "acting", acting)
    operation.circuit.set_value("0P1", "pulsation", "strokes")
    operation.step(0.1)
    begun = operation.motion.strokes["0P1"]
    for presses in (1, 2):
        operation.stroke("0P1")
        for _ in range(60):
            operation.step(0.1)
        counted = operation.motion.strokes["0P1"] - begun
        assert counted == pytest.approx(presses, rel=1e-3)
        assert operation.motion.circuit.components["0P1"].state["running"] is False
    # held for part of a stroke only, then a whole one from there
    operation.work("0P1", True)
    operation.step(0.7)
    operation.work("0P1", False)
    let_go = operation.motion.strokes["0P1"]
    operation.stroke("0P1")
    for _ in range(60):
        operation.step(0.1)
    assert operation.motion.strokes["0P1"] - let_go == pytest.approx(1.0, rel=1e-3)


def test_lever_on_the_sheet_goes_into_the_motion(pane):
    """A lever moved by an undoable edit moves in the motion too; undo moves it back."""
    operation = pane.operation
    operation.step(0.1)
    push(pane.stack, SetValue(operation.circuit, "1V1", "position", "UP", state=True))
    assert operation.motion.circuit.components["1V1"].state["position"] == "UP"
    pane.stack.undo()
    assert operation.motion.circuit.components["1V1"].state["position"] == "DOWN"
    assert [d.value for d in operation.deeds] == ["UP", "DOWN"]


def test_any_other_edit_returns_to_the_instant_and_keeps_the_recording(pane):
    """Editing a setting ends the work; what was recorded is still there."""
    operation = pane.operation
    for _ in range(5):
        operation.step(0.1)
    recorded = list(operation.history.times)
    push(pane.stack, SetValue(operation.circuit, "1A1", "stroke", "10 in"))
    assert not operation.active
    assert operation.history.times == recorded


def test_going_back_to_a_moment_and_on_from_there(pane):
    """A viewed moment shows its own state; running on forgets what came after."""
    operation = pane.operation
    operation.step(0.1)
    operation.work("0P1", True)
    for _ in range(40):
        operation.step(0.5)
    late = max(operation.moving[x]["extension"] for x in ("1A1", "1A2", "1A3"))
    operation.view(5.0)
    assert operation.time == pytest.approx(5.0, abs=0.6)
    assert max(operation.moving[x]["extension"] for x in ("1A1", "1A2", "1A3")) < late
    operation.step(0.1)
    assert operation.end < 6.5
    assert operation.history.times[-1] < 6.5


def test_what_was_done_becomes_a_procedure(pane):
    """Kept deeds work again by `run`, with the same outcome."""
    operation = pane.operation
    operation.step(0.5)
    operation.work("0P1", True)
    for _ in range(20):
        operation.step(0.5)
    raw = operation.as_procedure("Ten seconds of pumping")
    twin = operation.circuit.copy()
    recording = run(twin, parse_procedure(twin, raw), until=operation.time)
    for leg in ("1A1", "1A2", "1A3"):
        assert recording.signals[f"{leg}.extension"][-1] == pytest.approx(
            operation.moving[leg]["extension"], abs=1e-3
        )


def test_another_circuit_is_worked_after_the_first(qtbot, pane):
    """Its parts may have the ids of others: no row of the first circuit is shown for them."""
    pane.operation.begin()
    pane.operation.finish()
    other = Circuit()
    for component in pane.operation.circuit.components.values():
        other.add("junction", id=component.id)
    pane.operation.circuit.replace_with(other)
    assert pane.operation.begin()
    assert pane.controls._refreshers == []


def test_traces_skip_what_is_no_figure():
    """Gaps, flags and words in a column: a word is no figure, a flag is 0 or 1."""
    nan = float("nan")
    for column, figures in (
        ([1.5, None, True], [1.5, nan, 1.0]),
        (["locked", 2, None], [nan, 2.0, nan]),
        ([], []),
    ):
        assert figures_of(column).tolist() == pytest.approx(figures, nan_ok=True)


def test_canvas_shows_the_moving_part(qtbot, gear):
    """A part at work is painted anew in its present state, and as drawn afterwards."""
    scene = Scene(gear, Selection())
    at_rest = scene.components["1A1"].picture
    scene.show_moving({"1A1": {"extension": 0.1}})
    assert scene.components["1A1"].picture is not at_rest
    scene.show_moving(None)
    assert scene.components["1A1"].picture is at_rest


def test_canvas_follows_a_state_that_goes_on_changing(qtbot, gear):
    """The motion changes its states in place; each is shown, and one that comes back too."""
    scene, states = Scene(gear, Selection()), {"1A1": {"extension": 0.1}}
    scene.show_moving(states)
    first = scene.components["1A1"].picture
    states["1A1"]["extension"] = 0.2
    scene.show_moving(states)
    assert scene.components["1A1"].picture is not first
    states["1A1"]["extension"] = 0.1
    scene.show_moving(states)
    assert scene.components["1A1"].picture is first


def test_canvas_shows_a_roller_valve_tripped_at_work(qtbot):
    """The cam of a cylinder that moves by itself changes the valve over before one's eyes."""
    circuit = Circuit()
    circuit.add("cylinder", id="1A1", stroke="200 mm")
    circuit.add(
        "valve_3_2", id="1V1", operator="roller", tripped_by="1A1", trips_at="100 mm",
        position="right",
    )  # fmt: skip
    scene = Scene(circuit, Selection())
    as_drawn = scene.components["1V1"].picture
    scene.show_moving({"1A1": {"extension": 0.09}})
    assert scene.components["1V1"].picture is as_drawn
    scene.show_moving({"1A1": {"extension": 0.11}})
    assert scene.components["1V1"].picture is not as_drawn
    scene.show_moving({"1A1": {"extension": 0.09}})
    assert scene.components["1V1"].picture is as_drawn


def test_canvas_shows_what_is_set_at_work(qtbot, gear):
    """A lever or a fault that is set in the motion is seen, and taken back at the end."""
    scene = Scene(gear, Selection())
    lever = next(c.id for c in gear.components.values() if "position" in c.declared.states)
    as_drawn = scene.components[lever].picture
    motion = Motion(gear.copy())
    scene.show_moving(motion.moving, motion.circuit)
    places = gear.components[lever].declared.states["position"].choices
    now = resolve_element(gear.components[lever]).state["position"]
    motion.apply({lever: {"position": next(place for place in places if place != now)}})
    scene.show_moving(motion.moving, motion.circuit)
    assert scene.components[lever].picture is not as_drawn
    line = next(iter(gear.lines))
    motion.apply({line: {"fault": "blocked"}, "1A1": {"fault": "stuck"}})
    scene.show_moving(motion.moving, motion.circuit)
    assert scene.lines[line].fault == "blocked"
    assert any(words.text == "STUCK" for words in scene.components["1A1"]._words)
    scene.show_moving(None)
    assert scene.components[lever].picture is as_drawn
    assert scene.lines[line].fault == ""


def test_recording_is_bounded():
    """An hour at 60 frames a second keeps no more than so many moments."""

    class At:
        def __init__(self, time):
            self.time, self.circuit = time, None

    history = History()
    for frame in range(3600 * 20):
        history.add(At(frame * 0.05), {"x": float(frame)})
    assert len(history.moments) <= MOST_MOMENTS
    assert len(history.signals["x"]) == len(history.moments)
    assert history.times[-1] > 3590.0


def test_traces_are_exported_as_a_picture(no_menus_left, qtbot, pane, monkeypatch, tmp_path):
    """The picture shows the curve in its colour; without a trace nothing is written."""
    target = tmp_path / "traces.png"
    asked = []

    def answer(*_):
        asked.append(target)
        return str(target), ""

    monkeypatch.setattr(QFileDialog, "getSaveFileName", answer)
    pane.tabs.setCurrentWidget(pane.traces)
    button = next(b for b in pane.traces.findChildren(QPushButton) if "picture" in b.text())
    qtbot.mouseClick(button, Qt.MouseButton.LeftButton)
    assert not asked and "add one first" in pane.traces._readout.text()

    pane.operation.step(0.1)
    pane.operation.work("0P1", True)
    for _ in range(40):
        pane.operation.step(0.1)
    pane.traces.add("0P1.outlet.pressure")
    qtbot.waitUntil(lambda: pane.traces._view.width() > 0.9 * pane.traces.width())
    qtbot.mouseClick(button, Qt.MouseButton.LeftButton)
    picture = QImage(str(target))
    assert picture.width() >= pane.traces._view.width()
    colours = {
        picture.pixelColor(x, y).name().upper()
        for x in range(0, picture.width(), 2)
        for y in range(0, picture.height(), 2)
    }
    assert len(colours) > 5
    blue = QColor(COLOURS[0])
    assert any(
        abs(QColor(c).red() - blue.red()) + abs(QColor(c).blue() - blue.blue()) < 60
        for c in colours
    )
