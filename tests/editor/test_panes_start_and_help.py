"""Start page, cautions, keys, and the menu of units."""

import json

import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QAction, QKeySequence, QUndoStack
from PySide6.QtWidgets import QMainWindow, QTextBrowser

from analysis.circuit import Circuit
from editor.display_units import PRESETS, DisplayUnits, units_menu
from editor.panes.help import show_about, show_keys
from editor.panes.start_page import StartPage, find_samples, samples_folder


@pytest.fixture
def page(qtbot):
    """The start page, shown."""
    made = StartPage()
    qtbot.addWidget(made)
    made.resize(1000, 700)
    with qtbot.waitExposed(made):
        made.show()
    return made


def test_every_sample_is_offered_with_title_and_notes(page):
    """As the file's own title block says."""
    files = sorted(samples_folder().glob("*.circuit.json"))
    assert len(files) >= 5
    titles = {json.loads(f.read_text("utf-8"))["title"]["name"] for f in files}
    assert {button.text() for button in page.sample_buttons} == titles
    assert all(button.description for button in page.sample_buttons)


def test_a_click_asks_for_the_sample(page, qtbot):
    """The path is that of a file."""
    button = page.sample_buttons[0]
    with qtbot.waitSignal(page.open_requested) as asked:
        qtbot.mouseClick(button, Qt.MouseButton.LeftButton)
    assert asked.args == [button.path]
    with qtbot.waitSignal(page.new_requested):
        qtbot.mouseClick(page.new_button, Qt.MouseButton.LeftButton)


def test_recent_files_are_offered_and_missing_ones_are_pale(page, qtbot, tmp_path):
    """A file that is gone cannot be clicked; a list given anew replaces the old one."""
    here = tmp_path / "rig.circuit.json"
    here.write_text("{}")
    page.set_recent([str(here), str(tmp_path / "gone.circuit.json")])
    buttons = [page._recent.itemAt(i).widget() for i in range(page._recent.count())]
    assert [b.text() for b in buttons] == ["rig", "gone"]
    assert [b.isEnabled() for b in buttons] == [True, False]
    with qtbot.waitSignal(page.open_requested) as asked:
        qtbot.mouseClick(buttons[0], Qt.MouseButton.LeftButton)
    assert asked.args == [str(here)]
    page.set_recent([])
    assert page._recent.count() == 1 and page.recent == []


def test_broken_samples_do_not_break_the_page(tmp_path):
    """A file that is no circuit is left out."""
    (tmp_path / "a.circuit.json").write_text("{")
    (tmp_path / "b.circuit.json").write_text("[1]")
    (tmp_path / "c.circuit.json").write_text("[" * 50_000)
    (tmp_path / "d.circuit.json").write_bytes(b"\xff\xfe\x00")
    good = {"title": {"name": "Rig", "notes": "N."}, "components": [{}]}
    (tmp_path / "e.circuit.json").write_text(json.dumps(good))
    assert [(s.name, s.parts) for s in find_samples(tmp_path)] == [("Rig", 1)]


def test_about_names_every_caution(qtbot):
    """Fluid injection, stored pressure, moving gear, jacks, who decides, no release to service."""
    dialog = show_about(None)
    qtbot.addWidget(dialog)
    text = dialog.findChild(QTextBrowser).toPlainText()
    for words in (
        "Fluid injection",
        "Stored pressure",
        "Moving gear",
        "Aircraft on jacks",
        "approved data, local codes and licensed persons decide",
        "not for release to service",
    ):
        assert words in text


def test_keys_lists_the_shortcuts_that_the_window_has(qtbot):
    """Read from the window's actions, so that the list cannot go stale."""
    window = QMainWindow()
    qtbot.addWidget(window)
    action = QAction("Turn &right", window)
    action.setShortcut(QKeySequence("Ctrl+R"))
    dialog = show_keys(window)
    text = dialog.findChild(QTextBrowser).toPlainText()
    assert "Ctrl+R" in text and "Turn right" in text
    assert "900 psi to 1100 psi" in text


def test_a_preset_changes_all_units_and_is_undone_at_once(qtbot):
    """The menu marks what holds; undo brings back exactly what was written."""
    circuit, stack = Circuit(), QUndoStack()
    circuit.display_units = {"pressure": "psi"}
    menu = units_menu(None, circuit, stack)
    qtbot.addWidget(menu)
    preset = next(a for a in menu.actions() if a.data() == ("metric", ""))
    preset.trigger()
    assert circuit.display_units == dict(PRESETS["metric"])
    assert preset.isChecked()
    assert DisplayUnits(circuit).format(1e5, "pressure") == "1 bar"
    stack.undo()
    assert circuit.display_units == {"pressure": "psi"}
    menu.refresh()
    assert not preset.isChecked()


def test_one_quantity_is_changed_alone(qtbot):
    """By the submenu of that quantity."""
    circuit, stack = Circuit(), QUndoStack()
    menu = units_menu(None, circuit, stack)
    qtbot.addWidget(menu)
    pressure = next(a.menu() for a in menu.actions() if a.text() == "Pressure")
    next(a for a in pressure.actions() if a.data() == ("pressure", "psi")).trigger()
    assert circuit.display_units == {"pressure": "psi"}
    assert stack.count() == 1


def test_units_that_a_file_does_not_name_follow_those_it_names():
    """A circuit in psi and inches does not show metres; a wrong unit is passed over."""
    circuit = Circuit()
    units = DisplayUnits(circuit)
    assert units.unit("pressure") == "bar"
    circuit.display_units = {"pressure": "psi", "flow": "gal/min"}
    assert units.unit("velocity") == "ft/s"
    circuit.display_units = {"pressure": "metres", "length": "in"}
    assert units.unit("pressure") in ("psi", "bar")
    assert units.unit("number") == "" and units.format(0.5, "number") == "0.5"
