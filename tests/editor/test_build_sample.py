"""The main job: the emergency-pump sample built by hand from an empty sheet, and worked.

Every part is picked from the shelf by typing its title and put down by a click, every line
is pulled from port to port, every value is typed or chosen in the form. Then the levers are
moved, and the readings are those of the sample.
"""

import json
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QCheckBox, QComboBox

from analysis import read_circuit, readings
from analysis.elements import LINE_SETTINGS
from editor import theme
from editor.panes.written_values import written_text
from tests.editor.canvas_helpers import Hand, open_window

SAMPLE = Path(__file__).parents[2] / "sample_circuits" / "emergency_pump.circuit.json"


class Builder:
    """Builds one file's circuit through the window's own fields, shelf and canvas."""

    def __init__(self, hand: Hand, record: dict) -> None:
        self.hand, self.record = hand, record
        self.form, self.shelf = hand.window.form, hand.window.shelf

    def sheet(self) -> None:
        """A sheet large enough, all of it in sight."""
        self.choose("Size", self.record["sheet"]["size"])
        canvas = self.hand.canvas
        xs, ys = zip(*[part["at"] for part in self.record["components"]], strict=True)
        across = (max(xs) - min(xs) + 24) * theme.MODULE
        while canvas.transform().m11() * across > canvas.viewport().width():
            canvas.zoom_out()
        middle = (min(xs) + max(xs)) / 2, (min(ys) + max(ys)) / 2
        canvas.centerOn(middle[0] * theme.MODULE, middle[1] * theme.MODULE)

    def select(self, identifier: str) -> None:
        self.hand.window.selection.set((identifier,) if identifier else ())
        self.hand.qtbot.waitUntil(lambda: not self.form._soon.isActive())

    def type(self, title: str, text: str) -> None:
        field = self.form.row(title).field
        field.setFocus()
        field.selectAll()
        QTest.keyClick(field, Qt.Key.Key_Delete)
        QTest.keyClicks(field, text)
        QTest.keyClick(field, Qt.Key.Key_Return)

    def choose(self, title: str, text: str) -> None:
        field = self.form.row(title).field
        index = max(field.findText(text), field.findData(text))
        assert index >= 0, f"{title}: {text} is not offered"
        field.setFocus()
        QTest.keyClick(field, Qt.Key.Key_Home)
        for _ in range(index):
            QTest.keyClick(field, Qt.Key.Key_Down)

    def enter(self, title: str, raw: object) -> None:
        """Type, choose or tick, as the field asks."""
        field = self.form.row(title).field
        if isinstance(field, QCheckBox):
            if field.isChecked() != bool(raw):
                QTest.mouseClick(field, Qt.MouseButton.LeftButton)
        elif isinstance(field, QComboBox):
            self.choose(title, str(raw))
        else:
            self.type(title, written_text(raw))

    def place(self, part: dict) -> None:
        """From the shelf to the sheet, turned and mirrored on the way, then named."""
        hand = self.hand
        before = set(hand.circuit.components)
        hand.canvas.start_placing(part["kind"])
        hand.hover(part["at"])
        if part.get("mirror"):
            hand.key(Qt.Key.Key_M)
        for _ in range(part.get("turn", 0) // 90):
            hand.key(Qt.Key.Key_R)
        hand.click(part["at"])
        (made,) = set(hand.circuit.components) - before
        self.select(made)
        self.type("Id", part["id"])
        assert tuple(hand.circuit.components[part["id"]].at) == tuple(part["at"])

    def fill(self, part: dict) -> None:
        """Name, labels, settings and states."""
        self.select(part["id"])
        component = self.hand.circuit.components[part["id"]]
        if part.get("name"):
            self.type("Name", part["name"])
        for choice, label in part.get("labels", {}).items():
            self.type(self.label_title(choice), label)
        for name, raw in part.get("settings", {}).items():
            self.enter(component.setting_of(name).title, raw)
        for name, raw in part.get("state", {}).items():
            self.enter(component.state_of(name).title, raw)

    def label_title(self, choice: str) -> str:
        titles = [row.title.text() for row in self.form.rows]
        return next(t for t in titles if choice.lower() in t.lower())

    def connect(self, line: dict) -> None:
        """Pull a line from port to port."""
        hand = self.hand
        before = set(hand.circuit.lines)
        hand.drag(hand.port(line["from"]), hand.port(line["to"]))
        (made,) = set(hand.circuit.lines) - before
        ends = {hand.circuit.lines[made].start, hand.circuit.lines[made].end}
        assert ends == {line["from"], line["to"]}, line["id"]
        self.select(made)
        self.type("Id", line["id"])
        if line.get("role", "pressure") != "pressure":
            self.choose("Role", line["role"])
        for name, setting in LINE_SETTINGS.items():
            if name in line:
                self.enter(setting.title, line[name])


@pytest.mark.timeout(600)
def test_emergency_sample_is_built_by_hand_and_reads_the_same(qtbot):
    """71 parts and 86 lines by mouse and keyboard; then levers, and the same readings."""
    record = json.loads(SAMPLE.read_text())
    hand = open_window(qtbot)
    builder = Builder(hand, record)
    builder.sheet()
    for part in record["components"]:
        builder.place(part)
    for line in record["lines"]:
        builder.connect(line)
    for part in record["components"]:
        builder.fill(part)
    sample = read_circuit(SAMPLE)
    assert set(hand.circuit.components) == set(sample.components)
    assert set(hand.circuit.lines) == set(sample.lines)
    for lever, position in (("1V1", "DOWN"), ("1V1", "UP"), ("3V1", "DOWN")):
        builder.select(lever)
        builder.choose("Position", position)
        sample.set_value(lever, "position", position, state=True)
        hand.settled()
        shown, expected = hand.window.live.readings, readings(sample)
        assert shown.undetermined == expected.undetermined
        for port, pressure in expected.pressures.items():
            if pressure is not None:
                assert shown.pressures[port] == pytest.approx(pressure, rel=1e-6, abs=20.0), port
    while hand.stack.canUndo():
        hand.stack.undo()
    assert not hand.circuit.components and not hand.circuit.lines
