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
_LEADING = 1.3
"""Height of a line of lettering over that of its letters."""
_ON_PART, _ON_WAY, _ON_LABEL, _OUTSIDE = 8.0, 24.0, 40.0, 50.0
_ON_GREY_PART, _ON_GREY_LINE = 1.5, 0.4
"""What it costs to lie on these: a way that is broken by a name is read as two."""
_CLEAR = 0.6
"""What is kept free around a name [mm]."""
_SHARES = (0.5, 0.0, 1.0, -0.4, 1.4)
"""Where along a side of what it names the middle of a name may stand."""
_SWEEPS = 2
"""So often names are placed anew once all have a place, each where it hides least then."""


@dataclass
class Label:
    """A number in a ring and words in one line or two, in an area [scene units]."""

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
        occupancy.add(area, _ON_PART if heavy else _ON_GREY_PART)
    for line in drawing.lines:
        for area in pieces(line.points):
            occupancy.add(area, _ON_WAY if line.identifier in shown else _ON_GREY_LINE)
    within = 1.0 / scale * MM
    for edge in _outside(region.adjusted(within, within, -within, -within)):
        occupancy.add(edge, _OUTSIDE)
    for area in marked_areas(picture, drawing, scale):
        occupancy.add(area, _ON_PART)
    for at in stray_ends(picture, drawing):
        radius = 2.0 / scale * MM
        occupancy.add(QRectF(at.x() - radius, at.y() - radius, 2 * radius, 2 * radius), _ON_WAY)
    candidates = [
        list(_candidates(number, words, around, scale))
        for number, words, around in _to_label(picture, drawing, scale)
    ]
    labels: list[Label] = []
    for sweep in range(_SWEEPS + 1):
        for place, choices in enumerate(candidates):
            if sweep:
                occupancy.remove(labels[place].area)
            best = _best(choices, occupancy, _CLEAR / scale * MM)
            occupancy.add(best.area, _ON_LABEL)
            labels[place : place + 1] = [best]
    return labels


def _best(choices: list[tuple[float, Label]], occupancy: Occupancy, clear: float) -> Label:
    """The choice that hides least, with what is kept free around it [scene units]."""

    def cost(choice: tuple[float, Label]) -> float:
        return choice[0] + occupancy.cost(choice[1].area.adjusted(-clear, -clear, clear, clear))

    return min(choices, key=cost)[1]


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
    """(cost in itself, label) for each place beside what it names, in one line or two."""
    unit = MM / scale
    metrics = QFontMetricsF(theme.sheet_font(LETTERS / scale, True))
    for more, text in enumerate(dict.fromkeys((words, words.replace(" ", "\n", 1)))):
        lines = text.split("\n")
        width = max(metrics.horizontalAdvance(line) for line in lines)
        width += (2 * RING + 0.5) * unit * bool(number)
        height = max(2 * RING * unit if number else 0.0, _LEADING * LETTERS * unit * len(lines))
        for cost, area in _places(around, width, height, unit):
            yield cost + 0.3 * more, Label(number, text, area)


def _places(
    around: QRectF, width: float, height: float, unit: float
) -> Iterator[tuple[float, QRectF]]:
    """(cost in itself, area) for each place beside what is named."""
    for step, gap in enumerate((0.9 * unit, 3.0 * unit, 6.0 * unit)):
        beside = ((around.right() + gap, 0), (around.left() - gap - width, 1))
        below = ((around.top() - gap - height, 0), (around.bottom() + gap, 1))
        for share in _SHARES:
            cost = 1.5 * step + 0.2 * abs(share - 0.5)
            y = around.top() + share * around.height() - height / 2
            x = around.left() + share * around.width() - width / 2
            for left, side in beside:
                yield cost + 0.05 * side, QRectF(left, y, width, height)
            for top, side in below:
                yield cost + 0.05 * side, QRectF(x, top, width, height)
