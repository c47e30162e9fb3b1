"""What is named in the drawing of a verdict, and where the names go."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from PySide6.QtCore import QPointF, QRectF
from PySide6.QtGui import QFontMetricsF

from analysis.report_ways import ShownWay, WayPicture
from editor import theme
from editor.sheet_drawing import SheetDrawing
from editor.sheet_lettering import Occupancy, pieces

M, MM = theme.MODULE, theme.MILLIMETRE

LETTERS, RING = 1.9, 1.75
"""Height of lettering and radius of the ring around a number [mm]."""


@dataclass
class Label:
    """A number in a ring and words, in an area [scene units]."""

    number: str
    words: str
    area: QRectF


def shown_elements(picture: WayPicture) -> set[str]:
    """The parts that a picture is about, without those that pressure only gets to."""
    elements = (e for way in picture.ways for e in way.elements)
    return {*picture.marked, *picture.targets, *elements}


def runs_of(picture: WayPicture, way: ShownWay) -> Iterator[tuple[str, int]]:
    """(line, 1 if the way runs from its start to its end, -1 if back, 0 if none can tell)."""
    lines = picture.circuit.lines
    for before, element, after in zip(
        ("", *way.elements), way.elements, (*way.elements[1:], ""), strict=False
    ):
        line = lines.get(element)
        if line is None:
            continue
        start, end = (port.rpartition(".")[0] for port in (line.start, line.end))
        if start == end:
            yield element, 0
        else:
            yield element, 1 if before == start or after == end else -1


def stray_ends(picture: WayPicture, drawing: SheetDrawing) -> list[QPointF]:
    """Where stray ways end, in scene units."""
    routes = {line.identifier: line.points for line in drawing.lines}
    ends = []
    for way in picture.ways:
        runs = list(runs_of(picture, way)) if way.role == "stray" else []
        if runs:
            identifier, direction = runs[-1]
            x, y = routes[identifier][0 if direction < 0 else -1]
            ends.append(QPointF(x * M, y * M))
    return ends


def marked_areas(picture: WayPicture, drawing: SheetDrawing, scale: float) -> list[QRectF]:
    """The frames around what is marked, in scene units."""
    air, half = 0.7 / scale * MM, 1.5 / scale * MM
    areas = []
    for symbol in drawing.symbols:
        if symbol.identifier in picture.marked:
            areas.append(symbol.picture.bounds.translated(symbol.at).adjusted(-air, -air, air, air))
    for line in drawing.lines:
        if line.identifier in picture.marked and len(line.points) > 1:
            middle = line.middle()
            areas.append(QRectF(middle.x() - half, middle.y() - half, 2 * half, 2 * half))
    return areas


def place_labels(
    picture: WayPicture, drawing: SheetDrawing, region: QRectF, scale: float
) -> list[Label]:
    """The labels of all parts that are named, each where it hides least.

    Parameters
    ----------
    region
        What is shown of the circuit [scene units].
    scale
        What a millimetre of the sheet measures on paper [mm].
    """
    shown = shown_elements(picture) | picture.reached
    occupancy = Occupancy()
    for symbol in drawing.symbols:
        heavy = symbol.identifier in shown
        area = symbol.picture.bounds.translated(symbol.at)
        occupancy.add(area, 8.0 if heavy else 1.5)
    for line in drawing.lines:
        for area in pieces(line.points):
            occupancy.add(area, 6.0 if line.identifier in shown else 0.4)
    within = 1.0 / scale * MM
    for edge in _outside(region.adjusted(within, within, -within, -within)):
        occupancy.add(edge, 50.0)
    for area in marked_areas(picture, drawing, scale):
        occupancy.add(area, 8.0)
    for at in stray_ends(picture, drawing):
        radius = 2.0 / scale * MM
        occupancy.add(QRectF(at.x() - radius, at.y() - radius, 2 * radius, 2 * radius), 10.0)
    labels = []
    for number, words, around in _to_label(picture, drawing, scale):
        best = min(
            _candidates(number, words, around, scale),
            key=lambda label: occupancy.cost(label[1].area) + label[0],
        )[1]
        occupancy.add(best.area, 12.0)
        labels.append(best)
    return labels


def _outside(region: QRectF) -> list[QRectF]:
    beyond = 100 * M
    around = region.adjusted(-beyond, -beyond, beyond, beyond)
    return [
        QRectF(around.left(), around.top(), beyond, around.height()),
        QRectF(region.right(), around.top(), beyond, around.height()),
        QRectF(around.left(), around.top(), around.width(), beyond),
        QRectF(around.left(), region.bottom(), around.width(), beyond),
    ]


def _to_label(
    picture: WayPicture, drawing: SheetDrawing, scale: float
) -> Iterator[tuple[str, str, QRectF]]:
    """(number, words, what it names) for each part that is to be named."""
    numbers = picture.numbers
    wanted = {*numbers, *picture.marked, *picture.targets}
    for symbol in drawing.symbols:
        component = picture.circuit.components[symbol.identifier]
        if symbol.identifier in wanted and component.kind != "junction":
            number = str(numbers.get(symbol.identifier, ""))
            words = f"{symbol.identifier} {_standing(picture, symbol.identifier)}".strip()
            # clear of the frame, where it has one
            air = 0.7 / scale * MM * (symbol.identifier in picture.marked)
            around = symbol.picture.bounds.translated(symbol.at)
            yield number, words, around.adjusted(-air, -air, air, air)
    half = 1.5 / scale * MM
    for line in drawing.lines:
        if line.identifier in picture.marked and len(line.points) > 1:
            at = line.middle()
            words = f"{line.identifier} {_standing(picture, line.identifier)}".strip()
            yield "", words, QRectF(at.x() - half, at.y() - half, 2 * half, 2 * half)


def _standing(picture: WayPicture, identifier: str) -> str:
    """How the lever stands, and what has failed."""
    element = picture.circuit.element(identifier)
    labels = getattr(element, "labels", {})
    fault = str(element.state.get("fault", "none"))
    position = str(element.state.get("position", ""))
    words = [labels.get(position, position) if labels or position else ""]
    words += [fault.replace("_", " ")] if fault != "none" else []
    return " ".join(words).strip()


def _candidates(
    number: str, words: str, around: QRectF, scale: float
) -> Iterator[tuple[float, Label]]:
    """(cost in itself, label) for each place beside what it names."""
    unit = MM / scale
    metrics = QFontMetricsF(theme.sheet_font(LETTERS / scale, True))
    width = metrics.horizontalAdvance(words) + (2 * RING + 0.5) * unit * bool(number)
    height = max(2 * RING * unit if number else 0.0, 1.3 * LETTERS * unit)
    for step, gap in enumerate((0.9 * unit, 3.0 * unit, 6.0 * unit)):
        beside = ((around.right() + gap, 0), (around.left() - gap - width, 1))
        below = ((around.top() - gap - height, 0), (around.bottom() + gap, 1))
        for x, side in beside:
            for share in (0.5, 0.0, 1.0):
                y = around.top() + share * around.height() - height / 2
                cost = 1.5 * step + 0.05 * side + 0.1 * (share != 0.5)
                yield cost, Label(number, words, QRectF(x, y, width, height))
        for y, side in below:
            for share in (0.5, 0.0, 1.0):
                x = around.left() + share * around.width() - width / 2
                cost = 1.5 * step + 0.05 * side + 0.1 * (share != 0.5)
                yield cost, Label(number, words, QRectF(x, y, width, height))
