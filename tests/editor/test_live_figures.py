"""While the clock runs figures follow ten times a second; held, they are those of the instant."""

from pathlib import Path

import pytest

import editor
from analysis.motion_readings import motion_readings
from editor.operation.operation import GLANCE
from tests.editor.canvas_helpers import open_window

SAMPLE = Path(editor.__file__).parent.parent / "sample_circuits" / "hand_pumped_gear.circuit.json"


@pytest.fixture
def hand(no_menus_left, qtbot):
    """The gear at work, its frames asked for by hand, a cylinder traced."""
    made = open_window(qtbot)
    made.window.files.open(str(SAMPLE))
    made.settled()
    made.operation = made.window.operation
    made.window.menus.work._show_dock()
    assert made.operation.begin()
    made.window.operation_pane.trace(["1A1"])
    made.operation.run()
    made.operation._timer.setInterval(1_000_000)
    pump = next(c.id for c in made.circuit.components.values() if c.kind == "hand_pump")
    made.operation.work(pump, True)
    return made


def test_figures_follow_every_sixth_frame_and_the_sheet_each(hand):
    """The part that moves is shown at every frame, what is read at some."""
    due, moved = [], []
    hand.window.live.readings_changed.connect(
        lambda: due.append(1) if hand.window.live.figures_due else None
    )
    hand.operation.shown.connect(lambda: moved.append(hand.operation.time))
    for _ in range(2 * GLANCE):
        hand.operation.show_frame(1 / 60)
    assert len(moved) == 2 * GLANCE and moved == sorted(set(moved))
    assert len(due) == 2


def test_held_everything_is_of_that_moment(hand):
    """Readings, their table and the traces, whichever frame it was held after."""
    for _ in range(GLANCE + 1):
        hand.operation.show_frame(1 / 60)
    hand.operation.pause()
    now = motion_readings(hand.operation.motion)
    assert hand.window.live.readings.pressures == pytest.approx(now.pressures)
    assert hand.window.live.figures_due
    traces = hand.window.operation_pane.traces
    curve = traces._curves[traces.names[0]]
    assert curve.getData()[0][-1] == pytest.approx(hand.operation.history.times[-1])
    low, high = traces._plots["length"].viewRange()[0]
    assert low == 0.0 and high >= hand.operation.time
