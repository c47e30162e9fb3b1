"""Levers and switches worked on the sheet, and what the readings say to it."""

import pytest
from PySide6.QtCore import Qt

from tests.editor.canvas_helpers import open_window


@pytest.fixture
def jack(qtbot):
    """A pump at its relief valve, a labelled 4/3 valve, a cylinder with a load."""
    hand = open_window(qtbot)
    circuit = hand.circuit
    circuit.add("reservoir", id="0Z1", at=(20, 70))
    circuit.add("fixed_pump", id="0P1", at=(20, 50))
    circuit.add("relief_valve", id="0V1", at=(40, 52), set_pressure="100 bar")
    circuit.add("valve_4_3", id="1V1", at=(40, 30), rated_drop="1 bar")
    circuit.components["1V1"].labels = {"left": "DOWN", "centre": "HOLD", "right": "UP"}
    circuit.add("cylinder", id="1A1", at=(40, 8), bore="40 mm", rod_diameter="20 mm",
                stroke="200 mm", extension="100 mm", load="5 kN")  # fmt: skip
    for start, end in (("0Z1.supply", "0P1.inlet"), ("0P1.outlet", "0V1.inlet"),
                       ("0P1.outlet", "1V1.P"), ("0V1.outlet", "0Z1.return"),
                       ("1V1.T", "0Z1.return"), ("1V1.A", "1A1.cap"),
                       ("1V1.B", "1A1.rod")):  # fmt: skip
        circuit.connect(start, end)
    hand.canvas.sheet.rebuild()
    hand.settled()
    return hand


def velocity(hand):
    """Of the cylinder, once the readings are there [m/s]."""
    hand.settled()
    return hand.window.live.readings.quantities["1A1"]["velocity"]


def test_click_on_a_box_moves_the_lever_and_the_cylinder(jack):
    """The left box joins P to A: the cylinder extends; the word of the user is written."""
    before = jack.text()
    assert velocity(jack) == pytest.approx(0.0, abs=1e-9)
    jack.click((36, 30))
    assert jack.circuit.components["1V1"].state["position"] == "DOWN"
    assert velocity(jack) > 1e-3
    jack.click((44, 30))
    assert jack.circuit.components["1V1"].state["position"] == "UP"
    assert velocity(jack) < -1e-3
    jack.stack.undo()
    jack.stack.undo()
    assert jack.text() == before


def test_click_on_the_box_that_holds_changes_nothing(jack):
    """Only selected; no command for nothing."""
    jack.click((40, 30))
    assert jack.stack.count() == 0
    assert jack.window.selection.ids() == ("1V1",)


def test_lever_is_worked_by_key(jack):
    """L goes on to the next position, Shift+L back."""
    jack.window.selection.set(["1V1"])
    jack.key(Qt.Key.Key_L)
    assert jack.circuit.components["1V1"].state["position"] == "UP"
    jack.key(Qt.Key.Key_L, Qt.KeyboardModifier.ShiftModifier)
    assert jack.circuit.components["1V1"].state["position"] == "HOLD"


def test_mirrored_valve_has_its_boxes_the_other_way_round(jack):
    """The zone is found where the box is drawn."""
    jack.circuit.set_field("1V1", "mirror", True)
    jack.click((44, 30))
    assert jack.circuit.components["1V1"].state["position"] == "DOWN"


def test_turned_valve_is_worked_where_its_box_is(jack):
    """Turned a quarter clockwise, the left box is on top."""
    jack.circuit.set_field("1V1", "turn", 90)
    jack.click((40, 26))
    assert jack.circuit.components["1V1"].state["position"] == "DOWN"


def test_first_click_selects_a_pump_second_click_stops_it(jack):
    """So that looking at a pump's settings does not stop it."""
    jack.click((20, 50))
    assert "running" not in jack.circuit.components["0P1"].state
    jack.click((20, 50))
    assert jack.circuit.components["0P1"].state["running"] is False
    jack.settled()
    assert jack.window.live.readings.quantities["1A1"]["velocity"] in (0.0, None)


def test_line_shows_the_pressure_of_the_readings(jack):
    """Colour and width follow the pressure; the pump line is thicker than the return."""
    jack.settled()
    lines = jack.canvas.sheet.lines
    pressure, back = lines["L2"].style, lines["L4"].style
    assert pressure.width > back.width
    assert pressure.colour != back.colour
    assert not pressure.hollow
    hollow = [i for i, item in lines.items() if item.style.hollow]
    readings = jack.window.live.readings
    none = [
        line.id for line in jack.circuit.lines.values()
        if readings.pressures[line.start] is None and readings.pressures[line.end] is None
    ]  # fmt: skip
    assert hollow == none


def test_arrowheads_point_with_the_flow(jack):
    """From the pump to the relief valve flow runs from start to end."""
    jack.settled()
    style = jack.canvas.sheet.lines["L2"].style
    assert jack.window.live.readings.lines["L2"].flow > 0
    assert style.arrows > 0 and style.direction == 1


def test_legend_is_in_the_units_of_the_circuit(jack):
    """Bar by default; psi once the person chooses psi."""
    jack.settled()
    assert float(jack.window.legend.marks()[-1]) >= 100
    jack.circuit.set_field("", "display_units", {"pressure": "psi"})
    assert float(jack.window.legend.marks()[-1]) >= 1450


def test_view_menu_takes_pressures_off_the_lines(jack):
    """The lines are then drawn as on paper, and the legend goes."""
    jack.settled()
    jack.window.menus.named["Pressures on the Lines"].trigger()
    assert {item.style.width for item in jack.canvas.sheet.lines.values()} == {0.35}
    assert not jack.window.legend.isVisible()
