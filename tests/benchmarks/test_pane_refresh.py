"""How long new figures of two hundred ports take to be shown and painted; a frame is 16.7 ms."""

from typing import Any

from PySide6.QtWidgets import QApplication

from analysis.circuit import Circuit
from tests.editor.test_panes_readings import Desk


def test_two_hundred_ports(benchmark: Any, qtbot: Any) -> None:
    """Every row changes its figure."""
    circuit = Circuit()
    for number in range(100):
        circuit.add("pressure_source", id=f"{number}P1", pressure=f"{number + 1} bar")
        circuit.add("plug", id=f"{number}Z1")
        circuit.connect(f"{number}P1.outlet", f"{number}Z1.A")
    desk = Desk(qtbot, circuit)
    assert desk.pane.tables[0].readings_model.rowCount() == 200

    def show() -> None:
        desk.pane.refresh()
        QApplication.processEvents()

    benchmark(show)
    desk.live.close()
