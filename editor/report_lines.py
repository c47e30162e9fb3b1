"""Text set in lines for a page, and the pieces and rows that stand on one."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace

from PySide6.QtCore import QPointF, Qt
from PySide6.QtGui import (
    QColor,
    QFont,
    QPagedPaintDevice,
    QPainter,
    QTextCharFormat,
    QTextLayout,
    QTextOption,
)

from analysis.report_blocks import BREAK, Span, Text
from editor import theme
from editor.page_breaks import Item

Paint = Callable[[QPainter, float, float], None]


@dataclass
class Lines:
    """Text in lines of a width; it keeps the layouts that Qt draws the lines from."""

    lines: list[tuple[QTextLayout, int, float]] = field(default_factory=list)

    @property
    def height(self) -> float:
        """Of all lines."""
        return sum(height for _, _, height in self.lines)

    def paint(self, painter: QPainter, x: float, y: float) -> None:
        """Draw them one below the other."""
        painter.setPen(QColor("black"))
        for layout, number, height in self.lines:
            line = layout.lineAt(number)
            line.draw(painter, QPointF(x - line.x(), y - line.y()))
            y += height

    def divided(self, height: float) -> tuple[Lines, Lines]:
        """Those that fit into a height, and the others."""
        count = 0
        while count < len(self.lines) and height >= self.lines[count][2]:
            height -= self.lines[count][2]
            count += 1
        return Lines(self.lines[:count]), Lines(self.lines[count:])


@dataclass
class Piece:
    """Something with a height that is painted at one place."""

    height: float
    paint: Paint
    space: float = 0.0
    keep: bool = False
    head: Item | None = None
    anchor: str = ""

    def divided(self, _height: float) -> None:
        """It stays whole."""
        return


@dataclass
class Row:
    """A row of cells, or a paragraph, which is a row of one: text that can be divided."""

    cells: list[tuple[float, Lines]]
    """Where each begins [dots], and its text."""
    pad: float
    rule: Paint | None
    space: float = 0.0
    keep: bool = False
    head: Item | None = None

    @property
    def height(self) -> float:
        """Of the highest cell."""
        return max((lines.height for _, lines in self.cells), default=0.0) + 2 * self.pad

    def paint(self, painter: QPainter, x: float, y: float) -> None:
        """Draw the cells and the rule below."""
        for left, lines in self.cells:
            lines.paint(painter, x + left, y + self.pad)
        if self.rule is not None:
            self.rule(painter, x, y + self.height)

    def divided(self, height: float) -> tuple[Row, Row] | None:
        """Each cell's lines that fit, and those that do not; None if none fit."""
        pairs = [(left, lines.divided(height - 2 * self.pad)) for left, lines in self.cells]
        if not any(above.lines for _, (above, _) in pairs):
            return None
        above = replace(self, cells=[(left, pair[0]) for left, pair in pairs], keep=False)
        below = replace(self, cells=[(left, pair[1]) for left, pair in pairs], space=0.0)
        return above, below


def set_lines(
    text: Text, device: QPagedPaintDevice, width: float, size: float, *, right: bool = False
) -> Lines:
    """Text set in lines of a width [dots of the device], letters of a size [pt]."""
    found = Lines()
    for spans in _paragraphs(text):
        layout = QTextLayout("".join(s.text for s in spans) or " ", _font(size), device)
        option = QTextOption(Qt.AlignmentFlag.AlignRight if right else Qt.AlignmentFlag.AlignLeft)
        option.setWrapMode(QTextOption.WrapMode.WrapAtWordBoundaryOrAnywhere)
        option.setUseDesignMetrics(True)
        layout.setTextOption(option)
        layout.setFormats(_formats(spans, size))
        layout.beginLayout()
        while (line := layout.createLine()).isValid():
            line.setLineWidth(width)
        layout.endLayout()
        for number in range(layout.lineCount()):
            found.lines.append((layout, number, layout.lineAt(number).height() * 1.08))
    return found


def _paragraphs(text: Text) -> list[list[Span]]:
    """The text between its breaks."""
    found: list[list[Span]] = [[]]
    for span in text:
        if span == BREAK:
            found.append([])
        else:
            found[-1].append(span)
    return found


def _formats(spans: Sequence[Span], size: float) -> list[QTextLayout.FormatRange]:
    found = []
    start = 0
    for span in spans:
        # Qt counts in UTF-16, where rare characters take two
        length = len(span.text.encode("utf-16-le", "surrogatepass")) // 2
        if span.bold or span.italic:
            form = QTextCharFormat()
            form.setFont(_font(size, bold=span.bold, italic=span.italic))
            piece = QTextLayout.FormatRange()
            piece.start, piece.length, piece.format = start, length, form
            found.append(piece)
        start += length
    return found


def _font(size: float, *, bold: bool = False, italic: bool = False) -> QFont:
    font = QFont(theme.FONT_FAMILY)
    font.setPointSizeF(size)
    font.setBold(bold)
    font.setItalic(italic)
    return font
