"""The dots at ports where several lines meet."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Mapping

from PySide6.QtWidgets import QGraphicsEllipseItem, QGraphicsScene

from analysis.circuit import Circuit, Component
from analysis.routing import Point, placed_end
from editor import theme
from editor.canvas.lettering import to_scene
from editor.painting import DOT_RADIUS

_RADIUS = DOT_RADIUS * theme.MODULE


class JointDots:
    """Keeps one dot for every place where lines meet at a port; junctions draw their own."""

    def __init__(self, scene: QGraphicsScene, place_of: Callable[[Component], Point]) -> None:
        self._scene = scene
        self._place_of = place_of
        self._dots: dict[Point, QGraphicsEllipseItem] = {}

    def places(self) -> set[Point]:
        """Where the dots are, in modules."""
        return set(self._dots)

    def show(self, circuit: Circuit, moved: Mapping[str, Component]) -> None:
        """Put the dots where they belong; `moved` holds components a gesture would move."""
        wanted = self._meeting_places(circuit, moved)
        for at in set(self._dots) - wanted:
            self._scene.removeItem(self._dots.pop(at))
        for at in wanted - set(self._dots):
            self._dots[at] = self._make(at)

    def _meeting_places(self, circuit: Circuit, moved: Mapping[str, Component]) -> set[Point]:
        meeting: Counter[str] = Counter()
        for line in circuit.lines.values():
            meeting.update((line.start, line.end))
        places = set()
        for port, count in meeting.items():
            identifier, _, name = port.rpartition(".")
            component = moved.get(identifier) or circuit.components.get(identifier)
            if count > 1 and component is not None and component.kind != "junction":
                places.add(placed_end(component, name, self._place_of(component)).at)
        return places

    def _make(self, at: Point) -> QGraphicsEllipseItem:
        dot = QGraphicsEllipseItem(-_RADIUS, -_RADIUS, 2 * _RADIUS, 2 * _RADIUS)
        dot.setPos(to_scene(at))
        dot.setBrush(theme.INK)
        dot.setPen(theme.pen(theme.INK.name(), 0.1))
        dot.setZValue(3)
        self._scene.addItem(dot)
        return dot
