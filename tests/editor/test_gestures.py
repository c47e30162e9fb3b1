"""What the hand does on the sheet, by real mouse and key events: one story each.

What must hold is the issue's own wording (place, connect, move, turn, edit, undo, lever);
that undo brings back the file byte for byte is the house's rule.
"""

from itertools import pairwise

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest

from editor.theme import MODULE
from tests.editor.canvas_helpers import open_window

SHIFT = Qt.KeyboardModifier.ShiftModifier


@pytest.fixture
def hand(qtbot):
    """A window with an empty sheet."""
    return open_window(qtbot)


@pytest.fixture
def press(hand):
    """A pump, a relief valve and a reservoir stand on the sheet, not connected."""
    hand.circuit.add("reservoir", id="0Z1", at=(20, 40))
    hand.circuit.add("fixed_pump", id="0P1", at=(20, 20))
    hand.circuit.add("relief_valve", id="0V1", at=(45, 22), set_pressure="100 bar")
    return hand


def undo_and_redo_keep_every_byte(hand, before):
    """The rule of the house for every command."""
    after = hand.text()
    assert after != before
    hand.stack.undo()
    assert hand.text() == before
    hand.stack.redo()
    assert hand.text() == after


def test_part_is_placed_by_click_then_click(hand):
    """Pick on the shelf, click on the sheet: the part stands on the nearest grid point."""
    before = hand.text()
    hand.canvas.start_placing("hand_pump")
    hand.click((30.3, 20.4))
    assert hand.circuit.components["0P1"].at == (30, 20)
    assert hand.window.selection.ids() == ("0P1",)
    undo_and_redo_keep_every_byte(hand, before)


def test_shelf_drag_places_where_it_is_let_go(hand, qtbot):
    """Press on the shelf, move over the sheet, let go there."""
    shelf = hand.window.shelf.list
    shelf.scrollTo(shelf.index_of("check_valve"))
    spot = shelf.visualRect(shelf.index_of("check_valve")).center()
    goal = hand.canvas.viewport().mapToGlobal(hand.pixel((25, 25)))
    qtbot.mousePress(shelf.viewport(), Qt.MouseButton.LeftButton, pos=spot)
    for share in (0.3, 0.7, 1.0):
        start = shelf.viewport().mapToGlobal(spot)
        here = start + (goal - start) * share
        qtbot.mouseMove(shelf.viewport(), shelf.viewport().mapFromGlobal(here))
    end = shelf.viewport().mapFromGlobal(goal)
    qtbot.mouseRelease(shelf.viewport(), Qt.MouseButton.LeftButton, pos=end)
    assert hand.circuit.components["0V1"].at == (25, 25)


def test_part_is_placed_by_keys_alone(hand):
    """Enter on the shelf, arrows, Enter on the sheet."""
    shelf = hand.window.shelf.list
    shelf.setCurrentIndex(shelf.index_of("check_valve"))
    QTest.keyClick(shelf, Qt.Key.Key_Return)
    middle = hand.canvas.to_sheet(hand.canvas.viewport().rect().center())
    hand.key(Qt.Key.Key_Left)
    hand.key(Qt.Key.Key_Down, SHIFT)
    hand.key(Qt.Key.Key_Return)
    at = hand.circuit.components["0V1"].at
    assert at == pytest.approx((middle[0] - 1, middle[1] + 5), abs=0.6)


@pytest.mark.parametrize("end", ["placed", "given up"])
def test_the_words_on_an_empty_sheet_make_way_for_what_is_placed(hand, end):
    """The ghost does not lie under them; given up, they are there again."""
    hint = hand.canvas.empty_hint
    assert hint.isVisible()
    shelf = hand.window.shelf.list
    spot = shelf.visualRect(shelf.index_of("reservoir")).center()
    hand.qtbot.mouseClick(shelf.viewport(), Qt.MouseButton.LeftButton, pos=spot)
    hand.hover((30, 20))
    assert not hint.isVisible()
    if end == "placed":
        hand.click((30, 20))
        assert hand.circuit.components and not hint.isVisible()
        hand.stack.undo()
    else:
        hand.key(Qt.Key.Key_Escape)
    assert hint.isVisible()


def test_escape_gives_up_placing(hand):
    """Escape takes the ghost away and leaves the circuit as it was."""
    hand.canvas.start_placing("cylinder")
    hand.hover((30, 20))
    hand.key(Qt.Key.Key_Escape)
    hand.click((30, 20))
    assert not hand.circuit.components
    assert hand.stack.count() == 0


def test_ghost_is_turned_and_mirrored_before_it_is_put(hand):
    """R and M work on the part that is about to be placed."""
    hand.canvas.start_placing("check_valve")
    hand.hover((30, 20))
    hand.key(Qt.Key.Key_R)
    hand.key(Qt.Key.Key_M)
    hand.click((30, 20))
    part = hand.circuit.components["0V1"]
    assert (part.turn, part.mirror) == (270, True)


def test_ports_are_connected_by_drag(press):
    """Press on a port, let go on another one."""
    before = press.text()
    press.drag(press.port("0P1.outlet"), press.port("0V1.inlet"))
    line = press.circuit.lines["L1"]
    assert (line.start, line.end, line.role) == ("0P1.outlet", "0V1.inlet", "pressure")
    undo_and_redo_keep_every_byte(press, before)


def test_ports_are_connected_by_clicks_with_corners(press):
    """Click a port, click corners, click the other port."""
    before = press.text()
    press.click(press.port("0P1.outlet"))
    press.click((20, 8))
    press.click((45, 8))
    press.click(press.port("0V1.inlet"))
    line = press.circuit.lines["L1"]
    assert line.via == [(20, 8), (45, 8)]
    undo_and_redo_keep_every_byte(press, before)


def test_role_follows_from_the_ports(press):
    """From the reservoir's outlet to a pump's inlet runs a suction line."""
    press.drag(press.port("0P1.inlet"), press.port("0Z1.supply"))
    press.drag(press.port("0V1.outlet"), press.port("0Z1.return"))
    assert [line.role for line in press.circuit.lines.values()] == ["suction", "return"]


def test_refusal_is_said_and_nothing_changes(press):
    """A line from a port to itself is refused with the reason in the status line."""
    port = press.port("0P1.outlet")
    press.press(port)
    away = port[0] + 10, port[1]
    press.qtbot.mouseMove(press.canvas.viewport(), press.pixel(away))
    press.qtbot.mouseMove(press.canvas.viewport(), press.pixel(port))
    press.release(port)
    assert not press.circuit.lines
    assert "itself" in press.window.status.hint.text()


def test_line_let_go_on_empty_sheet_is_none(press):
    """There is no line that ends nowhere."""
    press.drag(press.port("0P1.outlet"), (60, 10))
    assert not press.circuit.lines
    assert "Not connected" in press.window.status.hint.text()


def test_escape_gives_up_a_line(press):
    """Escape ends the click-to-click way too."""
    press.click(press.port("0P1.outlet"))
    press.hover((30, 8))
    press.key(Qt.Key.Key_Escape)
    press.click(press.port("0V1.inlet"))
    press.key(Qt.Key.Key_Escape)
    assert not press.circuit.lines


def test_line_that_ends_on_a_line_makes_a_junction(press):
    """The line is divided at a junction; its length stays with its first part."""
    press.circuit.connect("0P1.outlet", "0V1.inlet", bore="6 mm", length="2 m")
    press.circuit.add("pressure_gauge", id="0S1", at=(34, 2))
    before = press.text()
    points = press.canvas.sheet.lines["L1"].points
    level = min(y for _, y in points)
    press.drag(press.port("0S1.A"), (34, level))
    assert [c.kind for c in press.circuit.components.values()].count("junction") == 1
    first, rest, new = press.circuit.lines.values()
    assert first.end == rest.start == new.end
    assert first.settings == {"bore": "6 mm", "length": "2 m"}
    assert rest.settings == {"bore": "6 mm"}
    assert rest.end == "0V1.inlet"
    undo_and_redo_keep_every_byte(press, before)


def test_parts_move_on_the_grid_and_lines_follow(press):
    """Drag a part: it lands on the grid, its line still joins the two ports."""
    press.drag(press.port("0P1.outlet"), press.port("0V1.inlet"))
    before = press.text()
    press.drag((45, 22), (55.2, 30.4))
    assert press.circuit.components["0V1"].at == (55, 30)
    points = press.canvas.sheet.lines["L1"].points
    assert (points[0], points[-1]) == (press.port("0P1.outlet"), press.port("0V1.inlet"))
    assert all(a[0] == b[0] or a[1] == b[1] for a, b in pairwise(points))
    undo_and_redo_keep_every_byte(press, before)


def test_escape_puts_a_dragged_part_back(press):
    """The circuit was never changed, and the item is back where it stood."""
    before = press.text()
    press.press((45, 22))
    press.qtbot.mouseMove(press.canvas.viewport(), press.pixel((60, 30)))
    press.key(Qt.Key.Key_Escape)
    press.release((60, 30))
    assert press.text() == before
    item = press.canvas.sheet.components["0V1"]
    assert (item.pos().x(), item.pos().y()) == (45 * MODULE, 22 * MODULE)


def test_part_is_turned_and_mirrored_by_keys(press):
    """R turns a quarter clockwise about its middle, M mirrors left to right."""
    press.drag(press.port("0P1.outlet"), press.port("0V1.inlet"))
    press.click((45, 22))
    before = press.text()
    press.key(Qt.Key.Key_R)
    part = press.circuit.components["0V1"]
    assert (part.at, part.turn) == ((45, 22), 90)
    undo_and_redo_keep_every_byte(press, before)
    press.key(Qt.Key.Key_M)
    assert (part.turn, part.mirror) == (270, True)


def test_four_turns_of_a_group_bring_it_back(press):
    """Parts turned together keep their places to each other."""
    press.key(Qt.Key.Key_A, Qt.KeyboardModifier.ControlModifier)
    before = press.text()
    places = {c.id: c.at for c in press.circuit.components.values()}
    for _ in range(4):
        press.key(Qt.Key.Key_R)
    assert {c.id: c.at for c in press.circuit.components.values()} == places
    for _ in range(4):
        press.stack.undo()
    assert press.text() == before


def test_arrows_nudge_and_a_row_of_nudges_is_undone_at_once(press):
    """One module each; with Shift, five."""
    press.click((45, 22))
    before = press.text()
    press.key(Qt.Key.Key_Right)
    press.key(Qt.Key.Key_Down)
    press.key(Qt.Key.Key_Down, SHIFT)
    assert press.circuit.components["0V1"].at == (46, 28)
    assert press.stack.count() == 1
    undo_and_redo_keep_every_byte(press, before)


def test_rubber_band_selects_what_lies_inside(press):
    """Only what lies wholly inside is selected; Delete removes it."""
    before = press.text()
    press.drag((8, 6), (33, 52))
    assert set(press.window.selection.ids()) == {"0Z1", "0P1"}
    press.key(Qt.Key.Key_Delete)
    assert list(press.circuit.components) == ["0V1"]
    undo_and_redo_keep_every_byte(press, before)


def test_deleting_a_part_takes_its_lines_and_undo_brings_all_back(press):
    """In the same order as before, byte for byte."""
    for start, end in (("0P1.outlet", "0V1.inlet"), ("0V1.outlet", "0Z1.return"),
                       ("0P1.inlet", "0Z1.supply")):  # fmt: skip
        press.drag(press.port(start), press.port(end))
    before = press.text()
    press.click((45, 22))
    press.key(Qt.Key.Key_Delete)
    assert list(press.circuit.lines) == ["L3"]
    undo_and_redo_keep_every_byte(press, before)


def test_group_that_moves_takes_the_corners_of_its_lines_along(press):
    """Between two parts that move together a line keeps its shape."""
    press.circuit.connect("0P1.outlet", "0V1.inlet", via=[(20, 8), (32, 8), (32, 12), (45, 12)])
    press.window.selection.set(["0P1", "0V1"])
    before = press.text()
    press.drag((45, 22), (48, 27))
    via = press.circuit.lines["L1"].via
    assert via == [(23, 13), (35, 13), (35, 17), (48, 17)]
    undo_and_redo_keep_every_byte(press, before)


def test_selected_junction_moves_an_unselected_one_connects(press):
    """A click selects the junction, after that a drag moves it."""
    press.circuit.add("junction", id="0Z5", at=(30, 10))
    press.drag((30, 10), press.port("0V1.inlet"))
    assert press.circuit.lines["L1"].start == "0Z5.A"
    press.click((60, 40))
    press.click((30, 10))
    assert press.window.selection.ids() == ("0Z5",)
    press.drag((30, 10), (36, 6))
    assert press.circuit.components["0Z5"].at == (36, 6)
    assert len(press.circuit.lines) == 1


def test_corner_of_a_line_is_dragged(press):
    """The corner goes where it is dragged; the line stays orthogonal."""
    press.circuit.connect("0P1.outlet", "0V1.inlet", via=[(20, 8), (45, 8)])
    before = press.text()
    press.drag((32, 8), (32, 4))
    assert press.circuit.lines["L1"].via == [(20, 4), (45, 4)]
    undo_and_redo_keep_every_byte(press, before)


def test_duplicate_stands_beside_with_its_lines(press):
    """Ctrl+D: new ids, the line between the copies is copied too."""
    press.drag(press.port("0P1.outlet"), press.port("0V1.inlet"))
    press.control(Qt.Key.Key_A)
    before = press.text()
    press.control(Qt.Key.Key_D)
    assert {"0P2", "0V2", "0Z2"} <= set(press.circuit.components)
    assert press.circuit.components["0P2"].at == (24, 24)
    copied = press.circuit.lines["L2"]
    assert (copied.start, copied.end) == ("0P2.outlet", "0V2.inlet")
    undo_and_redo_keep_every_byte(press, before)


def test_copy_and_paste_between_windows(press, qtbot):
    """What is copied in one window is pasted in another one, settings included."""
    press.click((45, 22))
    press.control(Qt.Key.Key_C)
    other = open_window(qtbot)
    other.click((30, 30))
    other.control(Qt.Key.Key_V)
    pasted = other.circuit.components["0V1"]
    assert pasted.settings == {"set_pressure": "100 bar"}
    assert pasted.at == (30, 30)


def test_cut_and_paste_keeps_the_id(press):
    """Cut removes; pasting brings the part back under its own id, since it is free."""
    press.click((45, 22))
    press.control(Qt.Key.Key_X)
    assert "0V1" not in press.circuit
    press.hover((50, 40))
    press.control(Qt.Key.Key_V)
    assert press.circuit.components["0V1"].at == (50, 40)


def test_paste_of_something_else_says_so(press, qapp):
    """Text that is no circuit is refused in words."""
    qapp.clipboard().setText("pump")
    press.control(Qt.Key.Key_V)
    assert "clipboard" in press.window.status.hint.text()
    assert len(press.circuit.components) == 3


def test_new_line_is_led_round_a_symbol_in_its_way(hand):
    """The corners that lead it round stay with the line; undo takes them away with it."""
    for identifier, kind, x in (
        ("0V1", "check_valve", 10), ("0Z1", "filter", 30), ("0S1", "flow_meter", 50)
    ):  # fmt: skip
        hand.circuit.add(kind, id=identifier, at=(x, 20))
    before = hand.text()
    hand.drag(hand.port("0V1.outlet"), hand.port("0S1.A"))
    (line,) = hand.circuit.lines.values()
    assert line.via
    assert all(y != 20 or not 25 <= x <= 35 for x, y in line.via)
    assert any(abs(y - 20) > 3 for _x, y in line.via)
    undo_and_redo_keep_every_byte(hand, before)


def test_line_is_led_round_when_its_part_is_moved_behind_another(hand):
    """A straight line whose end comes to stand behind a filter gets corners; undo too."""
    for identifier, kind, at in (
        ("0V1", "check_valve", (10, 20)), ("0Z1", "filter", (30, 20)),
        ("0S1", "flow_meter", (50, 40)),
    ):  # fmt: skip
        hand.circuit.add(kind, id=identifier, at=at)
    line = hand.circuit.connect("0V1.outlet", "0S1.A")
    before = hand.text()
    hand.drag((50, 40), (50, 20))
    assert hand.circuit.components["0S1"].at == (50, 20)
    assert any(abs(y - 20) > 3 for _x, y in line.via)
    undo_and_redo_keep_every_byte(hand, before)
