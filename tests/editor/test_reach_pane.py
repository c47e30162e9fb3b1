"""The pane Reach: which supply gets to which port with which levers, and the way of a cell."""

from pathlib import Path

import pytest
from PySide6.QtCore import Qt

import editor
from tests.editor.canvas_helpers import open_window

SAMPLE = Path(editor.__file__).parent.parent / "sample_circuits" / "emergency_pump.circuit.json"
LEFT = Qt.MouseButton.LeftButton


@pytest.fixture
def window(qtbot):
    """The emergency sample in a window, the pane in front."""
    made = open_window(qtbot).window
    made.document.open(str(SAMPLE))
    made.docks[5].raise_()
    settled(qtbot, made)
    return made


def settled(qtbot, window) -> None:
    """Wait until the table belongs to the circuit as it is."""
    pane = window.reach_pane
    qtbot.waitUntil(lambda: pane.isVisible() and pane.is_current, timeout=20000)
    qtbot.waitUntil(lambda: pane.matrix is not None and pane.table.rowCount() > 0, timeout=20000)


def click(qtbot, table, row, column) -> None:
    """Click a cell, scrolled into sight."""
    table.scrollToItem(table.item(row, column))
    at = table.visualItemRect(table.item(row, column)).center()
    qtbot.mouseClick(table.viewport(), LEFT, pos=at)


def headers(table) -> tuple[list[str], list[str]]:
    """What stands before the rows and over the columns."""
    rows = [table.verticalHeaderItem(n).text() for n in range(table.rowCount())]
    columns = [table.horizontalHeaderItem(n).text() for n in range(table.columnCount())]
    return rows, columns


def test_every_supply_against_every_port(window):
    """72 settings; the emergency pump gets to the main gear's caps in half of them, else never."""
    pane = window.reach_pane
    rows, columns = headers(pane.table)
    assert columns == ["0P1", "0P2", "2P1"] and len(rows) == 8
    column = columns.index("2P1")
    texts = {row: pane.table.item(n, column).text() for n, row in enumerate(rows)}
    assert texts["1A1.cap"] == texts["1A2.cap"] == "36 of 72"
    assert {texts[row] for row in rows if row not in ("1A1.cap", "1A2.cap")} == {"never"}
    assert "72 settings of 5 levers" in pane.summary.text()
    assert not pane.warning.isVisible()


def test_a_cell_lists_its_settings_and_shows_the_way(qtbot, window):
    """By mouse the cell, by key the next setting; Escape puts it away."""
    pane = window.reach_pane
    rows, columns = headers(pane.table)
    click(qtbot, pane.table, rows.index("1A1.cap"), columns.index("0P1"))
    texts = [pane.settings.item(n).text() for n in range(pane.settings.count())]
    assert texts == ["0V8 RELEASE", "0V8 SHUT, 1V1 DOWN"]
    qtbot.waitUntil(window.ways.item.isVisible, timeout=20000)
    through = window.ways.shown.ways[0].elements
    assert "0P1" in through and through[-1] == "1A1"
    qtbot.keyClick(pane.settings, Qt.Key.Key_Down)
    qtbot.waitUntil(lambda: window.ways.legend.outcome == "with 0V8 SHUT, 1V1 DOWN", timeout=20000)
    assert "1V1" in window.ways.shown.ways[0].elements
    qtbot.keyClick(pane.table, Qt.Key.Key_Escape)
    assert not window.ways.item.isVisible() and pane.settings.count() == 0


def test_it_follows_the_circuit_in_a_thread(qtbot, window, monkeypatch):
    """A supply that is joined to another: they press on each other, and undo takes that back."""
    import threading

    from editor.requirements import reach_pane

    seen = []
    compute = window.reach_pane._job._compute

    def watched(circuit):
        seen.append(threading.current_thread() is threading.main_thread())
        return compute(circuit)

    monkeypatch.setattr(window.reach_pane._job, "_compute", watched)
    pane = window.reach_pane
    circuit = window.document.circuit
    circuit.connect("2P1.outlet", "0P1.outlet", "L998")
    assert not pane.is_current
    settled(qtbot, window)
    assert "Supplies press on each other" in pane.warning.text()
    assert "2P1 on 0P1.outlet" in pane.warning.text()
    rows, columns = headers(pane.table)
    assert rows[-2:] == ["2P1.outlet", "0P1.outlet"]
    click(qtbot, pane.table, rows.index("0P1.outlet"), columns.index("2P1"))
    qtbot.waitUntil(window.ways.item.isVisible, timeout=20000)
    assert window.ways.shown.ways[0].sense == "stray"
    circuit.remove("L998")
    settled(qtbot, window)
    assert not pane.warning.isVisible()
    assert seen and not any(seen)
    assert reach_pane._find_matrix is compute


def test_an_actuator_that_nothing_reaches_is_named(qtbot, window):
    """A cylinder without a line is in the warning, by its name too."""
    window.document.circuit.add("cylinder", id="9A9", name="Idle jack", at=(100, 100))
    settled(qtbot, window)
    assert "No supply gets to 9A9 (Idle jack)" in window.reach_pane.warning.text()


def test_nothing_is_computed_while_it_is_not_seen(qtbot, window):
    """Behind another pane it waits, and is up to date once it is in front again."""
    pane = window.reach_pane
    window.docks[3].raise_()
    qtbot.waitUntil(lambda: not pane._seen)
    before = pane.matrix
    window.document.circuit.add("cylinder", id="9A9", at=(100, 100))
    qtbot.wait(400)
    assert pane.matrix is before and not pane.is_current
    window.docks[5].raise_()
    settled(qtbot, window)
    assert "9A9" in pane.matrix.never


def test_an_empty_circuit_says_what_is_needed(qtbot):
    """No table, one sentence."""
    window = open_window(qtbot).window
    window.docks[5].raise_()
    pane = window.reach_pane
    qtbot.waitUntil(lambda: pane.matrix is not None and pane.is_current, timeout=20000)
    assert "draw a pump" in pane.summary.text() and not pane.table.isVisible()
