"""The view: zoom, pan, grid and paper; it hands pointer events, in modules, to a handler."""

from __future__ import annotations

from math import ceil, floor
from typing import Any, Protocol

from PySide6.QtCore import QLineF, QPoint, QPointF, QRect, QRectF, Qt, Signal
from PySide6.QtGui import QKeyEvent, QMouseEvent, QPainter, QPen, QWheelEvent
from PySide6.QtWidgets import QFrame, QGraphicsView, QWidget

from editor import theme
from editor.canvas.scene import Scene

M = theme.MODULE
SHEETS = {
    "A4": (297, 210),
    "A3": (420, 297),
    "A2": (594, 420),
    "A1": (841, 594),
    "A0": (1189, 841),
}
"""Width and height [mm] of sheets (ISO 216), lying."""

_MINIMUM_SCALE, _MAXIMUM_SCALE = 0.03, 4.0
_STEP = 1.2
_FINE_GRID_FROM = 0.3
_BEYOND = 200
"""How many modules one may look beyond what is drawn."""

Point = tuple[float, float]


class PointerHandler(Protocol):
    """Who decides what the pointer does; points are in modules."""

    def press(self, at: Point, event: QMouseEvent) -> None: ...
    def move(self, at: Point, event: QMouseEvent) -> None: ...
    def release(self, at: Point, event: QMouseEvent) -> None: ...
    def double_click(self, at: Point, event: QMouseEvent) -> None: ...
    def leave(self) -> None: ...
    def cancel(self) -> bool: ...


class View(QGraphicsView):
    """Shows a scene; the wheel zooms about the pointer, middle button or space pans."""

    zoomed = Signal(float)
    fitted = Signal()

    def __init__(self, scene: Scene, parent: QWidget | None = None) -> None:
        super().__init__(scene, parent)
        self.sheet_scene = scene
        self.handler: PointerHandler | None = None
        self._pan_from: QPoint | None = None
        self._space_held = False
        self.setRenderHints(QPainter.RenderHint.Antialiasing | QPainter.RenderHint.TextAntialiasing)
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.setMouseTracking(True)
        self.viewport().setMouseTracking(True)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setTransformationAnchor(QGraphicsView.ViewportAnchor.NoAnchor)
        self.setResizeAnchor(QGraphicsView.ViewportAnchor.AnchorViewCenter)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setVerticalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setAccessibleName("Sheet")
        self.scale(theme.FULL_SIZE, theme.FULL_SIZE)
        self.update_limits()
        scene.rebuilt.connect(self.update_limits)

    # -- where ------------------------------------------------------------------------

    def to_sheet(self, position: QPoint | QPointF) -> Point:
        """A point of the viewport in modules on the sheet."""
        inverse, _ = self.viewportTransform().inverted()
        at = inverse.map(QPointF(position))
        return at.x() / M, at.y() / M

    def to_viewport(self, at: Point) -> QPoint:
        """A point of the sheet in the viewport."""
        return self.mapFromScene(QPointF(at[0] * M, at[1] * M))

    def pixels(self, count: float) -> float:
        """So many pixels of the screen, in modules."""
        return count / (self.transform().m11() * M)

    def paper(self) -> QRectF:
        """The sheet of paper, in scene units."""
        size = str(self.sheet_scene.circuit.sheet.get("size", "A3"))
        width, height = SHEETS.get(size, SHEETS["A3"])
        return QRectF(0, 0, width * theme.MILLIMETRE, height * theme.MILLIMETRE)

    def update_limits(self) -> None:
        """Let the view move over paper and drawing, and somewhat beyond."""
        area = self.paper() | self.sheet_scene.extent()
        margin = _BEYOND * M
        self.setSceneRect(area.adjusted(-margin, -margin, margin, margin))
        self.viewport().update()

    # -- zoom and pan -----------------------------------------------------------------

    def zoom(self, factor: float, about: QPointF | None = None) -> None:
        """Zoom about a point of the viewport (its middle unless given)."""
        now = self.transform().m11()
        factor = min(max(factor, _MINIMUM_SCALE / now), _MAXIMUM_SCALE / now)
        pivot = about if about is not None else QPointF(self.viewport().rect().center())
        before = self.to_sheet(pivot)
        self.scale(factor, factor)
        self._bring(before, pivot)
        self.zoomed.emit(self.transform().m11())

    def _bring(self, at: Point, to: QPointF) -> None:
        """Scroll so that a point of the sheet comes to lie under a point of the viewport."""
        offset = self.to_viewport(at) - to.toPoint()
        self._scroll_by(offset)

    def _scroll_by(self, offset: QPoint) -> None:
        across, down = self.horizontalScrollBar(), self.verticalScrollBar()
        across.setValue(across.value() + offset.x())
        down.setValue(down.value() + offset.y())

    def zoom_in(self) -> None:
        """One step nearer."""
        self.zoom(_STEP)

    def zoom_out(self) -> None:
        """One step back."""
        self.zoom(1 / _STEP)

    def zoom_full_size(self) -> None:
        """Show the sheet at its size on paper."""
        self.zoom(theme.FULL_SIZE / self.transform().m11())

    def fit(self) -> None:
        """Show all that is drawn; an empty sheet is shown whole."""
        area = self.sheet_scene.extent()
        area = self.paper() if area.isEmpty() else area.adjusted(-2 * M, -2 * M, 2 * M, 2 * M)
        self.fitInView(area, Qt.AspectRatioMode.KeepAspectRatio)
        if self.transform().m11() > 2 * theme.FULL_SIZE:
            self.zoom(2 * theme.FULL_SIZE / self.transform().m11())
            self.centerOn(area.center())
        self.zoomed.emit(self.transform().m11())
        self.fitted.emit()

    def show_corner(self) -> None:
        """Show the upper left of the paper at its full size, to begin to draw there."""
        self.zoom_full_size()
        self._bring((-2.0, -2.0), QPointF(0, 0))
        self.fitted.emit()

    def count_under(self, area: QRect) -> int:
        """How many items are drawn under a rectangle of the viewport."""
        return len(self.items(area))

    def reveal(self, identifier: str) -> None:
        """Bring an element into view, without zooming."""
        item = self.sheet_scene.item(identifier)
        if item is not None:
            self.ensureVisible(item.sceneBoundingRect(), 60, 60)

    def show_area(self, area: QRectF) -> None:
        """Bring a part of the sheet into view, farther off if it is too large; else stay."""
        seen = self.mapToScene(self.viewport().rect()).boundingRect()
        if seen.contains(area) or area.isEmpty():
            return
        if area.width() > seen.width() or area.height() > seen.height():
            self.fitInView(area, Qt.AspectRatioMode.KeepAspectRatio)
            self.zoomed.emit(self.transform().m11())
        self.centerOn(area.center())

    def wheelEvent(self, event: QWheelEvent) -> None:
        """Zoom about the pointer; with Shift, move across."""
        steps = event.angleDelta().y() / 120
        across = event.angleDelta().x()
        if event.modifiers() & Qt.KeyboardModifier.ShiftModifier or (across and not steps):
            self._scroll_by(QPoint(-int(across or event.angleDelta().y()), 0))
        else:
            self.zoom(_STEP**steps, event.position())
        event.accept()

    # -- pointer and keys -------------------------------------------------------------

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Start to pan, or hand on."""
        left = event.button() == Qt.MouseButton.LeftButton
        if event.button() == Qt.MouseButton.MiddleButton or (left and self._space_held):
            self._pan_from = event.position().toPoint()
            self.viewport().setCursor(Qt.CursorShape.ClosedHandCursor)
        elif self.handler is not None:
            self.handler.press(self.to_sheet(event.position()), event)

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        """Pan, or hand on."""
        if self._pan_from is not None:
            here = event.position().toPoint()
            self._scroll_by(self._pan_from - here)
            self._pan_from = here
        elif self.handler is not None:
            self.handler.move(self.to_sheet(event.position()), event)

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        """End to pan, or hand on."""
        if self._pan_from is not None:
            self._pan_from = None
            shape = (
                Qt.CursorShape.OpenHandCursor if self._space_held else Qt.CursorShape.ArrowCursor
            )
            self.viewport().setCursor(shape)
        elif self.handler is not None:
            self.handler.release(self.to_sheet(event.position()), event)

    def mouseDoubleClickEvent(self, event: QMouseEvent) -> None:
        """Hand on."""
        if self.handler is not None and event.button() == Qt.MouseButton.LeftButton:
            self.handler.double_click(self.to_sheet(event.position()), event)

    def leaveEvent(self, event: Any) -> None:
        """Nothing is under the pointer any more."""
        if self.handler is not None:
            self.handler.leave()
        super().leaveEvent(event)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Space pans while it is held; Escape ends a gesture."""
        if event.key() == Qt.Key.Key_Space and not event.isAutoRepeat():
            self._space_held = True
            self.viewport().setCursor(Qt.CursorShape.OpenHandCursor)
        elif event.key() == Qt.Key.Key_Escape and self.handler is not None:
            self.handler.cancel()
        else:
            event.ignore()

    def keyReleaseEvent(self, event: QKeyEvent) -> None:
        """Space let go."""
        if event.key() == Qt.Key.Key_Space and not event.isAutoRepeat():
            self._space_held = False
            self.viewport().unsetCursor()

    def focusOutEvent(self, event: Any) -> None:
        """Keys let go elsewhere are not told here."""
        self._space_held = False
        super().focusOutEvent(event)

    # -- paper ------------------------------------------------------------------------

    def drawBackground(self, painter: QPainter, area: QRectF | Any) -> None:
        """Desk, paper, grid."""
        painter.fillRect(area, theme.DESK)
        paper = self.paper()
        painter.fillRect(area & paper, theme.PAPER)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing, False)
        scale = self.transform().m11()
        if scale >= _FINE_GRID_FROM:
            _draw_grid(painter, area, 1, theme.GRID.lighter(106))
        _draw_grid(painter, area, 5 if scale > 0.08 else 20, theme.GRID)
        edge = QPen(theme.FAINT_INK, 0)
        painter.setPen(edge)
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.drawRect(paper)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing, True)


def _draw_grid(painter: QPainter, area: QRectF, modules: int, colour) -> None:
    step = modules * M
    lines = [
        QLineF(i * step, area.top(), i * step, area.bottom())
        for i in range(floor(area.left() / step), ceil(area.right() / step) + 1)
    ]
    lines += [
        QLineF(area.left(), i * step, area.right(), i * step)
        for i in range(floor(area.top() / step), ceil(area.bottom() / step) + 1)
    ]
    painter.setPen(QPen(colour, 0))
    painter.drawLines(lines)
