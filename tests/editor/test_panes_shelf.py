"""The shelf: every kind with a picture, found by search, taken by click or by drag."""

import pytest
from PySide6.QtCore import QPoint, QSize, Qt
from PySide6.QtGui import QImage

from editor.panes.pictures import symbol_picture
from editor.panes.shelf import KIND_ROLE, Shelf
from symbols.catalogue import KINDS


@pytest.fixture
def shelf(qtbot):
    """The shelf, shown."""
    made = Shelf()
    qtbot.addWidget(made)
    made.resize(250, 700)
    with qtbot.waitExposed(made):
        made.show()
    return made


def _middle(shelf, kind):
    index = shelf.list.index_of(kind)
    shelf.list.scrollTo(index)
    return shelf.list.visualRect(index).center()


def test_every_kind_stands_on_the_shelf_once(shelf):
    """In the order of the catalogue, below the heading of its family."""
    assert shelf.list.kinds_shown() == list(KINDS)
    model = shelf.list.model()
    headings = [
        model.index(row, 0).data()
        for row in range(model.rowCount())
        if not model.index(row, 0).data(KIND_ROLE)
    ]
    families = dict.fromkeys(kind.family.capitalize() for kind in KINDS.values())
    assert headings == list(families)


@pytest.mark.parametrize("kind", KINDS.values(), ids=lambda kind: kind.name)
def test_every_picture_shows_something_whole(kind, qapp):
    """There is ink, and none of it at the picture's edge, where it would be cut off."""
    image = symbol_picture(kind, QSize(64, 44)).toImage()
    image = image.convertToFormat(QImage.Format.Format_ARGB32)
    inked = [
        (x, y)
        for x in range(image.width())
        for y in range(image.height())
        if image.pixelColor(x, y).alpha() > 40
    ]
    if kind.name != "junction":  # a dot
        assert len(inked) > 15
    assert inked
    assert all(0 < x < 63 and 0 < y < 43 for x, y in inked)


@pytest.mark.parametrize(
    ("typed", "expected"),
    [
        ("relief", {"relief_valve"}),  # title
        ("flap", {"cylinder", "valve_4_2", "valve_4_3"}),  # keywords
        ("valve_4_3", {"valve_4_3"}),  # kind
        ("PILOT check", {"pilot_check_valve"}),  # two words, any case
    ],
)
def test_search_finds_by_title_keywords_and_kind(shelf, qtbot, typed, expected):
    """What is typed narrows the list at once; clearing brings all back."""
    qtbot.keyClicks(shelf.search, typed)
    assert expected <= set(shelf.list.kinds_shown())
    assert len(shelf.list.kinds_shown()) < 8
    shelf.search.clear()
    assert len(shelf.list.kinds_shown()) == len(KINDS)


def test_a_search_without_result_says_so(shelf, qtbot):
    """The hint names what was searched for and what to try."""
    qtbot.keyClicks(shelf.search, "carburettor")
    assert shelf.list.kinds_shown() == []
    assert shelf.hint.isVisible() and "carburettor" in shelf.hint.text()
    shelf.search.clear()
    assert shelf.list.isVisible() and not shelf.hint.isVisible()


def test_a_click_picks_the_kind(shelf, qtbot):
    """Press and release on a row; a heading picks nothing."""
    picked = []
    shelf.picked.connect(picked.append)
    viewport = shelf.list.viewport()
    qtbot.mouseClick(viewport, Qt.MouseButton.LeftButton, pos=_middle(shelf, "hand_pump"))
    assert picked == ["hand_pump"]
    shelf.list.scrollToTop()
    heading = shelf.list.visualRect(shelf.list.model().index(0, 0)).center()
    qtbot.mouseClick(viewport, Qt.MouseButton.LeftButton, pos=heading)
    assert picked == ["hand_pump"]


def test_a_drag_tells_where_it_goes_and_where_it_is_let_go(shelf, qtbot):
    """The shelf keeps the mouse: kind and global position, and no pick."""
    picked, moved, dropped = [], [], []
    shelf.picked.connect(picked.append)
    shelf.drag_moved.connect(lambda kind, at: moved.append((kind, at)))
    shelf.dropped.connect(lambda kind, at: dropped.append((kind, at)))
    viewport, start = shelf.list.viewport(), _middle(shelf, "cylinder")
    qtbot.mousePress(viewport, Qt.MouseButton.LeftButton, pos=start)
    qtbot.mouseMove(viewport, start + QPoint(200, 10))
    target = start + QPoint(400, 20)
    qtbot.mouseMove(viewport, target)
    qtbot.mouseRelease(viewport, Qt.MouseButton.LeftButton, pos=target)
    assert picked == []
    assert moved[-1] == ("cylinder", viewport.mapToGlobal(target))
    assert dropped == [("cylinder", viewport.mapToGlobal(target))]


def test_escape_ends_a_drag_without_a_drop(shelf, qtbot):
    """What is let go after Escape is not dropped."""
    dropped, cancelled = [], []
    shelf.dropped.connect(lambda *what: dropped.append(what))
    shelf.drag_cancelled.connect(lambda: cancelled.append(True))
    viewport, start = shelf.list.viewport(), _middle(shelf, "cylinder")
    qtbot.mousePress(viewport, Qt.MouseButton.LeftButton, pos=start)
    qtbot.mouseMove(viewport, start + QPoint(300, 0))
    qtbot.keyClick(shelf.list, Qt.Key.Key_Escape)
    qtbot.mouseRelease(viewport, Qt.MouseButton.LeftButton, pos=start + QPoint(300, 0))
    assert cancelled == [True] and dropped == []


def test_the_keyboard_takes_symbols_too(shelf, qtbot):
    """Enter in the search takes the first; Down and Enter another one."""
    picked = []
    shelf.picked.connect(picked.append)
    qtbot.keyClicks(shelf.search, "restrictor")
    qtbot.keyClick(shelf.search, Qt.Key.Key_Return)
    assert picked == ["restrictor"]
    qtbot.keyClick(shelf.search, Qt.Key.Key_Down)
    qtbot.keyClick(shelf.list, Qt.Key.Key_Down)
    qtbot.keyClick(shelf.list, Qt.Key.Key_Return)
    assert picked == ["restrictor", "adjustable_restrictor"]


@pytest.mark.parametrize(
    ("typed", "taken"),
    [
        ("one-way", "one_way_restrictor"),
        ("gage", "pressure_gauge"),
        ("nozzle", "restrictor"),
        ("hydraulic m", "hydraulic_motor"),
        ("jack", "cylinder"),
    ],
)
def test_enter_takes_what_is_called_as_it_was_searched_for(shelf, qtbot, typed, taken):
    """A keyword of a part higher up (a check valve is one-way too) does not come first."""
    picked = []
    shelf.picked.connect(picked.append)
    qtbot.keyClicks(shelf.search, typed)
    qtbot.keyClick(shelf.search, Qt.Key.Key_Return)
    assert picked == [taken]
