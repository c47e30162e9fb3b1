"""The pane Readings: figures in the user's units, sorted by size, linked with the selection."""

import time
from statistics import median

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication

from analysis.circuit import Circuit
from editor.display_units import DisplayUnits
from editor.live_analysis import LiveAnalysis
from editor.panes.readings_pane import ReadingsPane
from editor.selection import Selection


class Desk:
    """A circuit with the pane beside it; three sources of 20, 100 and 3 psi, and a dead end."""

    def __init__(self, qtbot, circuit=None):
        self.qtbot = qtbot
        self.circuit = circuit or _three_sources()
        self.selection = Selection(self.circuit)
        self.live = LiveAnalysis(self.circuit)
        self.pane = ReadingsPane(
            self.circuit, self.live, self.selection, DisplayUnits(self.circuit)
        )
        qtbot.addWidget(self.pane)
        self.pane.resize(600, 500)
        with qtbot.waitExposed(self.pane):
            self.pane.show()
        self.settle()

    def settle(self):
        self.qtbot.waitUntil(
            lambda: self.live.readings is not None and self.live.is_current, timeout=20000
        )

    def column(self, number, table=0):
        model = self.pane.tables[table].readings_model
        return [model.index(row, number).data() for row in range(model.rowCount())]

    def cell(self, subject, number, table=0, role=Qt.ItemDataRole.DisplayRole):
        model = self.pane.tables[table].readings_model
        row = next(r for r in range(model.rowCount()) if model.subject(r) == subject)
        return model.index(row, number).data(role)


def _three_sources():
    circuit = Circuit()
    circuit.display_units = {"pressure": "psi", "flow": "gal/min"}
    for number, pressure in enumerate(("20 psi", "100 psi", "3 psi"), 1):
        circuit.add("pressure_source", id=f"{number}P1", pressure=pressure)
        circuit.add("plug", id=f"{number}Z1")
        circuit.connect(f"{number}P1.outlet", f"{number}Z1.A", bore="1/4 in", length="1 ft")
    circuit.add("cylinder", id="9A1", name="Idle jack")
    return circuit


@pytest.fixture
def desk(qtbot):
    """Three sources and a cylinder, with the pane."""
    made = Desk(qtbot)
    yield made
    made.live.close()


def test_pressures_are_shown_in_the_users_unit(desk):
    """1 psi = 6.894757 kPa (NIST SP 811, appendix B, from memory); heading and cell agree."""
    assert desk.cell("2Z1.A", 1) == "100"
    model = desk.pane.tables[0].readings_model
    header = Qt.Orientation.Horizontal
    assert "psi" in model.headerData(1, header)
    desk.circuit.set_field("", "display_units", {"pressure": "kPa"})
    assert "kPa" in model.headerData(1, header)
    assert desk.cell("2Z1.A", 1) == "689.5"


def test_the_figures_follow_the_circuit(desk):
    """A source is changed; its plug reads the new pressure."""
    desk.circuit.set_value("2P1", "pressure", "250 psi")
    desk.qtbot.waitUntil(lambda: desk.cell("2Z1.A", 1) == "250", timeout=10000)


def test_what_nothing_pins_down_is_said_in_words_with_the_reason(desk):
    """Never a number: the ports of a cylinder without lines."""
    assert [desk.cell("9A1.cap", column) for column in range(4)] == [""] * 4
