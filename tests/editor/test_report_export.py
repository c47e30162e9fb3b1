"""File, Export Report: written in the background, given up without a trace, failures as chosen."""

import subprocess
import sys

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication, QMessageBox

from analysis.circuit_file import write_circuit
from editor import report_bar as report_bar_module
from editor.command_line import main
from editor.report_options import ReportOptions
from editor.undo_commands import SetField, SetValue, push
from tests.editor.canvas_helpers import LEFT, open_window
from tests.editor.test_exports import choose
from tests.editor.test_failures_pane import work_out
from tests.editor.test_main_window import answer
from tests.support.small_press import small_press

WAIT = 60_000


@pytest.fixture
def hand(qtbot, tmp_path):
    """A window on the small press, from a file."""
    path = tmp_path / "press.circuit.json"
    write_circuit(small_press(), path)
    made = open_window(qtbot)
    made.window.files.open(str(path))
    made.pane, made.bar = made.window.failures_pane, made.window.menus.exports.report_bar
    made.settled()
    return made


def options_of(hand):
    """Ask for a report by the menu; the question about failures, which is open then."""
    hand.window.menus.named["Export Report"].trigger()
    options = hand.window.findChild(ReportOptions)
    hand.qtbot.waitUntil(options.isVisible)
    return options


def begin(hand, *, with_runs=False):
    """Answer the question and begin to write; the file was chosen beforehand."""
    options = options_of(hand)
    assert options.at_once.isChecked()
    if with_runs:
        hand.qtbot.mouseClick(options.with_runs, LEFT)
        assert options.with_runs.isChecked()
    hand.qtbot.mouseClick(options.go_on, LEFT)
    assert hand.bar.run.running


def written(hand):
    """Wait until it is written, or not."""
    hand.qtbot.waitUntil(lambda: not hand.bar.run.running, timeout=WAIT)
    return hand.bar.words.toolTip()


def well_written(hand):
    """Wait until it is written, and say so if it is not."""
    written(hand)
    return hand.bar.words.text().startswith("Report written: ")


def left_in(folder):
    """What lies in a folder besides the circuit and the settings."""
    return sorted(p.name for p in folder.iterdir() if p.suffix not in (".json",) and p.is_file())


@pytest.mark.parametrize(("form", "with_runs"), [("pdf", False), ("html", False), ("html", True)])
def test_the_report_is_the_one_of_the_command(hand, tmp_path, monkeypatch, form, with_runs):
    """The same bytes, with the single failures in the procedures and without."""
    out, by_command = tmp_path / f"window.{form}", tmp_path / f"command.{form}"
    proposed = choose(monkeypatch, out)
    begin(hand, with_runs=with_runs)
    assert hand.bar.isVisible() and hand.bar.button.text() == "Cancel"
    assert written(hand) == str(out)
    assert hand.bar.words.text() == f"Report written: {out.name}"
    assert proposed == [str(tmp_path / "press-report.pdf")]
    # in a process of its own, as it is used: the order of fonts in a PDF hangs on how it starts
    asked = ["report", hand.window.document.path, "--to", str(by_command)]
    asked += ["--failures"] if with_runs else []
    subprocess.run([sys.executable, "-m", "editor", *asked], check=True)
    assert out.read_bytes() == by_command.read_bytes()
    hand.qtbot.mouseClick(hand.bar.button, LEFT)
    assert not hand.bar.isVisible()


def test_failures_in_the_procedures_are_there_when_they_are_chosen(hand, tmp_path, monkeypatch):
    """The failures stand in the report either way, and it says what they were tried in."""
    for with_runs in (False, True):
        out = tmp_path / f"runs {with_runs}.html"
        choose(monkeypatch, out)
        begin(hand, with_runs=with_runs)
        written(hand)
        page = out.read_text(encoding="utf-8")
        assert "not worked out for this report" not in page
        left_out = "The procedures were not run with the failures" in page
        assert left_out == (not with_runs)
        assert ("looked at, against the requirements only" in page) == (not with_runs)


def test_the_window_stays_usable_meanwhile(hand, tmp_path, monkeypatch):
    """A part is placed and undone while it is written; the report is of the circuit before."""
    out = tmp_path / "report.html"
    choose(monkeypatch, out)
    begin(hand, with_runs=True)
    assert not hand.window.menus.named["Export Report"].isEnabled()
    hand.canvas.start_placing("cylinder")
    hand.click((30, 30))
    assert "2A1" in hand.circuit or "0A1" in hand.circuit
    assert hand.bar.run.running and not out.exists()
    assert well_written(hand)
    assert hand.window.menus.named["Export Report"].isEnabled()
    placed = next(i for i in hand.circuit.components if i.endswith("A1") and i != "1A1")
    assert f">{placed}<" not in out.read_text(encoding="utf-8")


def test_cancelled_nothing_is_written_and_nothing_runs_on(hand, tmp_path, monkeypatch):
    """An older report stays as it was, byte for byte; the process is ended."""
    out = tmp_path / "report.pdf"
    out.write_bytes(b"older")
    choose(monkeypatch, out)
    begin(hand, with_runs=True)
    apart = hand.bar.run._apart
    hand.qtbot.waitUntil(lambda: apart._process is not None, timeout=WAIT)
    process = apart._process
    hand.qtbot.mouseClick(hand.bar.button, LEFT)
    assert not hand.bar.run.running
    assert hand.bar.words.text() == "Cancelled: no report is written"
    hand.qtbot.waitUntil(lambda: process.poll() is not None, timeout=WAIT)
    assert out.read_bytes() == b"older" and left_in(tmp_path) == ["report.pdf"]
    assert hand.window.menus.named["Export Report"].isEnabled()


def test_closing_the_window_asks_and_ends_it(hand, tmp_path, monkeypatch):
    """Kept open, it goes on; closed, no process outlives the window, and no file is there."""
    hand.window.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose, False)
    choose(monkeypatch, tmp_path / "report.pdf")
    begin(hand, with_runs=True)
    apart = hand.bar.run._apart
    asked = answer(monkeypatch, QMessageBox.StandardButton.No)
    assert not hand.window.close()
    assert asked == ["report.pdf is still being written. Close without it?"]
    assert hand.bar.run.running
    answer(monkeypatch, QMessageBox.StandardButton.Yes)
    assert hand.window.close()
    assert not apart._thread.is_alive()
    assert apart._process is None or apart._process.poll() is not None
    assert not left_in(tmp_path)


def test_what_goes_wrong_is_told_in_one_line_and_no_file_is_left(hand, tmp_path, monkeypatch):
    """A liquid outside its table; and a folder that goes away while it is written."""
    gone = tmp_path / "gone"
    gone.mkdir()
    choose(monkeypatch, gone / "report.html")
    begin(hand)
    gone.rmdir()
    told = written(hand)
    assert told.startswith("No report is written: report.html cannot be written: ")
    push(hand.stack, SetField(hand.circuit, "", "fluid", {"temperature": "400 degC"}))
    choose(monkeypatch, tmp_path / "report.html")
    begin(hand)
    told = written(hand)
    assert told.startswith("No report is written: ") and "\n" not in told
    assert "Traceback" not in told and "degC" in told
    assert not left_in(tmp_path)


def test_a_table_that_is_there_is_not_worked_out_again(hand, tmp_path, monkeypatch):
    """That of the pane Failures is taken, unless the circuit has changed since."""
    hand.qtbot.keyClick(hand.window, Qt.Key.Key_F9)
    hand.qtbot.waitUntil(hand.pane.run_button.isEnabled)
    work_out(hand)
    handed = []
    made = report_bar_module.ReportBar.write
    monkeypatch.setattr(
        report_bar_module.ReportBar,
        "write",
        lambda bar, path, make: handed.append(make.keywords["table"]) or made(bar, path, make),
    )
    for with_runs in (True, False):
        choose(monkeypatch, tmp_path / f"{with_runs}.html")
        begin(hand, with_runs=with_runs)
        written(hand)
    push(hand.stack, SetValue(hand.circuit, "1A1", "load", "200 lbf"))
    choose(monkeypatch, tmp_path / "later.html")
    begin(hand, with_runs=True)
    written(hand)
    assert handed == [hand.pane.table, None, None]
    by_command = tmp_path / "command.html"
    hand.stack.undo()
    assert main(["report", hand.window.document.path, "--to", str(by_command), "--failures"]) == 0
    assert (tmp_path / "True.html").read_bytes() == by_command.read_bytes()


def test_without_procedures_there_is_nothing_to_ask(hand, tmp_path, monkeypatch):
    """Everything is judged at once, and the file is asked for straight away."""
    push(hand.stack, SetField(hand.circuit, "", "procedures", []))
    out = tmp_path / "report.html"
    choose(monkeypatch, out)
    hand.window.menus.named["Export Report"].trigger()
    assert hand.window.findChild(ReportOptions) is None
    assert well_written(hand)


def test_enter_goes_on_with_what_is_proposed(hand, tmp_path, monkeypatch):
    """And what is proposed is named as it is: without requirements there is nothing to try."""
    push(hand.stack, SetField(hand.circuit, "", "requirements", []))
    out = tmp_path / "report.html"
    choose(monkeypatch, out)
    options = options_of(hand)
    assert "left out" in options.at_once.text()
    hand.qtbot.keyClick(options.focusWidget(), Qt.Key.Key_Return)
    assert well_written(hand)
    assert "not worked out for this report" in out.read_text(encoding="utf-8")


def test_the_question_given_up_writes_nothing(hand, tmp_path):
    """Escape closes it; no file is asked for."""
    options = options_of(hand)
    hand.qtbot.keyClick(options, Qt.Key.Key_Escape)
    hand.qtbot.waitUntil(lambda: hand.window.findChild(ReportOptions) is None)
    assert not hand.bar.run.running and not left_in(tmp_path)


def test_a_long_outcome_does_not_push_the_window_wider(hand, tmp_path, monkeypatch):
    """A window of 800 pixels stays so; the whole name stands in the tip."""
    hand.window.resize(800, 600)
    hand.qtbot.waitUntil(lambda: hand.window.width() == 800)
    out = tmp_path / f"{'long_' * 20}.html"
    choose(monkeypatch, out)
    begin(hand)
    assert written(hand) == str(out)
    hand.qtbot.waitUntil(hand.bar.isVisible)
    QApplication.processEvents()
    assert hand.window.width() == 800 and hand.window.minimumSizeHint().width() <= 800


def test_the_students_view_offers_no_export(hand):
    """A report names the faults; it is offered again when they are revealed."""
    named = hand.window.menus.named
    hand.window.menus.work.student_view.hide()
    assert not named["Export Report"].isEnabled() and not named["Export Drawing"].isEnabled()
    hand.bar.changed.emit()
    hand.window.document.changed.emit()
    QApplication.processEvents()
    assert not named["Export Report"].isEnabled() and not named["Export Drawing"].isEnabled()
    hand.window.menus.work.student_view.reveal()
    assert named["Export Report"].isEnabled() and named["Export Drawing"].isEnabled()
