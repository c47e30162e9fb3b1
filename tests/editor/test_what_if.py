"""The sheet with one failure in: shown, named, left, and the drawing untouched throughout."""

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication

from analysis.errors import CircuitError
from analysis.failure_modes import Failure, find_failures
from analysis.readings import readings
from editor.single_failures.words import failure_words
from editor.undo_commands import SetValue, push
from tests.editor.canvas_helpers import open_window
from tests.editor.test_failures_pane import click_row, row_of, work_out
from tests.support.small_press import small_press

LEFT = Qt.MouseButton.LeftButton


@pytest.fixture
def hand(qtbot):
    """A window on the small press."""
    return open_press(qtbot)


def open_press(qtbot):
    """A window on the small press, the pane Failures shown, nothing worked out."""
    made = open_window(qtbot)
    made.circuit.replace_with(small_press())
    made.pane, made.what_if = made.window.failures_pane, made.window.what_if
    made.view, made.banner = made.pane.view, made.window.what_if_banner
    qtbot.keyClick(made.window, Qt.Key.Key_F9)
    checked(made)
    # once the panes have taken their places, so that every test begins with the whole drawing
    QApplication.processEvents()
    made.window.canvas.fit()
    return made


def checked(hand):
    """Wait until readings and findings are there, of what is shown."""
    live = hand.window.live
    hand.qtbot.waitUntil(
        lambda: live.is_current and live.is_check_current and live.check is not None
        and live.readings is not None,
        timeout=20000,
    )  # fmt: skip


def ask(hand, subject, mode):
    """Go to a row and press Enter there."""
    click_row(hand, row_of(hand, subject, mode))
    hand.qtbot.keyClick(hand.view, Qt.Key.Key_Return)
    assert hand.what_if.active
    checked(hand)


def test_the_sheet_shows_the_failed_circuit_and_the_drawing_stays(hand):
    """Readings, findings and words on the sheet are those of the failed circuit."""
    before, stack, revision = hand.text(), hand.stack.count(), hand.circuit.revision
    live = hand.window.live
    whole = live.readings.pressures["1A1.cap"]
    findings = [f.rule for f in live.check.findings]
    ask(hand, "L5", "ruptured")
    failed = small_press()
    failed.set_value("L5", "fault", "ruptured", state=True)
    wanted = readings(failed).pressures
    assert live.readings.pressures["1A1.cap"] == pytest.approx(wanted["1A1.cap"], abs=1.0)
    assert live.readings.pressures["1A1.cap"] != pytest.approx(whole, rel=0.1)
    assert not live.check.requirements[0].holds
    assert [f.rule for f in live.check.findings] != findings
    assert hand.canvas.sheet.lines["L5"].fault == "ruptured"
    assert hand.banner.isVisible()
    assert hand.banner.headline.text() == (
        "What if: line L5 ruptured. Nothing in the drawing is changed."
    )
    assert hand.banner.effect.text().startswith("Lost: “The pump drives the ram out”.")
    assert "Procedures are judged only" in hand.banner.effect.text()
    assert hand.window.selection.ids() == ("L5",)
    assert (hand.text(), hand.stack.count(), hand.circuit.revision) == (before, stack, revision)


@pytest.mark.parametrize("way", ["escape on the table", "escape on the sheet", "button"])
def test_it_is_left_by_escape_or_button_and_all_is_as_before(hand, way):
    """Readings, findings, words on the sheet, the place it is seen from."""
    live = hand.window.live
    pressures = dict(live.readings.pressures)
    findings = live.check.findings
    place = hand.canvas.transform(), hand.canvas.to_viewport((0, 0))
    ask(hand, "0P1", "no_output")
    if way == "button":
        hand.qtbot.mouseClick(hand.banner.back, LEFT)
    elif way == "escape on the sheet":
        hand.key(Qt.Key.Key_Escape)
    else:
        hand.qtbot.keyClick(hand.view, Qt.Key.Key_Escape)
    assert not hand.what_if.active and not hand.banner.isVisible()
    checked(hand)
    assert live.readings.pressures == pytest.approx(pressures)
    assert live.check.findings == findings
    assert hand.canvas.sheet.lines["L5"].fault == ""
    assert hand.canvas.transform() == place[0]
    gap = hand.canvas.to_viewport((0, 0)) - place[1]
    assert gap.manhattanLength() <= 2


def test_the_table_tells_what_the_procedures_lose(hand):
    """Worked out, the band names lost and degraded functions without a word of doubt."""
    work_out(hand)
    ask(hand, "0V1", "stuck_open")
    assert hand.banner.effect.text() == "Degraded: “Press once”."
    ask(hand, "1A1", "stuck")
    assert hand.banner.effect.text() == "Lost: “Press once”."
    ask(hand, "L4", "blocked")
    assert hand.banner.effect.text() == "It costs no requirement and no procedure."


def test_nothing_is_edited_while_a_failure_is_looked_at(hand):
    """Not by keys, drags, clicks on levers, menus, the form or the shelf; but it is selected."""
    push(hand.stack, SetValue(hand.circuit, "0P1", "speed", "900 rpm"))
    checked(hand)
    before = hand.text()
    ask(hand, "L1", "blocked")
    window, named = hand.window, hand.window.menus.named
    x, y = hand.circuit.components["0P1"].at
    hand.click((x, y))
    assert window.selection.ids() == ("0P1",)
    hand.click((x, y))  # would stop the pump
    hand.drag((x, y), (x + 6, y))
    for key in (Qt.Key.Key_Right, Qt.Key.Key_R, Qt.Key.Key_Delete, Qt.Key.Key_L):
        hand.key(key)
    for key in (Qt.Key.Key_Z, Qt.Key.Key_D, Qt.Key.Key_X):
        hand.control(key)
    hand.drag(hand.port("1A1.cap"), hand.port("0V1.inlet"))  # would draw a line
    assert hand.text() == before and hand.what_if.active
    assert not window.form.isEnabled() and not window.shelf.isEnabled()
    assert not named["Undo"].isEnabled() and not named["Delete"].isEnabled()
    findings, waivers = window.findings_pane, window.findings_pane.waivers
    row = next(n for n, e in enumerate(findings.model.entries) if e.finding and e.subjects)
    findings.list.setCurrentIndex(findings.model.index(row))
    assert not waivers.waive.isEnabled() and "not of the drawing" in waivers.waive.toolTip()
    window.document.changed.emit()  # as when the file is saved meanwhile
    QApplication.processEvents()
    assert not named["Delete"].isEnabled() and not named["Undo"].isEnabled()
    hand.key(Qt.Key.Key_Escape)
    assert named["Undo"].isEnabled() and named["Delete"].isEnabled()
    assert not named["Redo"].isEnabled()
    assert window.form.isEnabled() and window.shelf.isEnabled()
    checked(hand)
    row = next(n for n, e in enumerate(findings.model.entries) if e.finding and e.subjects)
    findings.list.setCurrentIndex(findings.model.index(row))
    assert waivers.waive.isEnabled()
    hand.control(Qt.Key.Key_Z)
    assert hand.circuit.components["0P1"].settings.get("speed") != "900 rpm"


def test_a_change_from_elsewhere_leads_back_and_says_so(hand):
    """What is shown must never pass for the changed drawing."""
    ask(hand, "L1", "blocked")
    hand.circuit.set_value("0P1", "speed", "900 rpm")
    assert not hand.what_if.active
    assert "drawing was changed" in hand.window.status.hint.text()
    checked(hand)
    assert "fault" not in hand.circuit.lines["L1"].state


def test_the_circuit_at_work_takes_its_place(hand):
    """The clock begins from the drawing, and shows it; a failure ends the work."""
    ask(hand, "L5", "ruptured")
    hand.window.operation.step(0.05)
    assert not hand.what_if.active
    assert hand.window.live.readings is hand.window.operation.readings
    assert hand.canvas.sheet.lines["L5"].fault == ""
    hand.what_if.show(Failure("L5", "ruptured"))
    assert not hand.window.operation.active and hand.what_if.active
    checked(hand)
    assert hand.canvas.sheet.lines["L5"].fault == "ruptured"


def test_one_failure_after_another(hand):
    """Each is of the drawing, never of the one before."""
    ask(hand, "L5", "ruptured")
    ask(hand, "L2", "blocked")
    assert hand.canvas.sheet.lines["L5"].fault == ""
    assert hand.canvas.sheet.lines["L2"].fault == "blocked"
    assert hand.banner.headline.text().startswith("What if: line L2 blocked.")


def test_a_stuck_lever_is_moved_by_no_requirement(hand):
    """What a requirement would set stays where it is drawn, as in the table."""
    hand.circuit.set_value("1V1", "position", "right", state=True)
    checked(hand)
    assert hand.window.live.check.requirements[0].holds
    ask(hand, "1V1", "stuck")
    assert not hand.window.live.check.requirements[0].holds
    assert hand.banner.effect.text().startswith("Lost: “The pump drives the ram out”.")


def test_a_computation_of_the_drawing_that_ends_late_is_not_shown(hand):
    """One that was begun before the failure was asked for must not take its place."""
    live = hand.window.live
    ask(hand, "0P1", "no_output")
    shown, found = live.readings, live.check
    ended = []
    for job in (live._readings_job, live._check_job):
        job.finished.connect(lambda *_outcome: ended.append(1))
        job.start()
    hand.qtbot.waitUntil(lambda: len(ended) == 2, timeout=20000)
    assert live.readings is shown and live.check is found
    live._start_readings()
    assert not live._readings_job.busy and len(ended) == 2  # none are needed meanwhile


def test_asked_before_the_drawing_is_checked_the_band_waits_for_it(hand):
    """What a failure changes is known once both are."""
    live = hand.window.live
    live.own_check = None
    ask(hand, "0P1", "no_output")
    assert hand.banner.effect.text() == "Judging the requirements …"
    live.recompute()
    hand.qtbot.waitUntil(
        lambda: hand.banner.effect.text().startswith("Lost: “The pump drives the ram out”."),
        timeout=20000,
    )
    assert live.check is not live.own_check


def test_what_is_gone_cannot_fail(hand):
    """The row of a part that was deleted meanwhile is refused in one line."""
    work_out(hand)
    hand.circuit.remove("0V1")
    hand.qtbot.waitUntil(lambda: not hand.pane._soon.isActive())
    click_row(hand, row_of(hand, "0V1", "stuck_open"))
    hand.qtbot.keyClick(hand.view, Qt.Key.Key_Return)
    assert not hand.what_if.active
    assert "0V1" in hand.window.status.hint.text()
    with pytest.raises(CircuitError):
        hand.what_if.show(Failure("0V1", "stuck_open"))


def test_every_failure_of_the_press_can_be_looked_at(hand):
    """None of them breaks the view, and the drawing is the same at the end."""
    before = hand.text()
    for failure in find_failures(hand.circuit):
        hand.what_if.show(failure)
        checked(hand)
    hand.what_if.leave()
    assert hand.text() == before


def test_failures_in_words():
    """Adjectives follow the part, nouns stand behind a colon."""
    circuit = small_press()
    assert failure_words(circuit, Failure("L7", "ruptured")) == "line L7 ruptured"
    words = failure_words(circuit, Failure("0P1", "no_output"))
    assert words.endswith(" 0P1 (Bench pump): no output") and words[0].islower()
    assert failure_words(circuit, Failure("gone", "stuck")) == "gone stuck"
