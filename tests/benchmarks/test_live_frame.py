"""One frame of the circuit at work: moved on, shown in all panes and painted. It has 16.7 ms.

The dock Operation is open with six traces running, the sheet moves, the readings are in
front; every second a lever is worked, and the hand pumps are worked all the time. Once with
a recording that has just begun, and once with one that is as long as it gets.
"""

from dataclasses import replace
from pathlib import Path
from time import process_time

import pytest
from PySide6.QtWidgets import QApplication

from editor.operation.history import MOST_MOMENTS

# Time of the processor, not of the clock on the wall: other work on the machine does not count.
pytestmark = pytest.mark.benchmark(timer=process_time)

SAMPLES = sorted((Path(__file__).parents[2] / "sample_circuits").glob("*.circuit.json"))
FRAME = 1 / 60


@pytest.fixture
def window(window):
    """One of the size that is usual."""
    window.resize(1280, 800)
    return window


def at_work(qtbot, window, sample):
    """The sample at work; its frames are asked for, and do not come by the clock."""
    window.files.open(str(sample))
    live, operation = window.live, window.operation
    qtbot.waitUntil(lambda: live.is_current and live.is_check_current, timeout=30000)
    window.menus.work._show_dock()
    operation.begin()
    circuit = window.document.circuit
    actuators = [c.id for c in circuit.components.values() if "extension" in c.declared.states]
    window.operation_pane.trace(actuators)
    operation.run()
    operation._timer.setInterval(1_000_000)
    for component in circuit.components.values():
        if component.kind == "hand_pump":
            operation.work(component.id, True)
    QApplication.processEvents()
    return operation


def hands(circuit):
    """Levers to be worked and where to, round and round."""
    return [
        (component.id, position)
        for component in circuit.components.values()
        if "position" in component.declared.states
        for position in component.declared.states["position"].choices
    ]


def fill(history):
    """As many moments as are kept, between the last one and the one before."""
    last, step = history.moments[-1], 1e-6
    for number in range(1, MOST_MOMENTS - len(history.times)):
        history.moments.append(replace(last, time=last.time + number * step))
        history.times.append(last.time + number * step)
        for column in history.signals.values():
            column.append(column[-1])


@pytest.mark.parametrize("length", ["begun", "full"])
@pytest.mark.parametrize("sample", SAMPLES, ids=lambda p: p.name.partition(".")[0])
def test_live_frame(benchmark, qtbot, window, sample, length):
    """Median and 95th percentile of 300 frames."""
    operation = at_work(qtbot, window, sample)
    levers = hands(window.document.circuit)
    if length == "full":
        operation.show_frame(FRAME)
        fill(operation.history)
    frames = [0]

    def frame():
        frames[0] += 1
        if frames[0] % 60 == 0:
            levers.append(levers.pop(0))
            operation.put(levers[0][0], "position", levers[0][1])
        operation.show_frame(FRAME)
        QApplication.processEvents()

    benchmark.pedantic(frame, rounds=300, warmup_rounds=30)
    times = sorted(benchmark.stats.stats.data)
    benchmark.extra_info["median_ms"] = round(times[len(times) // 2] * 1e3, 1)
    benchmark.extra_info["p95_ms"] = round(times[int(len(times) * 0.95)] * 1e3, 1)
