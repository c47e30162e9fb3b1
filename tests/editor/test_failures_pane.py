"""The pane Failures: worked out in the background, asked, linked with the sheet, exported."""

import csv
import io
from time import perf_counter

import pytest
from PySide6.QtCore import QPoint, Qt, QTimer
from PySide6.QtWidgets import QFileDialog

from editor.single_failures.failure_rows import FailureRow, rows_of
from editor.single_failures.failures_pane import NO_FUNCTIONS, NOT_YET, NOTHING_DRAWN, STALE
from editor.undo_commands import SetField, SetValue, push
from tests.editor.canvas_helpers import open_window
from tests.support.small_press import small_press

LEFT = Qt.MouseButton.LeftButton
HORIZONTAL = Qt.Orientation.Horizontal


@pytest.fixture
def hand(qtbot):
    """A window on the small press, the pane Failures shown by its key."""
    made = open_window(qtbot)
    made.circuit.replace_with(small_press())
    made.pane = made.window.failures_pane
    made.view = made.pane.view
    qtbot.keyClick(made.window, Qt.Key.Key_F9)
    assert made.window.failures_dock.isVisible()
    made.settled()
    return made


def work_out(hand):
    """Press the button and wait for the table."""
    hand.qtbot.mouseClick(hand.pane.run_button, LEFT)
    assert hand.pane.run.running
    hand.qtbot.waitUntil(lambda: not hand.pane.run.running, timeout=60000)
    assert hand.pane.table is not None, hand.pane.status.text()


def row_of(hand, subject, mode):
    """The number of a row among those shown."""
    rows = hand.view.shown_rows()
    return next(n for n, row in enumerate(rows) if row.failure == (subject, mode))


def click_row(hand, number):
    """Click a row of the table."""
    index = hand.view.order.index(number, 2)
    hand.view.scrollTo(index)
    hand.qtbot.mouseClick(hand.view.viewport(), LEFT, pos=hand.view.visualRect(index).center())


def check_box(hand, box):
    """Click a check box where its mark is."""
    hand.qtbot.mouseClick(box, LEFT, pos=QPoint(8, box.height() // 2))


def cells(hand, subject, mode):
    """What a row shows."""
    number = row_of(hand, subject, mode)
    return [hand.view.order.index(number, column).data() for column in range(6)]


def test_before_it_is_worked_out_every_failure_is_listed(hand):
    """Without a claim, and the pane says what to do."""
    assert hand.pane.status.text() == NOT_YET
    assert cells(hand, "L1", "ruptured") == [
        "L1", "suction line 0Z1.supply to 0P1.inlet", "ruptured", "",
        "not worked out", "not worked out",
    ]  # fmt: skip
    assert not hand.pane.export_button.isEnabled() and not hand.pane.costly.isEnabled()
    assert hand.pane.run_button.text() == "Work Out Failures"


def test_worked_out_it_shows_what_is_lost_and_by_how_much_degraded(hand):
    """Lost functions, degraded ones with their delay, single points in words; with progress."""
    shares = []
    hand.pane.run.progressed.connect(shares.append)
    work_out(hand)
    assert shares and shares[-1] == 1.0
    lost = cells(hand, "0P1", "no_output")
    assert lost[3:] == ["◆ single point", "The pump drives the ram out; Press once", "—"]
    slowed = cells(hand, "0V1", "stuck_open")
    assert slowed[3:5] == ["", "—"]
    assert slowed[5].startswith("Press once (met after about ") and slowed[5].endswith(" s)")
    assert hand.pane.status.text().startswith("35 failures judged: 14 cost a function, 1 only")
    assert hand.pane.run_button.text() == "Work Out Again"
    click_row(hand, row_of(hand, "0P1", "no_output"))
    said = hand.pane.details.toPlainText()
    assert "0P1 is a single point of failure by this failure." in said
    assert "1A1.extension at least 1.9 in by 5 s" in hand.pane.details.toPlainText()


def test_the_mark_of_a_single_point_tells_by_which_failure(hand):
    """The part is one, though the failure of the row may cost nothing."""
    work_out(hand)
    table, role = hand.pane.table, Qt.ItemDataRole.ToolTipRole
    lost = {(case.subject, case.mode): bool(case.lost) for case in table.cases}
    assert lost["0P1", "no_output"] and not lost["0P1", "external_leak"]
    assert cells(hand, "0P1", "external_leak")[3:] == ["◇ by another failure", "—", "—"]
    told = {"no_output": "by this failure",
            "external_leak": "by another of its failures, not by this one"}  # fmt: skip
    for mode, how in told.items():
        number = row_of(hand, "0P1", mode)
        words = f"0P1 is a single point of failure {how}."
        assert hand.view.order.index(number, 3).data(role) == words
        click_row(hand, number)
        assert hand.pane.details.toPlainText().endswith(words)
    assert "another of its failures (◇)" in hand.view.order.headerData(3, HORIZONTAL, role)
    assert "no more digits than are known" in hand.view.order.headerData(5, HORIZONTAL, role)
    assert hand.view.order.headerData(0, HORIZONTAL, role) is None
    hand.view.sortByColumn(3, Qt.SortOrder.AscendingOrder)
    marks = [row.cells()[3][:1] or "-" for row in hand.view.shown_rows()]
    assert set(marks) == set("◆◇-") and marks == sorted(marks, key="◆◇-".index)


def test_the_pointer_never_waits_while_it_is_worked_out(hand):
    """The event loop goes round all the while; the longest gap is far below a second."""
    timer, gaps, last = QTimer(), [], [perf_counter()]

    def tick():
        now = perf_counter()
        gaps.append(now - last[0])
        last[0] = now

    timer.timeout.connect(tick)
    timer.start(5)
    last[0] = perf_counter()
    work_out(hand)
    timer.stop()
    assert len(gaps) > 20
    assert max(gaps) < 0.5


def test_it_is_given_up_at_once_and_leaves_what_there_was(hand):
    """The same button cancels; the rows are as before, and it can be begun anew."""
    hand.qtbot.mouseClick(hand.pane.run_button, LEFT)
    assert hand.pane.run_button.text() == "Cancel" and hand.pane.progress.isVisible()
    hand.qtbot.mouseClick(hand.pane.run_button, LEFT)
    assert not hand.pane.run.running and hand.pane.table is None
    assert hand.pane.status.text() == NOT_YET and not hand.pane.progress.isVisible()
    work_out(hand)


def test_an_edit_makes_it_stale_and_undo_fresh_again(hand):
    """Whatever bears on functions does, where a part is drawn does not."""
    work_out(hand)
    push(hand.stack, SetField(hand.circuit, "1A1", "at", (60, 4)))
    push(hand.stack, SetField(hand.circuit, "1A1", "name", "Other ram"))
    hand.qtbot.waitUntil(lambda: cells(hand, "1A1", "stuck")[1] == "Other ram")
    assert STALE not in hand.pane.status.text()
    push(hand.stack, SetValue(hand.circuit, "0P1", "speed", "900 rpm"))
    hand.qtbot.waitUntil(lambda: STALE in hand.pane.status.text())
    font = hand.view.order.index(0, 0).data(Qt.ItemDataRole.FontRole)
    assert font is not None and font.italic()
    click_row(hand, 0)
    assert hand.pane.details.toPlainText().startswith(STALE)
    hand.stack.undo()
    hand.qtbot.waitUntil(lambda: STALE not in hand.pane.status.text())
    assert hand.view.order.index(0, 0).data(Qt.ItemDataRole.FontRole) is None
    push(hand.stack, SetValue(hand.circuit, "1V1", "position", "centre", state=True))
    hand.qtbot.waitUntil(lambda: STALE in hand.pane.status.text())
    hand.stack.undo()
    hand.qtbot.waitUntil(lambda: STALE not in hand.pane.status.text())
    hand.circuit.remove("0V1")
    hand.qtbot.waitUntil(lambda: STALE in hand.pane.status.text())
    assert cells(hand, "0V1", "stuck_open")[1] == "no longer in the drawing"


def test_rows_and_sheet_select_each_other(hand):
    """A row selects its part; a part its rows; and one row stays one row."""
    click_row(hand, row_of(hand, "L2", "blocked"))
    assert hand.window.selection.ids() == ("L2",)
    assert [i.row() for i in hand.view.selectionModel().selectedRows()] == [
        row_of(hand, "L2", "blocked")
    ]
    hand.window.selection.set(("0P1",))
    chosen = {hand.view.shown_rows()[i.row()].failure.subject
              for i in hand.view.selectionModel().selectedRows()}  # fmt: skip
    assert chosen == {"0P1"}
    assert len(hand.view.selectionModel().selectedRows()) == 3
    hand.window.selection.clear()
    assert not hand.view.selectionModel().selectedRows()


def test_the_table_is_asked_by_words_function_cost_and_selection(hand):
    """Each alone and together; what is selected on the sheet stays selected."""
    work_out(hand)
    hand.window.selection.set(("1A1",))
    hand.qtbot.keyClicks(hand.pane.search, "l1 rup")
    assert [row.failure for row in hand.view.shown_rows()] == [("L1", "ruptured")]
    assert hand.window.selection.ids() == ("1A1",)
    hand.pane.search.clear()
    check_box(hand, hand.pane.costly)
    assert len(hand.view.shown_rows()) == 15
    assert all(row.costs for row in hand.view.shown_rows())
    hand.pane.function.setFocus()
    hand.qtbot.keyClick(hand.pane.function, Qt.Key.Key_Down)
    assert hand.pane.function.currentText() == "The pump drives the ram out"
    shown = hand.view.shown_rows()
    assert 0 < len(shown) < 15
    assert all("The pump drives the ram out" in row.lost for row in shown)
    hand.qtbot.keyClick(hand.pane.function, Qt.Key.Key_Up)
    check_box(hand, hand.pane.selected_only)
    assert [row.failure for row in hand.view.shown_rows()] == [("1A1", "stuck")]
    check_box(hand, hand.pane.costly)
    assert len(hand.view.shown_rows()) > 1
    hand.window.selection.set(("L1",))
    assert {row.failure.subject for row in hand.view.shown_rows()} == {"L1"}


def test_the_table_is_sorted_by_its_headings(hand):
    """Most lost functions first; a third click gives the order of the file."""
    work_out(hand)
    header = hand.view.horizontalHeader()
    in_file = [row.failure for row in hand.view.shown_rows()]

    def click_heading(column):
        x = header.sectionViewportPosition(column) + 10
        hand.qtbot.mouseClick(header.viewport(), LEFT, pos=QPoint(x, header.height() // 2))

    click_heading(4)
    counts = [len(row.lost) for row in hand.view.shown_rows()]
    assert counts == sorted(counts, reverse=True) and counts[0] == 2
    click_heading(4)
    assert [len(row.lost) for row in hand.view.shown_rows()] == counts[::-1]
    click_heading(4)
    assert [row.failure for row in hand.view.shown_rows()] == in_file


def test_what_is_shown_is_exported(hand, tmp_path, monkeypatch):
    """The rows as asked for, with reasons; what looks like a formula is neutralised."""
    hand.circuit.set_field("0P1", "name", "=pump")
    work_out(hand)
    check_box(hand, hand.pane.costly)
    path = tmp_path / "failures.csv"
    monkeypatch.setattr(QFileDialog, "getSaveFileName", lambda *_a, **_k: (str(path), ""))
    hand.qtbot.mouseClick(hand.pane.export_button, LEFT)
    rows = list(csv.DictReader(io.StringIO(path.read_text(encoding="utf-8"))))
    assert len(rows) == 15
    assert rows[0]["part"] == "0P1" and rows[0]["name"] == "'=pump"
    assert rows[0]["failure"] == "no_output" and rows[0]["single_point"] == "yes"
    assert rows[0]["lost"] == "The pump drives the ram out; Press once"
    slowed = next(row for row in rows if row["degraded"])
    assert slowed["lost"] == "" and "met after" in slowed["reasons"]
    missing = tmp_path / "gone" / "failures.csv"
    monkeypatch.setattr(QFileDialog, "getSaveFileName", lambda *_a, **_k: (str(missing), ""))
    hand.qtbot.mouseClick(hand.pane.export_button, LEFT)
    assert "cannot be written" in hand.window.status.hint.text()


def test_empty_states_say_what_to_do(hand):
    """Nothing drawn; nothing that could be lost."""
    hand.circuit.set_field("", "procedures", [])
    hand.circuit.set_field("", "requirements", [])
    hand.qtbot.waitUntil(lambda: hand.pane.status.text() == NO_FUNCTIONS)
    assert not hand.pane.run_button.isEnabled()
    click_row(hand, 0)
    assert hand.pane.what_if_button.isEnabled()
    hand.window.document.stack.setClean()
    hand.window.document.new()
    hand.qtbot.waitUntil(lambda: hand.pane.status.text() == NOTHING_DRAWN)
    assert not hand.pane.run_button.isEnabled() and hand.view.shown_rows() == []


def test_what_a_given_up_computation_still_tells_is_not_heard(hand):
    """It may be on its way when it is given up."""
    hand.qtbot.mouseClick(hand.pane.run_button, LEFT)
    old = hand.pane.run._number
    hand.qtbot.mouseClick(hand.pane.run_button, LEFT)
    hand.qtbot.mouseClick(hand.pane.run_button, LEFT)
    hand.pane.run._told.emit(old, "problem", "of the old one")
    hand.pane.run._told.emit(old, "progress", 0.9)
    assert hand.pane.run.running and hand.pane.progress.value() < 900
    assert "old one" not in hand.pane.status.text()


def test_another_circuit_ends_what_is_worked_out(hand):
    """Its table would be of no use; nothing of the last one is left."""
    work_out(hand)
    hand.qtbot.mouseClick(hand.pane.run_button, LEFT)
    hand.circuit.replace_with(small_press())
    assert not hand.pane.run.running
    hand.qtbot.waitUntil(lambda: hand.pane.status.text() == NOT_YET)
    assert not any(row.known for row in hand.view.shown_rows())


def test_a_window_that_closes_ends_the_computation(hand):
    """No process is left working for nobody."""
    hand.qtbot.mouseClick(hand.pane.run_button, LEFT)
    apart = hand.pane.run._apart
    hand.stack.setClean()
    # so that it can be asked afterwards
    hand.window.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose, False)
    hand.window.close()
    assert not hand.pane.run.running and not apart._thread.is_alive()


def test_the_student_view_hides_the_pane(hand):
    """What a failure would cost, and the sheet with it, would give the fault away."""
    window = hand.window
    window.what_if.show(hand.view.shown_rows()[0].failure)
    window.menus.work.student_view.hide()
    assert not window.what_if.active and not window.failures_dock.isVisible()
    hand.qtbot.keyClick(window, Qt.Key.Key_F9)
    assert not window.failures_dock.isVisible()
    window.menus.work.student_view.reveal()
    assert window.failures_dock.isVisible()


def test_rows_know_how_much_a_function_is_slowed():
    """By the last part of the reason; without one, the name alone."""
    circuit = small_press()
    row = rows_of(circuit, None)[0]
    assert not row.known and not row.costs
    slowed = FailureRow(
        row.failure, "x", (), ("Gear down",),
        {"Gear down": "1A1 by 9 s: met after about 8 s, not 3 s"},
        known=True,
    )  # fmt: skip
    assert slowed.cells()[5] == "Gear down (met after about 8 s, not 3 s)"
    assert FailureRow(row.failure, "x", (), ("F",), known=True).cells()[5] == "F"
