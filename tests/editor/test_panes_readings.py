"""The pane Readings: figures in the user's units, sorted by size, linked with the selection."""

import pytest
from PySide6.QtCore import Qt

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
    assert desk.cell("9A1.cap", 1) == "undetermined"
    assert desk.cell("9A1.cap", 1, role=Qt.ItemDataRole.ToolTipRole).endswith(".")
    assert "undetermined" in desk.pane.status.text()


def test_a_line_without_bore_has_no_velocity_and_says_why(desk):
    """Words, not a zero."""
    desk.circuit.set_value("L1", "bore", "1/2 in")
    desk.circuit.connect("1P1.outlet", "9A1.cap", id="L9")
    desk.settle()
    desk.pane.tabs.setCurrentIndex(1)
    assert desk.cell("L9", 2, table=1) == "no bore"
    assert "bore" in desk.cell("L9", 2, table=1, role=Qt.ItemDataRole.ToolTipRole)
    assert desk.cell("L1", 2, table=1) == "0"


def test_a_click_on_the_heading_sorts_by_size(desk):
    """3, 20, 100 and not 100, 20, 3; words stay last both ways."""
    table = desk.pane.tables[0]
    header = table.horizontalHeader()
    x = header.sectionViewportPosition(1) + header.sectionSize(1) // 2
    point = header.rect().center()
    point.setX(x)
    desk.qtbot.mouseClick(header.viewport(), Qt.MouseButton.LeftButton, pos=point)
    once = desk.column(1)
    desk.qtbot.mouseClick(header.viewport(), Qt.MouseButton.LeftButton, pos=point)
    twice = desk.column(1)
    rising, falling = (once, twice) if once[0] == "3" else (twice, once)
    assert rising == ["3", "3", "20", "20", "100", "100", "undetermined", "undetermined"]
    assert falling == ["100", "100", "20", "20", "3", "3", "undetermined", "undetermined"]


def test_lines_are_counted_as_people_count(desk):
    """L2 before L10."""
    for number in range(4, 12):
        desk.circuit.connect("1P1.outlet", "9A1.cap", id=f"L{number}")
    desk.settle()
    desk.pane.tabs.setCurrentIndex(1)
    desk.pane.tables[1].sortByColumn(0, Qt.SortOrder.AscendingOrder)
    assert desk.column(0, table=1) == [f"L{number}" for number in range(1, 12)]


def test_search_narrows_all_tables(desk):
    """By port, part and value; cleared, all is there again."""
    desk.qtbot.keyClicks(desk.pane.search, "idle jack")
    assert desk.column(0) == ["9A1.cap", "9A1.rod"]
    desk.pane.search.clear()
    assert len(desk.column(0)) == 8


def test_a_click_on_a_row_selects_the_part(desk):
    """View to selection: the part of the port; a double click shows it on the sheet."""
    table = desk.pane.tables[0]
    revealed = []
    desk.selection.reveal_requested.connect(revealed.append)
    row = desk.column(0).index("2Z1.A")
    at = table.visualRect(table.readings_model.index(row, 0)).center()
    desk.qtbot.mouseClick(table.viewport(), Qt.MouseButton.LeftButton, pos=at)
    assert desk.selection.ids() == ("2Z1",) and revealed == []
    desk.qtbot.mouseDClick(table.viewport(), Qt.MouseButton.LeftButton, pos=at)
    assert revealed == ["2Z1"]


def test_the_rows_of_the_selection_are_selected(desk):
    """Selection to view: both ports of the cylinder; and it survives new figures and sorting."""
    table = desk.pane.tables[0]

    def chosen():
        return {
            table.readings_model.subject(i.row()) for i in table.selectionModel().selectedRows()
        }

    desk.selection.set(["9A1"])
    assert chosen() == {"9A1.cap", "9A1.rod"}
    table.sortByColumn(1, Qt.SortOrder.DescendingOrder)
    assert chosen() == {"9A1.cap", "9A1.rod"}
    desk.circuit.set_value("3P1", "pressure", "500 psi")
    desk.qtbot.waitUntil(lambda: desk.column(1)[0] == "500", timeout=10000)
    assert chosen() == {"9A1.cap", "9A1.rod"} and desk.selection.ids() == ("9A1",)
    desk.selection.clear()
    assert chosen() == set()


def test_a_removed_part_leaves_at_once(desk):
    """No row of a part that is gone, not even until the next readings."""
    desk.selection.set(["9A1"])
    desk.circuit.remove("9A1")
    assert not any(port.startswith("9A1") for port in desk.column(0))


def test_a_failed_analysis_shows_no_old_figures(desk):
    """The reason stands above the tables; the cells hold words."""
    desk.circuit.set_field("", "fluid", {"temperature": "900 degC"})
    desk.qtbot.waitUntil(lambda: desk.live.problem != "", timeout=10000)
    assert "900" in desk.pane.status.text()
    assert set(desk.column(1)) == {"no reading"}


def test_an_empty_sheet_says_what_to_do(qtbot):
    """Not an empty table without a word."""
    empty = Desk(qtbot, Circuit())
    assert "place symbols" in empty.pane.status.text()
    empty.live.close()


def test_new_figures_are_one_notification(desk):
    """One dataChanged over all rows, and no reset, which would cost the selection."""
    model = desk.pane.tables[0].readings_model
    told, resets = [], []
    model.dataChanged.connect(lambda *what: told.append(what))
    model.modelReset.connect(lambda: resets.append(True))
    desk.circuit.set_value("2P1", "pressure", "101 psi")
    desk.qtbot.waitUntil(lambda: desk.cell("2Z1.A", 1) == "101", timeout=10000)
    assert len(told) == 1 and resets == []


def test_a_row_whose_part_was_just_removed_is_blank_until_the_next_readings(desk):
    """Cells are made when they are asked for; the part may be gone by then."""
    desk.circuit.remove("9A1")
    model = desk.pane.tables[0].readings_model
    model.show_readings(desk.live.readings)
    model._subjects.append("9A1.cap")
    model.search("")
    assert [desk.cell("9A1.cap", column) for column in range(4)] == [""] * 4
