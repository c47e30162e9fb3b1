"""The report as the bytes of an HTML page or a PDF; the same circuit gives the same bytes."""

from __future__ import annotations

from dataclasses import dataclass

from PySide6.QtCore import (
    QBuffer,
    QByteArray,
    QIODevice,
    QMarginsF,
    QPointF,
    QRectF,
    QSizeF,
    Qt,
    QUuid,
)
from PySide6.QtGui import (
    QColor,
    QFont,
    QFontMetricsF,
    QPageLayout,
    QPageSize,
    QPainter,
    QPdfWriter,
    QPen,
)

from analysis.plain_text import one_line
from analysis.report import Report
from analysis.report_blocks import SheetDrawing as SheetBlock
from analysis.report_content import report_blocks
from analysis.report_html import html_page
from editor import theme
from editor.page_breaks import Page, break_pages
from editor.report_items import Setter
from editor.report_lines import Piece
from editor.sheet_drawing import SheetDrawing, draw_sheet
from editor.sheet_export import (
    check_fonts,
    day_of,
    redated,
    sheet_bytes,
    svg_bytes,
    universal_time,
)
from editor.unit_presets import DisplayUnits
from editor.way_drawing import WayFigure, draw_ways

_DOTS_PER_INCH = 1200
_DOTS = _DOTS_PER_INCH / 25.4
"""Dots to a millimetre."""

_A4 = (210.0, 297.0)
_SIDE, _TOP, _BOTTOM = 16.0, 22.0, 18.0
"""Margins of the pages of text [mm]; head and foot stand in them."""
_WIDTH, _HEIGHT = _A4[0] - 2 * _SIDE, _A4[1] - _TOP - _BOTTOM
_MOST_OF_PAGE = 150.0
"""No drawing of a verdict is higher than this [mm]."""


def report_html(report: Report) -> bytes:
    """The report as one HTML page; raises CircuitError if there is no font for the sheet."""
    check_fonts()
    drawing = _element(sheet_bytes(report.circuit, "svg"))
    ways = [
        "" if figure is None else _element(svg_bytes(figure.size, figure.paint, "Ways"))
        for figure in _figures(report)
    ]
    page = html_page(report, DisplayUnits(report.circuit), drawing, ways)
    return page.encode("utf-8", "replace")


def _element(svg: bytes) -> str:
    """The `svg` element alone, without the declarations of a file of its own."""
    text = svg.decode("utf-8")
    return text[text.index("<svg") :]


def _figures(report: Report) -> list[WayFigure | None]:
    return [
        None if picture is None else draw_ways(picture, _WIDTH, _MOST_OF_PAGE)
        for picture in report.pictures
    ]


@dataclass
class Pages:
    """What goes on the pages: text before the sheet, the sheet, text after it.

    `numbers` holds the page of each section by its anchor.
    """

    front: list[Page]
    drawing: SheetDrawing
    body: list[Page]
    head: str
    foot: str
    numbers: dict[str, int]

    @property
    def count(self) -> int:
        """All pages."""
        return len(self.front) + 1 + len(self.body)


def report_pdf(report: Report) -> bytes:
    """The report as a PDF; raises CircuitError if there is no font to letter it with."""
    check_fonts()
    data = QByteArray()
    buffer = QBuffer(data)
    buffer.open(QIODevice.OpenModeFlag.WriteOnly)
    title = report.circuit.title
    name = one_line(f"{title.get('number', '')} {title.get('name', '')}").strip()
    with universal_time():
        writer = QPdfWriter(buffer)
        digits = QByteArray(f"report {report.file_checksum}".encode())
        writer.setDocumentId(QUuid.createUuidV5(QUuid(), digits))
        writer.setTitle(f"Report: {name or one_line(report.file_name)}")
        writer.setCreator("Standpipe")
        writer.setResolution(_DOTS_PER_INCH)
        _paint_pages(writer, set_out(report, writer, name or one_line(report.file_name)))
        del writer
    buffer.close()
    return redated(bytes(data.data()), day_of(report.circuit))


def set_out(report: Report, writer: QPdfWriter, name: str) -> Pages:
    """The pages of the report, and the number of each section's page."""
    blocks = report_blocks(report, DisplayUnits(report.circuit))
    at = next(n for n, block in enumerate(blocks) if isinstance(block, SheetBlock))
    # the sheet has a page of its own; what heads it stands in the list of contents alone
    sheet_anchor = blocks[at - 1].anchor  # type: ignore[union-attr]
    numbers: dict[str, int] = {}
    setter = Setter(writer, _WIDTH, _DOTS, _figures(report), numbers)
    items = list(setter.items(blocks))
    split = next(
        n for n, item in enumerate(items) if isinstance(item, Piece) and item.anchor == sheet_anchor
    )
    height = _HEIGHT * _DOTS
    front = break_pages(items[:split], height)
    body = break_pages(items[split + 1 :], height)
    for first, pages in ((1, front), (len(front) + 2, body)):
        for number, page in enumerate(pages, start=first):
            for _, item in page.items:
                if isinstance(item, Piece) and item.anchor:
                    numbers[item.anchor] = number
    numbers[sheet_anchor] = len(front) + 1
    foot = f"Not for release to service.  Circuit file SHA-256 {report.file_checksum[:16]}…"
    return Pages(front, draw_sheet(report.circuit), body, name, foot, numbers)


def _set_page(writer: QPdfWriter, width: float, height: float) -> None:
    """Size [mm] of the next page."""
    size = QPageSize(QSizeF(width, height), QPageSize.Unit.Millimeter)
    layout = QPageLayout(size, QPageLayout.Orientation.Portrait, QMarginsF(0, 0, 0, 0))
    layout.setMode(QPageLayout.Mode.FullPageMode)
    writer.setPageLayout(layout)


def _paint_pages(writer: QPdfWriter, pages: Pages) -> None:
    _set_page(writer, *_A4)
    painter = QPainter(writer)
    painter.setRenderHints(QPainter.RenderHint.Antialiasing | QPainter.RenderHint.TextAntialiasing)
    number = 0
    for page in pages.front:
        number += 1
        if number > 1:
            writer.newPage()
        _paint_page(painter, pages, page, number)
    sheet = pages.drawing.sheet
    number += 1
    _set_page(writer, sheet.width, sheet.height)
    writer.newPage()
    _paint_sheet(painter, pages, number)
    _set_page(writer, *_A4)
    for page in pages.body:
        number += 1
        writer.newPage()
        _paint_page(painter, pages, page, number)
    painter.end()


def _paint_page(painter: QPainter, pages: Pages, page: Page, number: int) -> None:
    """A page of text, with its head and foot."""
    for distance, item in page.items:
        item.paint(painter, _SIDE * _DOTS, _TOP * _DOTS + distance)
    _paint_head(painter, pages, number)


def _paint_head(painter: QPainter, pages: Pages, number: int) -> None:
    """What the page belongs to, and which of how many it is."""
    area = QRectF(_SIDE * _DOTS, _TOP * _DOTS, _WIDTH * _DOTS, _HEIGHT * _DOTS)
    painter.save()
    painter.setPen(QPen(QColor("black"), 0.25 * _DOTS))
    head = area.top() - 4 * _DOTS
    painter.drawLine(QPointF(area.left(), head), QPointF(area.right(), head))
    painter.setFont(_small())
    above = QRectF(area.left(), head - 8 * _DOTS, area.width(), 7 * _DOTS)
    metrics = QFontMetricsF(_small(), painter.device())
    shown = metrics.elidedText(pages.head, Qt.TextElideMode.ElideRight, above.width())
    _write(painter, above, Qt.AlignmentFlag.AlignLeft, shown)
    below = QRectF(area.left(), area.bottom() + 2 * _DOTS, area.width(), 8 * _DOTS)
    _write(painter, below, Qt.AlignmentFlag.AlignLeft, pages.foot)
    _write(painter, below, Qt.AlignmentFlag.AlignRight, _page_of(pages, number))
    painter.restore()


def _paint_sheet(painter: QPainter, pages: Pages, number: int) -> None:
    """The sheet in its own size, with the page's number in the margin below the frame."""
    sheet = pages.drawing.sheet
    painter.save()
    painter.scale(_DOTS / theme.MILLIMETRE, _DOTS / theme.MILLIMETRE)
    pages.drawing.paint(painter)
    painter.restore()
    painter.save()
    painter.setPen(QColor("black"))
    painter.setFont(_small())
    margin = QRectF(0, (sheet.height - 5.0) * _DOTS, (sheet.width - 10.0) * _DOTS, 4.5 * _DOTS)
    _write(painter, margin, Qt.AlignmentFlag.AlignRight, _page_of(pages, number))
    painter.restore()


def _page_of(pages: Pages, number: int) -> str:
    return f"page {number} of {pages.count}"


def _small() -> QFont:
    font = QFont(theme.FONT_FAMILY)
    font.setPointSizeF(7.5)
    return font


def _write(painter: QPainter, area: QRectF, side: Qt.AlignmentFlag, text: str) -> None:
    flags = side | Qt.AlignmentFlag.AlignVCenter | Qt.TextFlag.TextSingleLine
    painter.drawText(area, int(flags), text)
