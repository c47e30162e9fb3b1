"""A circuit with a part form beside it, and hands that click and type there."""

from PySide6.QtCore import Qt
from PySide6.QtGui import QUndoStack

from analysis.circuit import Circuit
from editor.panes.part_form import PartForm
from editor.selection import Selection


class FormDesk:
    """A circuit with a form beside it."""

    def __init__(self, qtbot):
        self.qtbot = qtbot
        self.circuit = Circuit()
        self.circuit.display_units = {"pressure": "psi", "flow": "gal/min", "length": "in"}
        self.circuit.add("cylinder", id="1A1", name="Left jack", bore="2 in", rod_diameter="1 in")
        self.circuit.add("relief_valve", id="0V1")
        self.circuit.add("valve_4_3", id="1V1")
        self.circuit.connect("0V1.inlet", "1V1.P", bore="0.25 in", length="6 ft")
        self.circuit.connect("0V1.outlet", "1V1.T", role="return")
        self.selection = Selection(self.circuit)
        self.stack = QUndoStack()
        self.form = PartForm(self.circuit, self.selection, self.stack)
        qtbot.addWidget(self.form)
        self.form.resize(340, 900)
        with qtbot.waitExposed(self.form):
            self.form.show()

    def select(self, *ids):
        self.selection.set(ids)
        self.qtbot.waitUntil(lambda: not self.form._soon.isActive())

    def type(self, title, text, end=Qt.Key.Key_Return):
        """Click into the field, select what is there, type over it, and end with a key."""
        field = self.form.row(title).field
        self.qtbot.mouseClick(field, Qt.MouseButton.LeftButton)
        field.selectAll()
        self.qtbot.keyClick(field, Qt.Key.Key_Delete)
        self.qtbot.keyClicks(field, text)
        if end is not None:
            self.qtbot.keyClick(field, end)

    def choose(self, title, text):
        """With the keys, down from the first one."""
        field = self.form.row(title).field
        field.setFocus()
        wanted = field.findText(text)
        assert wanted >= 0, f"{text} is not offered"
        self.qtbot.keyClick(field, Qt.Key.Key_Home)
        for _ in range(wanted):
            self.qtbot.keyClick(field, Qt.Key.Key_Down)
        assert field.currentText() == text
