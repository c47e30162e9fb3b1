"""The blocks of a report measured for a page: lines of text, rows of tables, drawings."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QPagedPaintDevice, QPainter, QPen

from analysis.report_blocks import (
    Block,
    Bullets,
    Contents,
    Frame,
    Heading,
    Paragraph,
    Signatures,
    SmallList,
    Table,
    Text,
    WayDrawing,
    bold,
    heading_text,
    italic,
    set_text,
)
from editor import theme
from editor.page_breaks import Item
from editor.report_lines import Lines, Paint, Piece, Row, set_lines
from editor.way_drawing import WayFigure

_HEADINGS = {1: (17.0, 0.0), 2: (12.5, 8.0), 3: (9.5, 4.5)}
"""Level -> size of letters [pt], space above [mm]."""
_TEXT, _SMALL, _CELL = 8.5, 7.0, 7.5
"""Sizes of letters [pt]."""
_SIGN_HEIGHT = 8.0
_CONTENTS_COLUMNS = 3
_SHORT = 8
"""Rows of a table, or points of a list, that is kept whole."""
_PAD_ACROSS, _PAD_ALONG = 1.3, 0.75
"""Around the text of a cell [mm]: three spaces lie between a full cell and a dash in the next."""
_BETWEEN_TABLES = 5.0
"""Space between a table and the one below it, that the two are not read as one [mm]."""
_RULE, _FINE = 0.35, 0.12
"""Widths of lines [mm]."""


class Setter:
    """Measures blocks for a column of a width [mm] on a device of `dots` to a millimetre."""

    def __init__(
        self,
        device: QPagedPaintDevice,
        width: float,
        dots: float,
        figures: Sequence[WayFigure | None],
        pages: dict[str, int],
    ) -> None:
        self.device, self.dots = device, dots
        self.width = width * dots
        self.figures = figures
        self.pages = pages
        """Anchor -> number of its page, known only when it is painted."""

    def items(self, blocks: Sequence[Block]) -> Iterator[Item]:
        """The blocks in order, ready to be placed."""
        sections = [b for b in blocks if isinstance(b, Heading) and b.level == 2]
        before: Block | None = None
        for block, after in zip(blocks, (*blocks[1:], None), strict=True):
            leads = isinstance(after, Table | WayDrawing | Bullets | SmallList)
            # what is said under a heading goes with the first heading of what it is said of
            if isinstance(before, Heading) and isinstance(after, Heading):
                leads = after.level > before.level
            match block:
                case Heading():
                    yield self._heading(block)
                case Paragraph():
                    yield self._paragraph(block, keep=leads or block.keep)
                case Bullets():
                    yield from self._bullets(block)
                case SmallList():
                    yield from self._small_list(block)
                case Frame():
                    yield self._frame(block)
                case Table():
                    follows = isinstance(before, Table)
                    yield from self._table(block, _BETWEEN_TABLES if follows else 2.0)
                case Signatures():
                    yield self._signatures(block)
                case Contents():
                    yield from self._contents(sections)
                case WayDrawing():
                    yield from self._way(block, keep=leads)
            before = block

    # -- text ------------------------------------------------------------------------

    def _lines(self, text: Text, width: float, size: float, *, right: bool = False) -> Lines:
        """Text set in lines of a width [dots], letters of a size [pt]."""
        return set_lines(text, self.device, width, size, right=right)

    def _heading(self, block: Heading) -> Item:
        size, space = _HEADINGS[block.level]
        lines = self._lines(set_text(bold(block.text)), self.width, size)
        under = block.level == 2
        height = lines.height + (2.2 if under else 0.8) * self.dots

        def paint(painter: QPainter, x: float, y: float) -> None:
            lines.paint(painter, x, y)
            if under:
                self._rule(painter, x, y + lines.height + 0.8 * self.dots, 0.5)

        return Piece(
            height,
            paint,
            space * self.dots,
            keep=True,
            anchor=block.anchor,
        )

    def _paragraph(self, block: Paragraph, *, keep: bool = False) -> Row:
        lines = self._lines(block.text, self.width, _SMALL if block.small else _TEXT)
        return Row([(0.0, lines)], 0.0, None, space=1.6 * self.dots, keep=keep)

    def _bullets(self, block: Bullets) -> Iterator[Row]:
        left = 4.0 * self.dots
        count = len(block.items)
        for number, item in enumerate(block.items):
            mark = self._lines(set_text("•"), left, _TEXT)
            lines = self._lines(item, self.width - left, _TEXT)
            cells = [(1.5 * self.dots, mark), (left, lines)]
            together = _together(number, count)
            yield Row(cells, 0.0, None, space=0.9 * self.dots, keep=together)

    def _small_list(self, block: SmallList) -> Iterator[Item]:
        again = self._lines(set_text(italic(block.continued)), self.width, _SMALL)
        head = Piece(again.height + 0.6 * self.dots, again.paint)
        for number, item in enumerate(block.items):
            lines = self._lines(item, self.width, _SMALL)
            first, last = number == 0, number == len(block.items) - 1
            space = 1.6 * self.dots if first else 0.0
            # all ask for the page of the first: what of them does not fit there goes over
            yield Row([(0.0, lines)], 0.0, None, space, keep=not last, head=None if first else head)

    def _frame(self, block: Frame) -> Piece:
        pad = 3.0 * self.dots
        inside = Setter(self.device, (self.width - 2 * pad) / self.dots, self.dots, (), self.pages)
        items = list(inside.items(block.blocks))
        height = sum(i.height + i.space for i in items) - items[0].space + 2 * pad

        def paint(painter: QPainter, x: float, y: float) -> None:
            painter.setPen(QPen(QColor("black"), 0.6 * self.dots))
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.drawRect(QRectF(x, y, self.width, height))
            at = y + pad - items[0].space
            for item in items:
                item.paint(painter, x + pad, at + item.space)
                at += item.space + item.height

        return Piece(height, paint, 3.0 * self.dots)

    # -- tables ----------------------------------------------------------------------

    def _columns(self, widths: Sequence[int]) -> list[tuple[float, float]]:
        """Left edge and width of each column's text [dots]."""
        pad, total = _PAD_ACROSS * self.dots, sum(widths)
        edges = [self.width * sum(widths[:n]) / total for n in range(len(widths) + 1)]
        return [(left + pad, right - left - 2 * pad) for left, right in pairwise(edges)]

    def _table(self, block: Table, space: float) -> Iterator[Item]:
        columns = self._columns(block.widths)
        pad = _PAD_ALONG * self.dots
        cells = [
            (left, self._lines(heading_text(h), width, _CELL, right=n in block.numbers))
            for n, (h, (left, width)) in enumerate(zip(block.headings, columns, strict=True))
        ]
        row = Row(cells, pad, None)

        def paint_head(painter: QPainter, x: float, y: float) -> None:
            # words of one line stand at the foot of a head of two
            for left, lines in cells:
                lines.paint(painter, x + left, y + row.height - pad - lines.height)
            self._rule(painter, x, y, _RULE)
            self._rule(painter, x, y + row.height, _RULE)

        head = Piece(row.height, paint_head, space * self.dots, keep=True)
        yield head
        count = len(block.rows)
        for number, texts in enumerate(block.rows):
            cells_of = [
                (left, self._lines(text, width, _CELL, right=n in block.numbers))
                for n, (text, (left, width)) in enumerate(zip(texts, columns, strict=True))
            ]
            last = number == count - 1
            together = _together(number, count)
            yield Row(cells_of, pad, self._foot(last), keep=together, head=head)

    def _foot(self, last: bool) -> Paint:
        width = _RULE if last else _FINE
        return lambda painter, x, y: self._rule(painter, x, y, width)

    def _rule(self, painter: QPainter, x: float, y: float, width: float) -> None:
        painter.setPen(QPen(QColor("black"), width * self.dots))
        painter.drawLine(QPointF(x, y), QPointF(x + self.width, y))

    def _signatures(self, block: Signatures) -> Piece:
        columns = self._columns(block.widths)
        head = [self._lines(set_text(bold(h)), w, _CELL) for h, (_, w) in zip(
            block.headings, columns, strict=True)]  # fmt: skip
        roles = [self._lines(set_text(role), columns[0][1], _TEXT) for role in block.roles]
        top = 6.0 * self.dots
        step = _SIGN_HEIGHT * self.dots
        height = top + step * len(roles)
        pad = _PAD_ACROSS * self.dots

        def paint(painter: QPainter, x: float, y: float) -> None:
            for lines, (left, _) in zip(head, columns, strict=True):
                lines.paint(painter, x + left, y + (top - lines.height) / 2)
            for number, lines in enumerate(roles):
                at = y + top + number * step
                lines.paint(painter, x + pad, at + (step - lines.height) / 2)
                self._rule(painter, x, at, _FINE if number else _RULE)
            painter.setPen(QPen(QColor("black"), _RULE * self.dots))
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.drawRect(QRectF(x, y, self.width, height))
            painter.setPen(QPen(QColor("black"), _FINE * self.dots))
            for left, _ in columns[1:]:
                edge = x + left - pad
                painter.drawLine(QPointF(edge, y), QPointF(edge, y + height))

        return Piece(height, paint, 1.0 * self.dots)

    def _contents(self, sections: Sequence[Heading]) -> Iterator[Item]:
        down = -(-len(sections) // _CONTENTS_COLUMNS)
        gap = 6.0 * self.dots
        width = (self.width - gap * (_CONTENTS_COLUMNS - 1)) / _CONTENTS_COLUMNS
        titles = [self._lines(set_text(s.text), width, _TEXT) for s in sections]
        step = titles[0].height * 1.1 if titles else 0.0

        def paint(painter: QPainter, x: float, y: float) -> None:
            for number, (section, lines) in enumerate(zip(sections, titles, strict=True)):
                left = x + (number // down) * (width + gap)
                top = y + (number % down) * step
                lines.paint(painter, left, top)
                page = set_text(str(self.pages.get(section.anchor, "")))
                self._lines(page, width, _TEXT, right=True).paint(painter, left, top)

        yield Piece(step * down, paint, 1.0 * self.dots)

    # -- drawings --------------------------------------------------------------------

    def _way(self, block: WayDrawing, *, keep: bool) -> Iterator[Item]:
        figure = self.figures[block.index]
        if figure is None:
            return
        width, height = (mm * self.dots for mm in figure.size)

        def paint(painter: QPainter, x: float, y: float) -> None:
            painter.save()
            painter.translate(x + (self.width - width) / 2, y)
            painter.save()
            painter.scale(self.dots / theme.MILLIMETRE, self.dots / theme.MILLIMETRE)
            figure.paint(painter)
            painter.restore()
            painter.setPen(QPen(QColor("black"), _FINE * self.dots))
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.drawRect(QRectF(0, 0, width, height))
            painter.restore()

        yield Piece(height, paint, 2.0 * self.dots, keep=True)
        lines = self._lines(block.caption, self.width, _SMALL)
        yield Row([(0.0, lines)], 0.0, None, space=1.0 * self.dots, keep=keep)


def _together(number: int, count: int) -> bool:
    """Whether a row of so many stays with the next: a short list whole, of no other one alone."""
    last = number == count - 1
    return not last and (number in (0, count - 2) or count <= _SHORT)
