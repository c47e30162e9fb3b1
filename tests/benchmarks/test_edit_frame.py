"""How long from an edit until the pane shows it: one frame is 16.7 ms."""

from pathlib import Path

import pytest
from PySide6.QtWidgets import QApplication

from editor.main_window import MainWindow

SAMPLES = sorted((Path(__file__).parents[2] / "sample_circuits").glob("*.circuit.json"))


@pytest.fixture
def window(qtbot):
    """A shown window."""
    made = MainWindow()
    qtbot.addWidget(made, before_close_func=lambda w: w.document.stack.setClean())
    with qtbot.waitExposed(made):
        made.show()
    return made


@pytest.mark.parametrize("sample", SAMPLES, ids=lambda p: p.name.partition(".")[0])
def test_edit_to_pane(benchmark, qtbot, window, sample):
    """A line's length changed: solved, shown in the pane and on the sheet, and painted."""
    window.files.open(str(sample))
    live, circuit = window.live, window.document.circuit
    qtbot.waitUntil(lambda: live.is_current and live.is_check_current, timeout=30000)
    line = next(line for line in circuit.lines.values() if "length" in line.settings)
    lengths = ["11 in", "12 in"]

    def edit() -> None:
        lengths.reverse()
        circuit.set_value(line.id, "length", lengths[0])
        while not live.is_current:
            QApplication.processEvents()
        QApplication.processEvents()

    benchmark.pedantic(edit, rounds=40, warmup_rounds=3)
    times = sorted(benchmark.stats.stats.data)
    benchmark.extra_info["median_ms"] = round(times[len(times) // 2] * 1e3, 1)
    benchmark.extra_info["p95_ms"] = round(times[int(len(times) * 0.95)] * 1e3, 1)
