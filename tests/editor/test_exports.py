"""The sheet and the report written from the File menu: the same bytes as by the commands."""

from pathlib import Path

import pytest
from PySide6.QtWidgets import QFileDialog, QMessageBox

from analysis.circuit_file import read_circuit
from editor.sheet_export import sheet_bytes
from tests.editor.canvas_helpers import open_window

SAMPLE = Path(__file__).parents[2] / "sample_circuits" / "bench_press.circuit.json"


@pytest.fixture
def window(qtbot):
    """A window with the bench press."""
    hand = open_window(qtbot)
    hand.window.files.open(str(SAMPLE))
    return hand.window


def choose(monkeypatch, path, form=""):
    """Answer the dialog that asks for a file; returns what it proposed."""
    proposed = []
    monkeypatch.setattr(
        QFileDialog, "getSaveFileName", lambda *a: proposed.append(a[2]) or (str(path), form)
    )
    return proposed


@pytest.mark.parametrize("form", ["pdf", "svg", "png"])
def test_drawing_is_the_one_of_the_command(window, tmp_path, monkeypatch, form):
    """The ending that was typed says the form."""
    out = tmp_path / f"sheet.{form}"
    proposed = choose(monkeypatch, out)
    window.menus.named["Export Drawing"].trigger()
    assert out.read_bytes() == sheet_bytes(read_circuit(SAMPLE), form)
    assert proposed == [str(SAMPLE.parent / "bench_press.pdf")]
    assert str(out) in window.status.hint.text()


def test_form_chosen_in_the_dialog_counts_without_an_ending(window, tmp_path, monkeypatch):
    """A name without an ending gets that of the chosen form."""
    choose(monkeypatch, tmp_path / "sheet", "SVG (*.svg)")
    window.menus.named["Export Drawing"].trigger()
    assert (tmp_path / "sheet.svg").read_bytes().startswith(b"<?xml")


def test_what_cannot_be_written_is_told_in_one_line(window, tmp_path, monkeypatch):
    """No file, no traceback; and giving up the dialog writes nothing."""
    told = []
    monkeypatch.setattr(QMessageBox, "warning", lambda _parent, _title, line: told.append(line))
    choose(monkeypatch, tmp_path / "missing" / "sheet.pdf")
    window.menus.named["Export Drawing"].trigger()
    assert len(told) == 1 and "cannot be written" in told[0]
    choose(monkeypatch, tmp_path / "missing" / "report.pdf")
    window.menus.exports._write_report(with_runs=False)
    assert len(told) == 2 and "there is no such folder" in told[1]
    assert not window.menus.exports.report_bar.run.running
    choose(monkeypatch, "")
    window.menus.named["Export Drawing"].trigger()
    assert not [path for path in tmp_path.iterdir() if path.is_file()]


def test_nothing_can_be_exported_while_nothing_is_open(qtbot):
    """On the start page both are greyed."""
    window = open_window(qtbot).window
    window.files.close()
    assert not window.menus.named["Export Drawing"].isEnabled()
    assert not window.menus.named["Export Report"].isEnabled()
