"""The drawing of a verdict: readable in black and white, numbered, within its bounds."""

from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
from PySide6.QtGui import QColor, QImage, QPainter

from analysis import read_circuit
from analysis.report_ways import picture_of
from analysis.requirements import evaluate_one
from editor.sheet_lettering import pieces
from editor.way_drawing import draw_ways
from editor.way_labels import shown_elements

SAMPLES = sorted((Path(__file__).resolve().parents[2] / "sample_circuits").glob("*.json"))
EMERGENCY = next(path for path in SAMPLES if "emergency" in path.name)
DOTS = 8
"""Pixels to a millimetre."""

STRAY = {
    "kind": "reaches_only",
    "from": ["0P1"],
    "set": {"1V1": {"position": "DOWN"}},
    "targets": ["1A1.cap"],
}


def drawn(path, requirement):
    """The figure and its picture, for a page of 178 by 150 mm."""
    circuit = read_circuit(path)
    verdict = evaluate_one(circuit, requirement)
    figure = draw_ways(picture_of(circuit, requirement, verdict, 1), 178.0, 150.0)
    width, height = figure.size
    image = QImage(round(width * DOTS), round(height * DOTS), QImage.Format.Format_RGB32)
    image.fill(0xFFFFFFFF)
    painter = QPainter(image)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.scale(DOTS / 10, DOTS / 10)
    figure.paint(painter)
    painter.end()
    return figure, image


def middle_of(figure, line):
    """Where the middle of a line is in the image."""
    item = next(item for item in figure.drawing.lines if item.identifier == line)
    at = (item.middle() - figure.region.topLeft()) * figure.scale * DOTS / 10
    return round(at.x()), round(at.y())


def dark(image, x, y):
    """Whether a pixel is black rather than grey or white."""
    return QColor(image.pixel(x, y)).lightness() < 60


def every_requirement():
    """(file, requirement) of all samples."""
    return [
        pytest.param(path, requirement, id=f"{path.name[:9]}-{requirement['name'][:20]}")
        for path in SAMPLES
        for requirement in read_circuit(path).requirements
    ]


@pytest.mark.parametrize(("path", "requirement"), every_requirement())
def test_it_fits_the_page_and_has_no_colours(qapp, path, requirement):
    """Every pixel is a grey, and every label lies inside, clear of every other."""
    figure, image = drawn(path, requirement)
    width, height = figure.size
    assert width <= 178.01 and height <= 150.01
    pixels = np.frombuffer(image.constBits(), np.uint8).reshape(-1, 4)[:, :3]
    assert (pixels == pixels[:, :1]).all() and 0 < (pixels < 60).mean() < 0.3
    for label in figure.labels:
        assert figure.region.contains(label.area), label.words
    for index, label in enumerate(figure.labels):
        for other in figure.labels[index + 1 :]:
            common = label.area & other.area
            share = common.width() * common.height() if not common.isEmpty() else 0.0
            assert share <= 0.1 * label.area.width() * label.area.height(), (label, other)


def test_ways_are_heavy_and_the_rest_is_grey(qapp):
    """Across a line of the way the ink is as wide as it is said to be; elsewhere it is pale."""
    figure, image = drawn(EMERGENCY, {**STRAY, "kind": "reaches"})
    x, y = middle_of(figure, "L24")
    across = [dark(image, x, y + step) for step in range(-8, 9)]
    assert across.count(True) >= 0.85 * DOTS - 2
    x, y = middle_of(figure, "L79")
    assert not any(dark(image, x + i, y + j) for i in range(-4, 5) for j in range(-4, 5))


def test_numbers_follow_the_way_and_stand_beside_their_parts(qapp):
    """Each part on the ways has its number, joints have none."""
    figure, _ = drawn(EMERGENCY, {**STRAY, "kind": "reaches"})
    numbered = {label.words.split()[0]: int(label.number) for label in figure.labels}
    assert numbered == dict(figure.picture.numbers)
    first = figure.picture.ways[0].elements
    along = [numbered[element] for element in first if element in numbered]
    assert along == sorted(along) and along[0] == 1
    assert "1V1 DOWN" in [label.words for label in figure.labels]


def test_a_stray_way_is_barred_and_ends_at_a_cross(qapp):
    """Its middle is black and white by turns, where a way that may be is black throughout."""
    stray, stray_image = drawn(EMERGENCY, STRAY)
    allowed, allowed_image = drawn(EMERGENCY, {**STRAY, "kind": "reaches", "targets": ["1A2.cap"]})
    changes = []
    for figure, image in ((stray, stray_image), (allowed, allowed_image)):
        x, y = middle_of(figure, "L44")
        column = [dark(image, x + step, y) for step in range(-3 * DOTS, 3 * DOTS)]
        changes.append(sum(a != b for a, b in pairwise(column)))
    assert changes[0] >= 4 > changes[1]


@pytest.mark.parametrize(("path", "requirement"), every_requirement())
def test_no_name_lies_on_a_way(qapp, path, requirement):
    """A way that a name breaks is read as two; there is room beside it, or in two lines."""
    figure, _ = drawn(path, requirement)
    shown = shown_elements(figure.picture) | figure.picture.reached
    ways = [
        area
        for line in figure.drawing.lines
        if line.identifier in shown
        for area in pieces(line.points)
    ]
    covered = [
        label.words for label in figure.labels if any(label.area.intersects(w) for w in ways)
    ]
    assert not covered
    heavy = [s for s in figure.drawing.symbols if s.identifier in shown]
    bounds = [s.picture.bounds.translated(s.at) for s in heavy]
    assert not [label.words for label in figure.labels if any(label.area & b for b in bounds)]


@pytest.mark.parametrize("number", range(7))
def test_no_symbol_is_cut_by_the_edge(qapp, number):
    """Half a pump at the edge reads as a fault of the drawing; it still fits the page."""
    requirement = read_circuit(EMERGENCY).requirements[number]
    figure, _ = drawn(EMERGENCY, requirement)
    bounds = [s.picture.bounds.translated(s.at) for s in figure.drawing.symbols]
    inside = [b for b in bounds if figure.region.contains(b)]
    assert len(inside) > 10
    assert not [b for b in bounds if figure.region.intersects(b) and b not in inside]
    assert figure.size[0] <= 178.0 + 1e-6 and figure.size[1] <= 150.0 + 1e-6
