"""Judge Now: a `survives` requirement worked out on demand, its verdict kept while it is true."""

import pytest
from PySide6.QtCore import QPoint, Qt

from analysis.checks import check
from editor.requirements import survival_bar
from editor.requirements.survival import GIVEN_UP
from editor.undo_commands import SetFields, SetValue, push
from tests.editor.canvas_helpers import LEFT, open_window
from tests.support.small_press import small_press

FRAGILE = {"name": "Presses whatever fails", "kind": "survives", "procedure": "Press once"}
TOUGH = {
    "name": "Presses with a leaking seat",
    "kind": "survives",
    "procedure": "Press once",
    "failures": [["0V1", "stuck_closed"]],
}


@pytest.fixture
def hand(qtbot):
    """A window on the small press with two such requirements, the pane in front, checked."""
    made = open_window(qtbot)
    circuit = small_press()
    circuit.requirements += [FRAGILE, TOUGH]
    made.circuit.replace_with(circuit)
    made.pane, made.live = made.window.requirements_pane, made.window.live
    made.bar = made.pane.survival_bar
    made.window.docks[4].raise_()
    checked(made)
    return made


def checked(hand):
    """Wait until the verdicts belong to the circuit as it is."""
    hand.qtbot.waitUntil(
        lambda: hand.live.check is not None and hand.live.is_check_current, timeout=20000
    )


def choose(hand, row):
    """Click a row of the list."""
    view, index = hand.pane.list, hand.pane.model.index(row)
    view.scrollTo(index)
    at = view.visualRect(index).topLeft() + QPoint(40, 12)
    hand.qtbot.mouseClick(view.viewport(), LEFT, pos=at)


def press(hand):
    """Click the button."""
    hand.qtbot.mouseClick(hand.bar.button, LEFT)


def judge(hand, row):
    """Ask for a verdict and wait for it."""
    choose(hand, row)
    press(hand)
    assert hand.pane.survival.running
    hand.qtbot.waitUntil(lambda: not hand.pane.survival.running, timeout=60000)


def marks(hand):
    """How the verdicts stand in the list."""
    return [entry.mark for entry in hand.pane.model.entries]


def test_the_verdict_is_that_of_the_full_check(hand):
    """One that fails, one that holds; in the pane, among the findings, and in the counts."""
    assert marks(hand) == ["holds", "open", "open"]
    assert hand.pane.model.entries[1].message == survival_bar.JUDGE_NOW
    full = check(hand.circuit).requirements
    assert (full[1].holds, full[2].holds) == (False, True)
    judge(hand, 1)
    judge(hand, 2)
    assert hand.live.check.requirements == full
    assert marks(hand) == ["holds", "fails", "holds"]
    assert hand.pane.model.entries[1].message == full[1].message
    assert hand.pane.summary.text() == "2 of 3 hold, 1 does not"
    found = hand.window.findings_pane.model.entries
    assert [e.heading for e in found if e.mark == "fails"] == [FRAGILE["name"]]
    assert hand.stack.count() == 0


def test_progress_is_shown_and_rises(hand):
    """The bar is there while it runs, and the row says that it is being judged."""
    shares = []
    hand.pane.survival.progressed.connect(lambda share: shares.append(share))
    assert not hand.bar.progress.isVisible() and hand.bar.button.text() == "Judge Now"
    choose(hand, 1)
    press(hand)
    assert hand.bar.progress.isVisible() and hand.bar.button.text() == "Cancel"
    assert hand.pane.model.entries[1].message == survival_bar.BEING_TRIED
    assert hand.pane.model.entries[2].message == survival_bar.JUDGE_NOW
    hand.qtbot.waitUntil(lambda: not hand.pane.survival.running, timeout=60000)
    assert len(shares) > 2 and shares == sorted(shares) and shares[-1] == 1.0
    assert not hand.bar.progress.isVisible() and hand.bar.button.text() == "Judge Now"


def test_it_can_be_given_up(hand):
    """It is open again, and nothing is told later."""
    choose(hand, 1)
    press(hand)
    press(hand)
    assert not hand.pane.survival.running
    assert marks(hand) == ["holds", "open", "open"]
    assert hand.pane.model.entries[1].message == survival_bar.JUDGE_NOW
    hand.qtbot.wait(300)
    assert marks(hand)[1] == "open"


def test_a_change_of_the_circuit_opens_it_again_and_undo_brings_the_verdict_back(hand):
    """A verdict belongs to the circuit that was judged, and to no other."""
    judge(hand, 2)
    assert marks(hand)[2] == "holds"
    push(hand.stack, SetValue(hand.circuit, "0P1", "speed", "900 rpm"))
    checked(hand)
    assert marks(hand)[2] == "open"
    hand.stack.undo()
    checked(hand)
    assert marks(hand)[2] == "holds"


def test_what_no_run_hangs_on_leaves_the_verdict(hand):
    """Moving a symbol, and rewriting another requirement."""
    judge(hand, 2)
    push(hand.stack, SetFields(hand.circuit, "Move", [("0P1", "at", (24, 40))]))
    push(hand.stack, SetFields(hand.circuit, "Name", [("0P1", "name", "Another name")]))
    changed = [{**hand.circuit.requirements[0], "name": "Out"}, FRAGILE, TOUGH]
    push(hand.stack, SetFields(hand.circuit, "Change", [("", "requirements", changed)]))
    checked(hand)
    assert marks(hand) == ["holds", "open", "holds"]
    weaker = [changed[0], FRAGILE, {**TOUGH, "failures": ["0P1"]}]
    push(hand.stack, SetFields(hand.circuit, "Change", [("", "requirements", weaker)]))
    checked(hand)
    assert marks(hand)[2] == "open"


def test_a_change_meanwhile_gives_it_up_and_says_so(hand):
    """The verdict would be of a circuit that is not there any more."""
    choose(hand, 1)
    press(hand)
    push(hand.stack, SetFields(hand.circuit, "Move", [("0P1", "at", (24, 40))]))
    assert hand.pane.survival.running
    push(hand.stack, SetValue(hand.circuit, "0P1", "speed", "900 rpm"))
    assert not hand.pane.survival.running
    assert hand.window.status.hint.text() == GIVEN_UP


def test_it_is_offered_for_what_is_open_and_chosen_only(hand):
    """Not for a requirement that follows every change, and not where there is none."""
    assert hand.bar.isVisible() and not hand.bar.button.isEnabled()
    choose(hand, 0)
    assert not hand.bar.button.isEnabled()
    choose(hand, 1)
    assert hand.bar.button.isEnabled()
    hand.bar.button.setFocus()
    hand.qtbot.keyClick(hand.bar.button, Qt.Key.Key_Space)
    assert hand.pane.survival.running
    hand.pane.survival.cancel()
    judge(hand, 2)
    assert not hand.bar.button.isEnabled()  # there is nothing open about it
    plain = [hand.circuit.requirements[0]]
    push(hand.stack, SetFields(hand.circuit, "Delete", [("", "requirements", plain)]))
    assert not hand.bar.isVisible()


def test_what_cannot_be_read_is_told_as_a_verdict(hand):
    """A procedure that is gone: the full check says the same."""
    broken = [hand.circuit.requirements[0], {**FRAGILE, "procedure": "Gone"}, TOUGH]
    push(hand.stack, SetFields(hand.circuit, "Change", [("", "requirements", broken)]))
    checked(hand)
    judge(hand, 1)
    assert marks(hand)[1] == "fails"
    assert "Gone" in hand.pane.model.entries[1].message


def test_a_window_that_closes_meanwhile_waits_for_nothing(hand):
    """The process ends with the window; the suite fails on a thread that is left."""
    choose(hand, 1)
    press(hand)
    assert hand.pane.survival.running
    hand.pane.close_jobs()
    assert not hand.pane.survival.running
    hand.qtbot.wait(100)
    assert marks(hand)[1] == "open"
