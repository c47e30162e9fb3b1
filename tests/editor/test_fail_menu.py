"""What If This Fails: asked of a part or line on the sheet, without the table of failures."""

import pytest
from PySide6.QtCore import QPoint, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from analysis.circuit import LINE_FAULTS
from analysis.failure_modes import with_failure
from analysis.readings import readings
from tests.editor.canvas_helpers import LEFT
from tests.editor.test_what_if import checked, open_press


@pytest.fixture
def hand(qtbot):
    """A window on the small press; the pane Failures is out of sight."""
    made = open_press(qtbot)
    made.window.failures_dock.hide()
    made.menu = made.window.menus.work.fail_menu
    QApplication.processEvents()
    made.canvas.fit()
    return made


def right_click(hand, at):
    """A real right click, which opens the menu."""
    place = hand.canvas.viewport().mapTo(hand.window, hand.pixel(at))
    QTest.mouseClick(
        hand.window.windowHandle(), Qt.MouseButton.RightButton, pos=QPoint(place.x(), place.y())
    )
    menu = hand.canvas.context_menu
    hand.qtbot.waitUntil(menu.isVisible)
    return menu


def choose(hand, menu, mode):
    """Open the submenu by the mouse and click the mode in it."""
    entry = menu.actionGeometry(hand.menu.menuAction()).center()
    hand.qtbot.mouseMove(menu, entry)
    hand.qtbot.mouseClick(menu, LEFT, pos=entry)
    hand.qtbot.waitUntil(hand.menu.isVisible)
    action = next(a for a in hand.menu.actions() if a.text() == mode)
    hand.qtbot.mouseClick(hand.menu, LEFT, pos=hand.menu.actionGeometry(action).center())


def offered(hand):
    """The texts of the submenu."""
    return [action.text() for action in hand.menu.actions()]


def test_a_right_click_on_a_part_offers_its_failure_modes(hand):
    """The pump's own; the one that is chosen is looked at, and nothing is worked out."""
    before = hand.text()
    menu = right_click(hand, hand.circuit.components["0P1"].at)
    assert offered(hand)[0] == "No output"
    assert len(offered(hand)) == len(hand.circuit.components["0P1"].declared.faults)
    choose(hand, menu, "No output")
    assert hand.what_if.failure == ("0P1", "no_output")
    checked(hand)
    assert hand.banner.headline.text().startswith("What if: ")
    assert "No output".lower() in hand.banner.headline.text()
    assert not hand.window.live.check.requirements[0].holds
    assert hand.pane.table is None and not hand.window.failures_dock.isVisible()
    assert hand.text() == before and hand.stack.count() == 0
    hand.key(Qt.Key.Key_Escape)
    assert not hand.what_if.active


def test_a_right_click_on_a_line_offers_those_of_lines(hand):
    """Where it runs between two parts."""
    points = hand.canvas.sheet.lines["L5"].points
    (x1, y1), (x2, y2) = points[0], points[1]
    menu = right_click(hand, ((x1 + x2) / 2, (y1 + y2) / 2))
    assert hand.window.selection.ids() == ("L5",)
    assert offered(hand) == [mode.capitalize().replace("_", " ") for mode in LINE_FAULTS]
    choose(hand, menu, "Ruptured")
    assert hand.what_if.failure == ("L5", "ruptured")
    checked(hand)
    assert hand.canvas.sheet.lines["L5"].fault == "ruptured"


def test_what_is_drawn_so_is_not_offered_again(hand):
    """The line is blocked on the drawing: that is no question any more."""
    hand.window.selection.set(["L5"])
    hand.circuit.set_value("L5", "fault", "blocked", state=True)
    enabled = {a.text(): a.isEnabled() for a in hand.menu.actions()}
    assert enabled["Blocked"] is False and enabled["Ruptured"] is True


@pytest.mark.parametrize("chosen", [(), ("0P1", "0V1")])
def test_one_part_is_asked_about(hand, chosen):
    """Nothing and several cannot fail: one failure at a time."""
    hand.window.selection.set(["0P1"])
    assert hand.menu.menuAction().isEnabled()
    hand.window.selection.set(chosen)
    assert not hand.menu.menuAction().isEnabled() and offered(hand) == []


def test_from_one_failure_to_the_next(hand):
    """Asked again while one is looked at, and of the drawing, not of the one before."""
    menu = right_click(hand, hand.circuit.components["0P1"].at)
    choose(hand, menu, "No output")
    checked(hand)
    menu = right_click(hand, hand.circuit.components["0V1"].at)
    choose(hand, menu, "Stuck closed")
    assert hand.what_if.failure == ("0V1", "stuck_closed")
    checked(hand)
    # the pump runs: it is the failure of the relief valve alone
    running = readings(with_failure(hand.circuit, hand.what_if.failure)).pressures["0P1.outlet"]
    assert running > 1e5
    assert hand.window.live.readings.pressures["0P1.outlet"] == pytest.approx(running, rel=1e-3)


def test_a_table_of_an_earlier_drawing_is_not_quoted(hand):
    """The pane is out of sight and has not noticed the change; the band must not believe it."""
    hand.pane.start_or_cancel()
    hand.qtbot.waitUntil(lambda: hand.pane.table is not None, timeout=60000)
    hand.pane.ask_what_if(hand.pane.view.failures.rows[0].failure)
    assert hand.what_if.case is not None
    hand.what_if.leave()
    hand.circuit.set_value("0P1", "speed", "900 rpm")
    hand.pane.ask_what_if(hand.pane.view.failures.rows[0].failure)
    assert hand.what_if.case is None


def test_not_offered_in_the_students_view(hand):
    """Who looks for a hidden fault shall find it by the symptoms."""
    hand.window.selection.set(["0P1"])
    hand.window.menus.work.student_view.hide()
    hand.window.selection.set(["0P1"])
    assert not hand.menu.menuAction().isEnabled()
    hand.window.menus.work.student_view.reveal()
    assert hand.menu.menuAction().isEnabled()


def test_a_lever_is_offered_where_there_is_one(hand):
    """On the pump and the valve, and not on the cylinder or a line; its key stays."""
    lever = hand.window.menus.named["Work Lever or Switch"]
    places = {i: c.at for i, c in hand.circuit.components.items()}
    offers = {}
    for identifier in ("0P1", "1V1", "1A1", "1V1"):
        menu = right_click(hand, places[identifier])
        offers.setdefault(identifier, []).append(
            next(a.text() for a in menu.actions() if a.isVisible())
        )
        menu.close()
        assert hand.window.selection.ids() == (identifier,)
    words = lever.text()
    assert offers == {"0P1": [words], "1V1": [words, words], "1A1": ["Tu&rn"]}
    assert lever.isVisible()
    hand.window.selection.set(["1A1", "1V1"])
    menu = right_click(hand, places["1A1"])
    assert lever in menu.actions()
    menu.close()
