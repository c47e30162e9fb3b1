"""From far away the ids alone are written, larger, so that they can be read."""

import pytest
from PySide6.QtCore import QRectF, Qt
from PySide6.QtGui import QImage, QPainter
from PySide6.QtWidgets import QGraphicsScene

from editor.canvas.component_item import NO_LETTERING_BELOW, ComponentItem
from editor.canvas.lettering import Words
from editor.painting import Picture

SYMBOL = QRectF(-50, -50, 100, 100)


def _ink(item, scale):
    """Rows and columns of the picture at a scale in which something is painted, in its pixels."""
    scene = QGraphicsScene()
    scene.addItem(item)
    image = QImage(400, 300, QImage.Format.Format_RGB32)
    image.fill(Qt.GlobalColor.white)
    painter = QPainter(image)
    painter.translate(200, 150)
    painter.scale(scale, scale)
    scene.render(painter, QRectF(-300, -200, 600, 400), QRectF(-300, -200, 600, 400))
    painter.end()
    scene.removeItem(item)
    white = QImage(image)
    white.fill(Qt.GlobalColor.white)
    return [
        (x, y)
        for y in range(image.height())
        for x in range(image.width())
        if image.pixel(x, y) != white.pixel(0, 0)
    ]


@pytest.fixture
def item(qapp):
    """A symbol without strokes, its id above it and a name above that."""
    made = ComponentItem("0V8")
    words = [Words("Release valve", (0, -120)), Words("0V8", (0, -80), bold=True)]
    made.show_as(Picture([], [], SYMBOL), words, {})
    return made


def test_the_id_is_larger_in_proportion_and_the_name_is_left_out(item):
    """Just below the limit the letters of the id take more pixels than just above it."""
    below, above = 0.99 * NO_LETTERING_BELOW, 1.01 * NO_LETTERING_BELOW
    far = _ink(item, below)
    item_area = [(x, y) for x, y in _ink(item, above) if y >= 150 + (-100) * above]
    assert len(far) > 2 * len(item_area) > 0
    # moved off the symbol by what it grows, and inside what the item says it covers
    assert max(y for _, y in far) <= 150 + SYMBOL.top() * below + 1
    covered = item.boundingRect()
    assert min(y for _, y in far) >= 150 + covered.top() * below - 1


def test_from_very_far_there_is_none(item):
    """A sheet that is a stamp has symbols only."""
    assert _ink(item, 0.07) == []
