"""The pane Findings: what is wrong, how it is mended, and where."""

from types import SimpleNamespace

import pytest
from PySide6.QtCore import QSize, Qt
from PySide6.QtGui import QUndoStack

from analysis.checks import CheckResult
from analysis.circuit import Circuit
from analysis.findings import Finding, Verdict
from editor.live_analysis import LiveAnalysis
from editor.panes.finding_entries import entries, summary
from editor.panes.findings_pane import ENTRY_ROLE, FindingsPane
from editor.panes.pictures import mark_picture
from editor.selection import Selection


@pytest.fixture
def desk(qtbot):
    """A cylinder without lines, a requirement, and the pane."""
    made = SimpleNamespace()
    made.circuit = Circuit()
    made.circuit.add("cylinder", id="1A1", name="Idle jack")
    made.circuit.requirements = [
        {"name": "The pump moves it", "kind": "reaches", "from": ["1A1"], "targets": ["1A1.cap"]}
    ]
    made.selection = Selection(made.circuit)
    made.live = LiveAnalysis(made.circuit)
    made.stack = QUndoStack()
    made.pane = FindingsPane(made.circuit, made.live, made.selection, made.stack)
    qtbot.addWidget(made.pane)
    made.pane.resize(380, 500)
    with qtbot.waitExposed(made.pane):
        made.pane.show()
    qtbot.waitUntil(lambda: made.live.check is not None, timeout=20000)
    yield made
    made.live.close()


def test_findings_and_verdicts_stand_in_order_of_gravity(desk):
    """What fails and errors first; each with its message and mend."""
    marks = [entry.mark for entry in desk.pane.model.entries]
    order = ["fails", "error", "warning", "note", "holds"]
    assert marks == sorted(marks, key=order.index)
    assert "error" in marks and ("fails" in marks or "holds" in marks)
    error = desk.pane.model.entries[marks.index("error")]
    assert "1A1" in error.message and error.mend


def test_a_click_selects_and_shows_the_subject(desk, qtbot):
    """The part is selected and the sheet is asked to bring it into view."""
    revealed = []
    desk.selection.reveal_requested.connect(revealed.append)
    row = [entry.mark for entry in desk.pane.model.entries].index("error")
    index = desk.pane.model.index(row)
    at = desk.pane.list.visualRect(index).center()
    qtbot.mouseClick(desk.pane.list.viewport(), Qt.MouseButton.LeftButton, pos=at)
    assert desk.selection.ids() == ("1A1",)
    assert revealed == ["1A1"]


def test_findings_go_when_the_fault_is_mended(desk, qtbot):
    """An empty circuit has nothing to mend, and the pane says what is checked."""
    desk.circuit.set_field("", "requirements", [])
    desk.circuit.remove("1A1")
    qtbot.waitUntil(lambda: desk.pane.model.entries == [], timeout=20000)
    assert desk.pane.empty.isVisible()
    assert "Nothing to mend" in desk.pane.empty.text()
    assert "actuators that no source reaches" in desk.pane.empty.text()


def test_a_long_message_is_shown_whole(desk):
    """A row is as high as its wrapped text: narrower means higher."""
    index = desk.pane.model.index(0)
    wide = desk.pane.list.sizeHintForIndex(index).height()
    desk.pane.resize(220, 500)
    assert desk.pane.list.sizeHintForIndex(index).height() > wide


def test_every_row_can_be_read_aloud(desk):
    """The gravity is in words too, for those who do not see the mark."""
    text = desk.pane.model.index(0).data(Qt.ItemDataRole.AccessibleTextRole)
    assert text.startswith(("Error", "Requirement fails"))
    assert desk.pane.model.index(0).data(ENTRY_ROLE).message in text


def test_marks_differ_by_shape_and_not_only_by_colour(qapp):
    """Their silhouettes differ pairwise by more than a few pixels."""
    shapes = {}
    for mark in ("error", "warning", "note", "waived", "holds"):
        image = mark_picture(mark, 32).toImage()
        shapes[mark] = {
            (x, y) for x in range(32) for y in range(32) if image.pixelColor(x, y).alpha() > 128
        }
    names = list(shapes)
    for number, one in enumerate(names):
        for other in names[number + 1 :]:
            assert len(shapes[one] ^ shapes[other]) > 20, (one, other)
    assert mark_picture("fails", 32).size() == QSize(32, 32)


def test_the_summary_counts():
    """Singular and plural, findings and requirements."""
    finding = Finding("r", "error", ("1A1",), "m", "n")
    note = Finding("r", "note", ("1A1",), "m", "n")
    result = CheckResult((finding, note, note), (Verdict("x", True, ""), Verdict("y", False, "")))
    assert summary(result) == "1 error, 2 notes · 1 of 2 requirements holds"
    assert [entry.mark for entry in entries(result)] == ["fails", "error", "note", "note", "holds"]
    assert summary(CheckResult((), ())) == "No findings"
