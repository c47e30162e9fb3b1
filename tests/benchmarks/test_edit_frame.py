"""How long from an edit until the pane shows it: one frame is 16.7 ms."""

from pathlib import Path
from time import process_time

import pytest
from PySide6.QtWidgets import QApplication

# Time of the processor, not of the clock on the wall: other work on the machine does not count.
pytestmark = pytest.mark.benchmark(timer=process_time)

SAMPLES = sorted((Path(__file__).parents[2] / "sample_circuits").glob("*.circuit.json"))


def answered(benchmark, live, edit):
    """Time an edit until it is shown in the pane and on the sheet, and painted."""

    def edit_and_wait():
        edit()
        while not live.is_current:
            QApplication.processEvents()
        QApplication.processEvents()

    benchmark.pedantic(edit_and_wait, rounds=40, warmup_rounds=3)
    times = sorted(benchmark.stats.stats.data)
    benchmark.extra_info["median_ms"] = round(times[len(times) // 2] * 1e3, 1)
    benchmark.extra_info["p95_ms"] = round(times[int(len(times) * 0.95)] * 1e3, 1)


def opened(qtbot, window, sample):
    """The circuit of a sample, open in the window and answered for the first time."""
    window.files.open(str(sample))
    live = window.live
    qtbot.waitUntil(lambda: live.is_current and live.is_check_current, timeout=30000)
    return window.document.circuit


@pytest.mark.parametrize("sample", SAMPLES, ids=lambda p: p.name.partition(".")[0])
def test_edit_to_pane(benchmark, qtbot, window, sample):
    """A line's length changed: solved, shown in the pane and on the sheet, and painted."""
    circuit = opened(qtbot, window, sample)
    line = next(line for line in circuit.lines.values() if "length" in line.settings)
    lengths = ["11 in", "12 in"]

    def edit() -> None:
        lengths.reverse()
        circuit.set_value(line.id, "length", lengths[0])

    answered(benchmark, window.live, edit)


@pytest.mark.parametrize("sample", SAMPLES, ids=lambda p: p.name.partition(".")[0])
def test_lever_to_pane(benchmark, qtbot, window, sample):
    """Each lever of the sample put to each of its positions, over and over."""
    circuit = opened(qtbot, window, sample)
    levers = [
        (component.id, position)
        for component in circuit.components.values()
        if "position" in component.declared.states
        for position in component.declared.states["position"].choices
    ]

    def edit() -> None:
        levers.append(levers.pop(0))
        circuit.set_value(levers[0][0], "position", levers[0][1], state=True)

    answered(benchmark, window.live, edit)
