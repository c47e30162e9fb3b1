"""The window: files, the question about unsaved changes, titles, keys, safety copies."""

import json
from collections import Counter
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QAction
from PySide6.QtWidgets import QFileDialog, QMessageBox

from analysis.circuit_file import circuit_text, read_circuit
from editor import documents
from editor.application import Windows
from editor.documents import Recovered, recent_files
from editor.main_window import MainWindow
from tests.editor.canvas_helpers import open_window

SAMPLES = sorted((Path(__file__).parents[2] / "sample_circuits").glob("*.circuit.json"))


@pytest.fixture
def hand(qtbot):
    """A window with an empty sheet."""
    return open_window(qtbot)


@pytest.fixture
def warnings(monkeypatch):
    """The lines that warnings would show."""
    told = []
    monkeypatch.setattr(QMessageBox, "warning", lambda _parent, _title, line: told.append(line))
    return told


def answer(monkeypatch, button):
    """Answer every question so; returns what was asked."""
    asked = []
    monkeypatch.setattr(
        QMessageBox, "question", lambda _p, _t, text, *_more: asked.append(text) or button
    )
    return asked


def test_start_page_is_shown_while_nothing_is_open(qtbot):
    """No canvas, no panes, nothing to save; a new sheet brings them."""
    window = MainWindow()
    qtbot.addWidget(window)
    with qtbot.waitExposed(window):
        window.show()
    assert window.pages.currentWidget() is window.start_page
    assert not any(dock.isVisible() for dock in window.docks)
    assert not window.menus.named["Save"].isEnabled()
    qtbot.mouseClick(window.start_page.new_button, Qt.MouseButton.LeftButton)
    assert window.pages.currentWidget() is window.canvas
    assert window.shelf.isVisible() and window.form.isVisible()
    assert window.menus.named["Save"].isEnabled()


def test_window_opens_no_larger_than_the_screen(qtbot):
    """The offscreen screen is 800 x 800: the panes, not shown yet, must not make it higher."""
    window = MainWindow()
    qtbot.addWidget(window)
    room = window.screen().availableGeometry()
    assert window.height() < room.height() and window.width() < room.width()


@pytest.mark.parametrize("path", SAMPLES, ids=lambda p: p.name.partition(".")[0])
def test_samples_open_and_are_saved_byte_for_byte(hand, tmp_path, monkeypatch, path):
    """Nothing that was not edited changes in the file."""
    hand.window.files.open(str(path))
    assert len(hand.canvas.sheet.components) == len(hand.circuit.components) > 0
    assert len(hand.canvas.sheet.lines) == len(hand.circuit.lines)
    copy = tmp_path / "copy.circuit.json"
    monkeypatch.setattr(QFileDialog, "getSaveFileName", lambda *_: (str(copy), ""))
    hand.window.menus.named["Save As"].trigger()
    assert copy.read_bytes() == path.read_bytes()


def test_title_shows_the_file_and_what_is_not_saved(hand, tmp_path):
    """The mark comes with an edit and goes with undo or save."""
    assert hand.window.windowTitle() == "Untitled[*] — Standpipe"
    hand.canvas.start_placing("cylinder")
    hand.click((30, 20))
    assert hand.window.isWindowModified()
    hand.stack.undo()
    assert not hand.window.isWindowModified()
    hand.stack.redo()
    hand.window.document.save(str(tmp_path / "jack.circuit.json"))
    assert hand.window.windowTitle() == "jack[*] — Standpipe"
    assert not hand.window.isWindowModified()
    assert recent_files() == [str(tmp_path / "jack.circuit.json")]


def test_save_without_a_name_asks_for_one(hand, tmp_path, monkeypatch):
    """The ending is added; what is written is what is drawn."""
    hand.canvas.start_placing("cylinder")
    hand.click((30, 20))
    monkeypatch.setattr(QFileDialog, "getSaveFileName", lambda *_: (str(tmp_path / "jack"), ""))
    hand.window.menus.named["Save"].trigger()
    written = read_circuit(tmp_path / "jack.circuit.json")
    assert circuit_text(written) == hand.text()


@pytest.mark.parametrize(
    "content",
    [b"", b"{", b'{"format": "standpipe-circuit", "version": 99}', b"\xff\xfe", b"[" * 100_000],
    ids=["empty", "cut off", "newer", "no text", "deeply nested"],
)
def test_bad_file_is_told_in_one_line_and_nothing_is_lost(hand, tmp_path, warnings, content):
    """The drawing on the sheet and its undo stay."""
    hand.canvas.start_placing("cylinder")
    hand.click((30, 20))
    hand.window.document.save(str(tmp_path / "good.circuit.json"))
    before = hand.text()
    bad = tmp_path / "bad.circuit.json"
    bad.write_bytes(content)
    hand.window.files.open(str(bad))
    assert len(warnings) == 1
    assert "bad.circuit.json" in warnings[0]
    assert "\n" not in warnings[0] and "Traceback" not in warnings[0]
    assert hand.text() == before
    assert hand.window.document.name == "good"
    assert hand.stack.count() == 1


def test_file_that_cannot_be_written_is_told(hand, tmp_path, warnings):
    """The circuit stays unsaved, and says so."""
    hand.canvas.start_placing("cylinder")
    hand.click((30, 20))
    hand.window.document.path = str(tmp_path / "no such folder" / "jack.circuit.json")
    hand.window.menus.named["Save"].trigger()
    assert len(warnings) == 1 and "not saved" in warnings[0]
    assert hand.window.isWindowModified()


def test_unsaved_changes_are_asked_about(hand, monkeypatch, tmp_path):
    """Cancel keeps the drawing, Discard gives it up, Save writes it first."""
    hand.canvas.start_placing("cylinder")
    hand.click((30, 20))
    asked = answer(monkeypatch, QMessageBox.StandardButton.Cancel)
    hand.window.menus.named["New"].trigger()
    assert len(asked) == 1 and "0A1" in hand.circuit
    assert not hand.window.close()
    answer(monkeypatch, QMessageBox.StandardButton.Save)
    target = tmp_path / "kept.circuit.json"
    monkeypatch.setattr(QFileDialog, "getSaveFileName", lambda *_: (str(target), ""))
    hand.window.menus.named["New"].trigger()
    assert "0A1" in read_circuit(target)
    assert not hand.circuit.components
    hand.canvas.start_placing("cylinder")
    hand.click((30, 20))
    answer(monkeypatch, QMessageBox.StandardButton.Discard)
    hand.window.menus.named["New"].trigger()
    assert not hand.circuit.components


def test_safety_copy_is_kept_until_saved_and_can_be_recovered(hand, tmp_path):
    """What is not saved lies in a copy; saving takes the copy away."""
    hand.canvas.start_placing("cylinder")
    hand.click((30, 20))
    hand.window.document.autosave()
    (copy,) = documents.autosave_folder().glob("*.circuit.json")
    assert circuit_text(read_circuit(copy)) == hand.text()
    kept = tmp_path / "kept.circuit.json"
    kept.write_bytes(copy.read_bytes())
    hand.window.document.save(str(tmp_path / "jack.circuit.json"))
    assert not list(documents.autosave_folder().iterdir())
    hand.window.document.new()
    hand.window.files.recover(Recovered(kept, str(tmp_path / "jack.circuit.json")))
    assert "0A1" in hand.circuit
    assert hand.window.document.name == "jack" and hand.window.isWindowModified()
    assert not kept.exists()
    hand.window.document.save()
    assert not hand.window.isWindowModified()
    assert "0A1" in read_circuit(tmp_path / "jack.circuit.json")


def test_only_copies_of_ended_runs_are_offered(tmp_path, qapp):
    """A copy of a program that still runs belongs to it."""
    folder = documents.autosave_folder()
    folder.mkdir(parents=True)
    ended = folder / "4194305-0.circuit.json"  # beyond the highest process number of Linux
    ended.write_text("{}")
    (folder / "4194305-0.origin").write_text(json.dumps("gear.circuit.json"))
    (folder / "1-0.circuit.json").write_text("{}")
    assert documents.find_recoverable() == [Recovered(ended, "gear.circuit.json")]


def test_no_key_stands_for_two_things(hand):
    """Two actions of one key: neither would work."""
    actions = {a for a in hand.window.findChildren(QAction)}
    keys = Counter(key.toString() for action in actions for key in action.shortcuts())
    assert [key for key, count in keys.items() if count > 1] == []
    assert keys["Ctrl+Z"] == 1 and keys["R"] == 1


def test_letters_typed_in_the_form_turn_nothing(hand, qtbot):
    """R, M, L and F are letters in a field, and keys on the sheet only."""
    hand.canvas.start_placing("cylinder")
    hand.click((30, 20))
    search = hand.window.shelf.search
    search.setFocus()
    qtbot.keyClicks(search, "rmlf")
    assert search.text() == "rmlf"
    assert hand.circuit.components["0A1"].turn == 0


def test_selection_is_followed_by_the_canvas_and_reveals(hand):
    """A pane selects and reveals: the item shows it and comes into view."""
    hand.circuit.add("cylinder", id="1A1", at=(150, 100))
    hand.window.selection.set(["1A1"], reveal=True)
    item = hand.canvas.sheet.components["1A1"]
    assert item.is_selected
    assert hand.canvas.viewport().rect().contains(hand.pixel((150, 100)))


def test_zoom_keeps_the_point_under_the_pointer(hand):
    """Zooming in and out about a point leaves that point where it is."""
    about = hand.canvas.viewport().rect().center() / 2
    before = hand.canvas.to_sheet(about)
    hand.canvas.zoom(2.0, about.toPointF())
    after = hand.canvas.to_sheet(about)
    assert after == pytest.approx(before, abs=0.2)
    assert hand.window.status.zoom.text() == "200 %"


def test_window_is_gone_after_closing(qtbot):
    """A closed window leaves no object behind that listens to the circuit."""
    window = MainWindow()
    circuit = window.document.circuit
    with qtbot.waitExposed(window):
        window.show()
    with qtbot.waitSignal(window.destroyed, timeout=5000):
        window.close()
    circuit.add("cylinder")


def test_empty_sheet_says_how_to_begin(hand):
    """Until the first part is placed, and again when it is taken away; the pointer goes through."""
    assert hand.canvas.empty_hint.isVisible()
    middle = hand.canvas.to_sheet(hand.canvas.empty_hint.geometry().center())
    hand.canvas.start_placing("cylinder")
    hand.click(middle)
    assert "0A1" in hand.circuit
    assert not hand.canvas.empty_hint.isVisible()
    hand.stack.undo()
    assert hand.canvas.empty_hint.isVisible()


def test_second_window_opens_on_the_screen(qtbot):
    """Beside the first, but not beyond the lower edge of a low screen."""
    windows = Windows()
    first, second = windows.open(), windows.open()
    room = first.screen().availableGeometry()
    assert second.frameGeometry().bottom() <= room.bottom()
    assert second.frameGeometry().right() <= room.right()
    assert second.pos() != first.pos() or second.height() + 32 > room.height()
    windows.quit()


def test_all_panes_fit_a_low_screen(hand):
    """Operation below, a requirement's form beside: the window need not be over 740 high."""
    window = hand.window
    window.resize(1280, 740)
    step = next(action for action in window.menus.work.actions if "Step" in action.text())
    step.trigger()
    hand.qtbot.waitUntil(window.operation_dock.isVisible)
    window.docks[4].raise_()
    window.requirements_pane.new_button.click()
    window.requirements_pane.chooser.chosen.emit("reaches")
    hand.qtbot.wait(50)
    assert window.minimumSizeHint().height() <= 740
    assert window.height() == 740
    assert window.docks[1].height() >= 84


def test_legend_is_small_where_the_canvas_is_low(hand):
    """On a low canvas the whole legend would lie over parts; its ramp alone stays."""
    window = hand.window
    window.files.open(str(SAMPLES[0]))
    hand.settled()
    hand.qtbot.waitUntil(window.legend.isVisible)
    window.resize(1280, 900)
    hand.qtbot.waitUntil(lambda: window.canvas.height() > 560)
    usual = window.legend.size()
    window.resize(1280, 560)
    hand.qtbot.waitUntil(lambda: window.canvas.height() < 520)
    small = window.legend.size()
    assert small.width() * small.height() < 0.5 * usual.width() * usual.height()
    assert window.canvas.rect().contains(window.legend.geometry())


def test_panes_keep_their_shares_from_start_to_start(qtbot):
    """What the borders were drawn to holds at the next start, and at the one after it."""

    def started():
        window = MainWindow()
        with qtbot.waitExposed(window):
            window.show()
        window.files.open(str(SAMPLES[0]))
        qtbot.wait(50)
        return window

    def end(window):
        with qtbot.waitSignal(window.destroyed, timeout=5000):
            window.close()

    def heights(window):
        return [dock.height() for dock in window.docks[1:3]]

    window = started()
    window.resizeDocks(window.docks[1:3], [250, 450], Qt.Orientation.Vertical)
    qtbot.wait(50)
    chosen = heights(window)
    assert chosen[0] < chosen[1]
    for _ in range(2):
        end(window)
        window = started()
        assert heights(window) == pytest.approx(chosen, abs=2)
        assert all(dock.isVisible() for dock in window.docks[:3])
        assert not any(dock.isVisible() for dock in window.bottom_docks)
    end(window)
