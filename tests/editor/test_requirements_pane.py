"""Requirements in the window: picked by mouse and keys, kept, undone, their ways shown."""

from pathlib import Path

import pytest
from PySide6.QtCore import QPoint, Qt
from PySide6.QtTest import QTest

import editor
from analysis import read_circuit
from analysis.circuit_file import circuit_text
from analysis.findings import Verdict
from editor.panes.finding_entries import verdict_mark
from editor.requirements.requirement_edits import tidied
from tests.editor.canvas_helpers import Hand, open_window

SAMPLE = Path(editor.__file__).parent.parent / "sample_circuits" / "emergency_pump.circuit.json"
LEFT, RIGHT = Qt.MouseButton.LeftButton, Qt.MouseButton.RightButton


class Reviewer(Hand):
    """A hand that also works the pane Requirements."""

    @property
    def pane(self):
        return self.window.requirements_pane

    @property
    def form(self):
        return self.pane.form

    @property
    def ways(self):
        return self.window.ways

    def press_button(self, button) -> None:
        self.qtbot.mouseClick(button, LEFT)

    def judged(self) -> None:
        """Wait until the verdicts belong to the circuit as it is."""
        live = self.window.live
        self.qtbot.waitUntil(
            lambda: live.check is not None and live.is_check_current, timeout=20000
        )

    def choose(self, row: int) -> None:
        """Click a row of the list."""
        index = self.pane.model.index(row)
        self.pane.list.scrollTo(index)
        at = self.pane.list.visualRect(index).topLeft() + QPoint(40, 12)
        self.qtbot.mouseClick(self.pane.list.viewport(), LEFT, pos=at)

    def middle(self, identifier: str) -> tuple[float, float]:
        x, y = self.canvas.sheet.place_of(self.circuit.components[identifier])
        return x, y

    def draft_verdict(self) -> str:
        """What the form says once the draft is judged."""
        self.qtbot.waitUntil(lambda: self.form.outcome.text().startswith(("✔", "✖")), timeout=20000)
        return self.form.outcome.text()


@pytest.fixture
def reviewer(qtbot):
    """The emergency sample in a window, the pane in front."""
    hand = open_window(qtbot)
    window = hand.window
    window.document.open(str(SAMPLE))
    window.docks[4].raise_()
    made = Reviewer(qtbot, window)
    qtbot.waitUntil(made.pane.isVisible)
    made.canvas.fit()
    made.judged()
    qtbot.waitUntil(lambda: len(window.live.check.requirements) == 7)
    return made


def marks(reviewer) -> list[str]:
    """The marks of the list, row by row."""
    return [entry.mark for entry in reviewer.pane.model.entries]


def test_verdicts_are_listed_and_a_way_is_shown_and_put_away(reviewer):
    """A click draws the way and explains it in words; Escape on the sheet takes it away."""
    assert marks(reviewer) == ["holds"] * 7
    assert not reviewer.ways.item.isVisible()
    reviewer.choose(0)
    assert reviewer.ways.item.isVisible()
    assert [way.sense for way in reviewer.ways.shown.ways].count("return") == 2
    legend = reviewer.ways.legend
    assert legend.isVisible() and legend.outcome == "✔ holds"
    assert legend.rows() == ["way that proves it, in this order", "way back to a reservoir"]
    reviewer.key(Qt.Key.Key_Escape)
    assert not reviewer.ways.item.isVisible() and not legend.isVisible()
    assert reviewer.pane.chosen == -1
    reviewer.choose(0)
    reviewer.qtbot.keyClick(reviewer.pane.list, Qt.Key.Key_Escape)
    assert not reviewer.ways.item.isVisible()


def test_the_way_lies_on_the_lines_it_names(reviewer):
    """The band covers the middle of every line of the way, and no other line of the sheet."""
    from editor.canvas.way_paths import drawn

    reviewer.choose(5)
    sheet, found = reviewer.canvas.sheet, reviewer.ways.shown
    bands = drawn(sheet, reviewer.circuit, found).bands
    on_ways = {line for way in found.ways for line in way.elements[1::2]}
    assert on_ways
    for identifier, item in sheet.lines.items():
        at = item.middle()
        near = any(_covers(band, at) for band in bands.values())
        assert near == (identifier in on_ways), identifier


def _covers(band, at) -> bool:
    from PySide6.QtGui import QPainterPathStroker

    stroker = QPainterPathStroker()
    stroker.setWidth(4)
    return stroker.createStroke(band).contains(at)


def test_a_way_out_of_sight_is_brought_into_view(reviewer):
    """Zoomed in elsewhere, a click and an arrow key show the whole way; what is seen stays."""
    canvas = reviewer.canvas
    reviewer.choose(0)
    whole = canvas.transform().m11()
    reviewer.choose(1)
    assert canvas.transform().m11() == whole
    for go in (lambda: reviewer.choose(0), lambda: reviewer.qtbot.keyClick(
            reviewer.pane.list, Qt.Key.Key_Down)):  # fmt: skip
        canvas.zoom(4.0)
        canvas.centerOn(0, 0)
        go()
        seen = canvas.mapToScene(canvas.viewport().rect()).boundingRect()
        assert seen.contains(reviewer.ways.item.sceneBoundingRect().adjusted(50, 50, -50, -50))


def test_a_requirement_is_written_by_picking_and_undone(reviewer):
    """Kind, pump, two ports, levers from the sheet; the file is as before after one undo."""
    before = reviewer.text()
    # the emergency selector, worked on the sheet first: the requirement takes it from there
    for valve in ("2V1", "2V2"):
        reviewer.canvas.selection.set([valve])
        reviewer.key(Qt.Key.Key_L)
    moved = reviewer.text()
    reviewer.press_button(reviewer.pane.new_button)
    reviewer.press_button(reviewer.pane.chooser.buttons["reaches_only"])
    assert reviewer.form.is_picking
    reviewer.click(reviewer.middle("2P1"))
    assert reviewer.form.fields["from"].picked == ["2P1"]
    # a valve is no supply: it is said, and nothing is picked
    reviewer.click(reviewer.middle("2Z2"))
    assert reviewer.form.fields["from"].picked == ["2P1"]
    reviewer.press_button(reviewer.form.fields["from"].pick_button)
    # what is needed next is asked for at once
    assert reviewer.form.fields["targets"].pick_button.text() == "Done"
    for port in ("1A1.cap", "3A1.cap", "1A2.cap", "3A1.cap"):
        reviewer.click(reviewer.port(port))
    assert reviewer.form.fields["targets"].picked == ["1A1.cap", "1A2.cap"]
    reviewer.press_button(reviewer.form.fields["targets"].pick_button)
    assert not reviewer.form.is_picking
    assert reviewer.text() == moved
    assert reviewer.draft_verdict().startswith("✔ holds")
    assert reviewer.ways.item.isVisible()
    reviewer.press_button(reviewer.form.keep_button)
    made = reviewer.circuit.requirements[-1]
    assert made == {
        "name": "Emergency hand pump reaches Left main gear cylinder (cap) and "
        "Right main gear cylinder (cap) and nothing else",
        "kind": "reaches_only",
        "from": ["2P1"],
        "set": {
            "0V8": {"position": "SHUT"},
            "1V1": {"position": "DOWN"},
            "2V1": {"position": "EMERGENCY"},
            "2V2": {"position": "EMERGENCY"},
            "3V1": {"position": "HOLD"},
        },
        "targets": ["1A1.cap", "1A2.cap"],
    }
    reviewer.judged()
    assert marks(reviewer) == ["holds"] * 8 and reviewer.pane.chosen == 7
    after = reviewer.text()
    reviewer.control(Qt.Key.Key_Z)
    assert reviewer.text() == moved
    reviewer.stack.redo()
    assert reviewer.text() == after
    for _ in range(3):
        reviewer.stack.undo()
    assert reviewer.text() == before


def test_what_is_kept_reads_back_from_the_file(reviewer, tmp_path):
    """Written, read and written again: the same bytes."""
    reviewer.pane.begin("reaches_none")
    reviewer.click(reviewer.middle("2P1"))
    reviewer.press_button(reviewer.form.fields["from"].pick_button)
    reviewer.click(reviewer.port("3A1.cap"))
    reviewer.press_button(reviewer.form.keep_button)
    path = tmp_path / "kept.circuit.json"
    path.write_text(reviewer.text(), encoding="utf-8")
    again = read_circuit(path)
    assert circuit_text(again) == reviewer.text()
    assert again.requirements[-1]["targets"] == ["3A1.cap"]


def test_escape_gives_up_what_was_picked(reviewer):
    """The field is as it was before picking began, all is drawn fully again; Escape leaves."""
    before = reviewer.text()
    reviewer.pane.begin("reaches")
    reviewer.click(reviewer.middle("2P1"))
    faint = reviewer.canvas.sheet.lines["L1"]
    assert faint.opacity() < 0.5 and reviewer.canvas.sheet.components["0P1"].opacity() == 1.0
    reviewer.key(Qt.Key.Key_Escape)
    assert reviewer.form.fields["from"].picked == [] and not reviewer.form.is_picking
    assert faint.opacity() == 1.0
    reviewer.qtbot.keyClick(reviewer.form, Qt.Key.Key_Escape)
    assert reviewer.pane.pages.currentIndex() == 0
    assert reviewer.text() == before and not reviewer.stack.canUndo()


def test_picking_by_keys(reviewer):
    """Arrow keys go from pump to pump, Enter picks and takes back, Delete takes out of the list."""
    reviewer.pane.begin("reaches")
    for _ in range(3):
        reviewer.key(Qt.Key.Key_Right)
        reviewer.key(Qt.Key.Key_Return)
    assert set(reviewer.form.fields["from"].picked) == {"0P1", "0P2", "2P1"}
    reviewer.key(Qt.Key.Key_Return)
    assert len(reviewer.form.fields["from"].picked) == 2
    names = reviewer.form.fields["from"].list
    names.setCurrentRow(0)
    names.setFocus()
    reviewer.qtbot.keyClick(names, Qt.Key.Key_Delete)
    (kept,) = reviewer.form.fields["from"].picked
    # what was taken out of the list is not picked on the sheet any more either
    reviewer.click(reviewer.middle(next(p for p in ("0P1", "0P2") if p != kept)))
    assert len(reviewer.form.fields["from"].picked) == 2
    reviewer.key(Qt.Key.Key_Escape)


def test_a_right_click_is_done(reviewer):
    """What is picked is kept, no menu opens, the next pick begins."""
    reviewer.pane.begin("reaches")
    reviewer.click(reviewer.middle("0P1"))
    pixel = reviewer.pixel(reviewer.middle("0P1"))
    reviewer.qtbot.mouseClick(reviewer.canvas.viewport(), RIGHT, pos=pixel)
    assert reviewer.form.fields["from"].picked == ["0P1"]
    assert reviewer.form.fields["targets"].pick_button.text() == "Done"
    reviewer.key(Qt.Key.Key_Escape)


def test_what_is_missing_is_said_in_one_line(reviewer):
    """Keep with nothing picked changes nothing and names what to do."""
    before = reviewer.text()
    reviewer.pane.begin("independent")
    reviewer.key(Qt.Key.Key_Escape)
    reviewer.press_button(reviewer.form.keep_button)
    assert reviewer.form.outcome.text() == "✖ Not kept: pick at least one supply."
    reviewer.form.fields["from"].set_picked(["2P1"])
    assert "other side" in reviewer.form.outcome.text()
    reviewer.form.also.setText("L7.fault = flooded")
    reviewer.form.fields["other"].set_picked(["0P1"])
    reviewer.form.fields["targets"].set_picked(["1A1.cap"])
    reviewer.press_button(reviewer.form.keep_button)
    assert reviewer.form.outcome.text().startswith("✖ Not kept:")
    assert "\n" not in reviewer.form.outcome.text()
    assert reviewer.text() == before


def test_an_unchanged_requirement_stays_byte_for_byte(reviewer):
    """Change and Keep without an edit: no requirement of the sample comes out different."""
    before = reviewer.text()
    for row in range(7):
        reviewer.choose(row)
        reviewer.press_button(reviewer.pane.change_button)
        reviewer.press_button(reviewer.form.keep_button)
        assert reviewer.pane.pages.currentIndex() == 0
        assert reviewer.text() == before and not reviewer.stack.canUndo()


def test_keys_keep_the_order_they_were_written_in():
    """A file that somebody wrote in another order is a readable diff after an edit."""
    written = {"kind": "reaches", "targets": ["1A1.cap"], "from": ["0P1"], "name": "x"}
    edited = tidied({**written, "targets": ["1A2.cap"], "other": ["0P2"], "notes": ""}, written)
    assert list(edited) == list(written) and edited["targets"] == ["1A2.cap"]
    assert list(tidied(written, None)) == ["name", "kind", "from", "targets"]


def test_a_lever_and_the_name_are_changed(reviewer):
    """The selector put to NORMAL breaks it; the name typed stays, one undo takes both back."""
    before = reviewer.text()
    reviewer.choose(0)
    reviewer.press_button(reviewer.pane.change_button)
    _tick, choice = reviewer.form.levers.rows["2V1"]
    choice.setFocus()
    QTest.keyClick(choice, Qt.Key.Key_Down)
    reviewer.form.name.selectAll()
    reviewer.qtbot.keyClicks(reviewer.form.name, "In normal")
    assert reviewer.draft_verdict().startswith("✖ does not hold")
    reviewer.qtbot.keyClick(reviewer.form.name, Qt.Key.Key_Return)
    made = reviewer.circuit.requirements[0]
    assert made["name"] == "In normal" and made["set"]["2V1"] == {"position": "NORMAL"}
    assert list(made) == list(read_circuit(SAMPLE).requirements[0])
    reviewer.judged()
    assert marks(reviewer)[0] == "fails"
    reviewer.stack.undo()
    assert reviewer.text() == before


def test_duplicate_move_and_delete_are_undone(reviewer):
    """Each is one step of undo, and the file is as before."""
    before = reviewer.text()
    names = [r["name"] for r in reviewer.circuit.requirements]
    reviewer.choose(0)
    reviewer.press_button(reviewer.pane.twin_button)
    assert reviewer.circuit.requirements[1]["name"] == f"{names[0]} (2)"
    assert reviewer.pane.chosen == 1
    reviewer.press_button(reviewer.pane.down_button)
    assert reviewer.circuit.requirements[2]["name"] == f"{names[0]} (2)"
    reviewer.press_button(reviewer.pane.up_button)
    reviewer.press_button(reviewer.pane.delete_button)
    assert [r["name"] for r in reviewer.circuit.requirements] == names
    for _ in range(4):
        reviewer.stack.undo()
    assert reviewer.text() == before and not reviewer.stack.canUndo()


def test_a_line_drawn_to_the_flaps_breaks_it_and_shows_the_stray_way(reviewer):
    """The verdict turns while the requirement is chosen; undo turns it back."""
    reviewer.choose(0)
    outcome = reviewer.ways.legend
    assert outcome.outcome == "✔ holds"
    reviewer.drag(reviewer.port("2Z7.A"), reviewer.port("3A1.cap"))
    (line,) = [x for x in reviewer.circuit.lines.values() if "3A1.cap" in (x.start, x.end)
               and "2Z7.A" in (x.start, x.end)]  # fmt: skip
    reviewer.qtbot.waitUntil(lambda: marks(reviewer)[0] == "fails", timeout=20000)
    reviewer.judged()
    (way,) = reviewer.ways.shown.ways
    assert way.sense == "stray" and line.id in way.elements and way.elements[-1] == "3A1"
    assert outcome.outcome == "✖ does not hold"
    assert outcome.rows() == ["way that should not be there"]
    reviewer.control(Qt.Key.Key_Z)
    reviewer.qtbot.waitUntil(lambda: outcome.outcome == "✔ holds", timeout=20000)


def test_the_way_follows_a_part_that_is_moved(reviewer):
    """The band is drawn anew where the line runs now."""
    reviewer.choose(0)
    before = reviewer.ways.item.boundingRect()
    x, y = reviewer.middle("1A2")
    reviewer.drag((x + 4, y - 2), (x + 14, y - 2))
    assert reviewer.middle("1A2") == (x + 10, y)
    reviewer.qtbot.waitUntil(lambda: reviewer.ways.item.boundingRect() != before)
    assert reviewer.ways.item.boundingRect().right() > before.right()


def test_undo_while_picking_ends_it_whole(reviewer):
    """A part that is being picked is taken away by undo: nothing is left behind on the sheet."""
    reviewer.canvas.start_placing("hand_pump")
    reviewer.click((112, 150))
    pump = reviewer.canvas.selection.ids()[0]
    reviewer.pane.begin("reaches")
    reviewer.click(reviewer.middle(pump))
    assert reviewer.form.fields["from"].picked == [pump]
    reviewer.stack.undo()
    assert not reviewer.form.is_picking
    assert reviewer.canvas.sheet.lines["L1"].opacity() == 1.0
    reviewer.form.fields["from"].set_picked([pump])
    reviewer.form.fields["targets"].set_picked(["1A1.cap"])
    reviewer.press_button(reviewer.form.keep_button)
    assert pump in reviewer.form.outcome.text()
    assert len(reviewer.circuit.requirements) == 7


def test_survives_is_written_from_lists_and_shown_as_open(reviewer):
    """Procedure and failures are chosen; in both panes it is open, not failed."""
    reviewer.pane.begin("survives")
    reviewer.form.procedure.setCurrentIndex(1)
    assert reviewer.form.outcome.text().startswith("○ Open")
    reviewer.qtbot.mouseClick(reviewer.form.failures.every, LEFT, pos=QPoint(8, 8))
    assert "tick at least one failure" in reviewer.form.outcome.text()
    listed = reviewer.form.failures.list
    reviewer.qtbot.keyClicks(reviewer.form.failures.search, "0P1 no output")
    rows = [listed.item(n) for n in range(listed.count()) if not listed.item(n).isHidden()]
    assert [row.text() for row in rows] == ["0P1 (Electric pump): no output"]
    listed.setCurrentItem(rows[0])
    QTest.keyClick(listed, Qt.Key.Key_Space)
    reviewer.press_button(reviewer.form.keep_button)
    made = reviewer.circuit.requirements[-1]
    procedure = reviewer.circuit.procedures[1]["name"]
    assert made["kind"] == "survives" and made["procedure"] == procedure
    assert made["failures"] == [["0P1", "no_output"]] and "set" not in made
    reviewer.judged()
    assert marks(reviewer)[-1] == "open"
    found = {e.heading: e.mark for e in reviewer.window.findings_pane.model.entries}
    assert found[made["name"]] == "open"
    assert "1 open" in reviewer.window.findings_pane.summary.text()
    assert "failed" not in reviewer.window.status.findings.text()


def test_marks_of_verdicts():
    """Not judged is open, whatever `holds` says."""
    assert verdict_mark(Verdict("x", True, "")) == "holds"
    assert verdict_mark(Verdict("x", False, "")) == "fails"
    assert verdict_mark(Verdict("x", False, "", judged=False)) == "open"


def test_an_empty_circuit_says_how_to_begin(qtbot):
    """The kinds in words; picking with nothing on the sheet says so and hangs nowhere."""
    hand = open_window(qtbot)
    hand.window.docks[4].raise_()
    made = Reviewer(qtbot, hand.window)
    qtbot.waitUntil(made.pane.isVisible)
    assert "no requirements yet" in made.pane.chooser.text.text()
    made.press_button(made.pane.chooser.buttons["reaches"])
    assert "nothing to pick" in made.form.outcome.text() and not made.form.is_picking
    qtbot.keyClick(made.form, Qt.Key.Key_Escape)
    assert made.pane.pages.currentIndex() == 1


def test_the_shapes_of_proof_and_stray_differ_without_colour(qapp):
    """Printed in grey, the bands differ: one full, one hatched, one hollow, one dashed."""
    from PySide6.QtGui import QImage, QPainter, QPainterPath

    from editor.canvas.way_item import paint_band

    shapes = {}
    for sense in ("supply", "other", "return", "stray"):
        image = QImage(120, 40, QImage.Format.Format_Grayscale8)
        image.fill(Qt.GlobalColor.white)
        painter = QPainter(image)
        path = QPainterPath()
        path.moveTo(10, 20)
        path.lineTo(110, 20)
        paint_band(painter, path, sense, 16)
        painter.end()
        # where it is dark and where it is light along and across the band
        along = [image.pixelColor(x, 20).lightness() for x in range(20, 100)]
        middle = image.pixelColor(60, 20).lightness()
        edge = min(image.pixelColor(60, y).lightness() for y in range(9, 16))
        shapes[sense] = (max(along) - min(along) > 40, edge < middle - 40)
    assert shapes["supply"] == (False, False)
    assert shapes["stray"][0] and shapes["return"][0]
    assert shapes["other"] == (False, True)
