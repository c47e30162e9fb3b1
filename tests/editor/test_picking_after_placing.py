"""Picking for a requirement begun while a symbol is about to be placed."""

from editor.canvas.component_item import ComponentItem
from editor.gestures.pick_parts import PickParts
from editor.gestures.place_part import PlacePart
from tests.editor.canvas_helpers import LEFT, open_window
from tests.editor.test_requirements_pane import SAMPLE, Reviewer


def test_a_symbol_about_to_be_placed_is_given_up_for_picking(qtbot):
    """No ghost stays on the sheet, and nothing is placed by the clicks that pick."""
    hand = open_window(qtbot)
    hand.window.document.open(str(SAMPLE))
    hand.window.docks[4].raise_()
    hand.canvas.fit()
    reviewer = Reviewer(qtbot, hand.window)
    qtbot.waitUntil(reviewer.pane.isVisible)
    shelf = reviewer.window.shelf.list
    reviewer.press_button(reviewer.pane.new_button)
    reviewer.press_button(reviewer.pane.chooser.buttons["reaches_only"])
    spot = shelf.visualRect(shelf.index_of("reservoir")).center()
    reviewer.qtbot.mouseClick(shelf.viewport(), LEFT, pos=spot)
    assert isinstance(reviewer.canvas.pointer.gesture, PlacePart)
    reviewer.press_button(reviewer.form.fields["from"].pick_button)
    assert isinstance(reviewer.canvas.pointer.gesture, PickParts)
    items = reviewer.canvas.sheet.items()
    assert not [i for i in items if isinstance(i, ComponentItem) and not i.identifier]
    assert not shelf.selectedIndexes()
    reviewer.click(reviewer.middle("0P1"))
    assert reviewer.form.fields["from"].picked == ["0P1"]
    assert not reviewer.window.document.is_modified
