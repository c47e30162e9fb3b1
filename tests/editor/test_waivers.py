"""Waiving a finding from the pane, withdrawing it, and undoing both."""

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication, QToolButton

from analysis.circuit_file import circuit_text
from editor.documents import settings
from editor.panes.findings_pane import ENTRY_ROLE
from tests.editor.canvas_helpers import open_window

LEFT = Qt.MouseButton.LeftButton


@pytest.fixture
def hand(qtbot):
    """A window on a cylinder without lines, its findings shown."""
    made = open_window(qtbot)
    made.circuit.add("cylinder", id="1A1", at=(20, 20), name="Idle jack")
    made.window.docks[3].show()
    made.window.docks[3].raise_()
    made.pane = made.window.findings_pane
    checked(made)
    return made


def checked(hand):
    """Wait until the findings are those of the circuit as it is."""
    live = hand.window.live
    hand.qtbot.waitUntil(lambda: live.is_check_current and live.check is not None, timeout=20000)


def go_to(hand, rule):
    """Click the first finding of a rule."""
    rows = hand.pane.model.entries
    row = next(n for n, e in enumerate(rows) if e.finding and e.finding.rule == rule)
    at = hand.pane.list.visualRect(hand.pane.model.index(row)).center()
    hand.qtbot.mouseClick(hand.pane.list.viewport(), LEFT, pos=at)


def button(hand, action):
    """The button of an action under the list."""
    found = hand.pane.waivers.buttons.findChildren(QToolButton)
    return next(b for b in found if b.defaultAction() is action)


def answer(hand, reason, by, date=""):
    """Press the button, type into the dialog that opens, press Enter there."""
    hand.qtbot.mouseClick(button(hand, hand.pane.waivers.waive), LEFT)
    dialog = hand.pane.waivers.dialog
    assert not dialog.waive.isEnabled()
    hand.qtbot.keyClicks(dialog.reason, reason)
    dialog.by.clear()
    hand.qtbot.keyClicks(dialog.by, by)
    dialog.date.setText(date)
    hand.qtbot.mouseClick(dialog.waive, LEFT)


def current(hand):
    """The entry that is current in the list."""
    return hand.pane.list.currentIndex().data(ENTRY_ROLE)


def test_a_finding_is_waived_undone_and_withdrawn(hand):
    """With a reason and a name; it stays in the list, marked in words, and stays current."""
    before = circuit_text(hand.circuit)
    count = len(hand.pane.model.entries)
    go_to(hand, "unreachable_actuator")
    message = current(hand).message
    answer(hand, "a bare bench", "A. Fitter")
    assert hand.circuit.components["1A1"].waivers == [
        {"rule": "unreachable_actuator", "reason": "a bare bench", "by": "A. Fitter"}
    ]
    checked(hand)
    entry = current(hand)
    assert (entry.mark, entry.message) == ("waived", message)
    assert entry.heading == "Unreachable actuator (waived error)"
    assert entry.mend == "Waived by A. Fitter: a bare bench"
    assert len(hand.pane.model.entries) == count
    assert "waived: 1 error" in hand.pane.summary.text()
    spoken = hand.pane.list.currentIndex().data(Qt.ItemDataRole.AccessibleTextRole)
    assert spoken.startswith("Waived: ")
    after = circuit_text(hand.circuit)

    assert hand.stack.undoText() == "Waive unreachable actuator on 1A1"
    hand.stack.undo()
    assert circuit_text(hand.circuit) == before
    hand.stack.redo()
    assert circuit_text(hand.circuit) == after
    checked(hand)
    go_to(hand, "unreachable_actuator")
    hand.qtbot.mouseClick(button(hand, hand.pane.waivers.withdraw), LEFT)
    assert circuit_text(hand.circuit) == before
    checked(hand)
    assert current(hand).mark == "error"


def test_nothing_is_waived_without_a_reason_and_a_name(hand):
    """The button says what is missing, blanks do not count, and Escape changes nothing."""
    before = circuit_text(hand.circuit)
    go_to(hand, "unreachable_actuator")
    hand.qtbot.mouseClick(button(hand, hand.pane.waivers.waive), LEFT)
    dialog = hand.pane.waivers.dialog
    assert dialog.missing.text() == "Still needed: a reason and the name of who waives it."
    hand.qtbot.keyClicks(dialog.reason, "  ")
    assert not dialog.waive.isEnabled()
    hand.qtbot.keyClicks(dialog.reason, "because")
    assert dialog.missing.text() == "Still needed: the name of who waives it."
    assert not dialog.waive.isEnabled()
    hand.qtbot.keyClick(dialog.by, Qt.Key.Key_Escape)
    assert hand.pane.waivers.dialog is None
    assert circuit_text(hand.circuit) == before and hand.stack.count() == 0


def test_the_name_is_remembered_and_the_date_kept(hand):
    """The same person need not type it twice."""
    go_to(hand, "unreachable_actuator")
    answer(hand, "a bare bench", "A. Fitter", "1951-03-02")
    assert settings().value("waiver/by") == "A. Fitter"
    checked(hand)
    assert current(hand).mend == "Waived by A. Fitter, 1951-03-02: a bare bench"
    go_to(hand, "unconnected_port")
    hand.qtbot.mouseClick(button(hand, hand.pane.waivers.waive), LEFT)
    assert hand.pane.waivers.dialog.by.text() == "A. Fitter"
    hand.qtbot.keyClick(hand.pane.waivers.dialog, Qt.Key.Key_Escape)


def test_what_cannot_be_waived_says_so(hand):
    """A finding of the whole circuit, and a requirement."""
    waivers = hand.pane.waivers
    assert not waivers.waive.isEnabled() and waivers.waive.toolTip() == "Select a finding first"
    hand.circuit.fluid = {"kind": "no such liquid"}
    hand.window.live.recompute()

    def rules():
        return [e.finding.rule for e in hand.pane.model.entries if e.finding]

    hand.qtbot.waitUntil(lambda: "unknown_liquid" in rules())
    go_to(hand, "unknown_liquid")
    assert not waivers.waive.isEnabled() and "as a whole" in waivers.waive.toolTip()
    go_to(hand, "unconnected_port")
    assert waivers.waive.isEnabled() and not waivers.withdraw.isEnabled()


def test_a_waiver_whose_finding_is_gone_is_withdrawn_in_the_form(hand):
    """The form of the part lists it with a button."""
    signed = {"rule": "no_filter", "reason": "as drawn", "by": "A. Fitter"}
    hand.circuit.set_field("1A1", "waivers", [signed])
    hand.window.selection.set(("1A1",))
    form = hand.window.form

    def listed():
        return [w for w in form.widget().children() if type(w).__name__ == "WaiverList"]

    hand.qtbot.waitUntil(lambda: len(listed()) == 1)
    hand.qtbot.mouseClick(listed()[0].buttons["no_filter"], LEFT)
    assert hand.circuit.components["1A1"].waivers == []
    hand.qtbot.waitUntil(lambda: listed() == [])
    hand.stack.undo()
    hand.qtbot.waitUntil(lambda: len(listed()) == 1)
    assert QApplication.activeModalWidget() is None
