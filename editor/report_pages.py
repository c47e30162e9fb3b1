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
    QAbstractTextDocumentLayout,
    QColor,
    QFont,
    QFontMetricsF,
    QPageLayout,
    QPageSize,
    QPainter,
    QPalette,
    QPdfWriter,
    QPen,
    QTextDocument,
)

from analysis.plain_text import one_line
from analysis.report import Report
from analysis.report_html import html_page, html_parts
from editor import theme
from editor.sheet_drawing import SheetDrawing, draw_sheet
from editor.sheet_export import check_fonts, day_of, redated, sheet_bytes, universal_time
from editor.unit_presets import DisplayUnits

_DOTS_PER_INCH = 1200
_DOTS = _DOTS_PER_INCH / 25.4
"""Dots to a millimetre."""

_A4 = (210.0, 297.0)
_SIDE, _TOP, _BOTTOM = 16.0, 22.0, 18.0
"""Margins of the pages of text [mm]; head and foot stand in them."""

_STYLE = """
h1 { font-size: 16pt; } h2 { font-size: 12pt; margin-top: 24px; }
h3 { font-size: 10pt; margin-top: 14px; }
table { border-collapse: collapse; border-style: solid; border-color: #000000; }
th, td { font-size: 7.5pt; }
.caution td { font-size: 9pt; }
"""


def report_html(report: Report) -> bytes:
    """The report as one HTML page; raises CircuitError if there is no font for the sheet."""
    text = sheet_bytes(report.circuit, "svg").decode("utf-8")
    # inside a page the element stands alone, without the declarations of a file of its own
    drawing = text[text.index("<svg") :]
    page = html_page(report, DisplayUnits(report.circuit), drawing)
    return page.encode("utf-8", "replace")


@dataclass
class _Pages:
    """What goes on the pages: text before the sheet, the sheet, text after it."""

    front: QTextDocument
    drawing: SheetDrawing
    body: QTextDocument
    head: str

    @property
    def count(self) -> int:
        """All pages."""
        return self.front.pageCount() + 1 + self.body.pageCount()


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
        front, body = html_parts(report, DisplayUnits(report.circuit))
        pages = _Pages(
            _document(front, writer),
            draw_sheet(report.circuit),
            _document(body, writer),
            name or one_line(report.file_name),
        )
        _paint_pages(writer, pages)
        del writer
    buffer.close()
    return redated(bytes(data.data()), day_of(report.circuit))


def _document(html: str, writer: QPdfWriter) -> QTextDocument:
    document = QTextDocument()
    document.documentLayout().setPaintDevice(writer)
    document.setUseDesignMetrics(True)
    document.setDocumentMargin(0)
    font = QFont(theme.FONT_FAMILY)
    font.setPointSizeF(9.0)
    document.setDefaultFont(font)
    document.setDefaultStyleSheet(_STYLE)
    document.setHtml(html)
    document.setPageSize(_text_area().size())
    return document


def _text_area() -> QRectF:
    """Where text stands on a page, in dots."""
    width, height = _A4
    return QRectF(
        _SIDE * _DOTS,
        _TOP * _DOTS,
        (width - 2 * _SIDE) * _DOTS,
        (height - _TOP - _BOTTOM) * _DOTS,
    )


def _set_page(writer: QPdfWriter, width: float, height: float) -> None:
    """Size [mm] of the next page."""
    size = QPageSize(QSizeF(width, height), QPageSize.Unit.Millimeter)
    layout = QPageLayout(size, QPageLayout.Orientation.Portrait, QMarginsF(0, 0, 0, 0))
    layout.setMode(QPageLayout.Mode.FullPageMode)
    writer.setPageLayout(layout)


def _paint_pages(writer: QPdfWriter, pages: _Pages) -> None:
    _set_page(writer, *_A4)
    painter = QPainter(writer)
    painter.setRenderHints(QPainter.RenderHint.Antialiasing | QPainter.RenderHint.TextAntialiasing)
    number = 1
    for index in range(pages.front.pageCount()):
        if index:
            writer.newPage()
        _paint_text(painter, pages.front, index)
        _paint_head(painter, pages, number)
        number += 1
    sheet = pages.drawing.sheet
    _set_page(writer, sheet.width, sheet.height)
    writer.newPage()
    _paint_sheet(painter, pages, number)
    _set_page(writer, *_A4)
    for index in range(pages.body.pageCount()):
        number += 1
        writer.newPage()
        _paint_text(painter, pages.body, index)
        _paint_head(painter, pages, number)
    painter.end()


def _paint_text(painter: QPainter, document: QTextDocument, index: int) -> None:
    """One page of a text."""
    area = _text_area()
    context = QAbstractTextDocumentLayout.PaintContext()
    palette = QPalette()
    palette.setColor(QPalette.ColorRole.Text, QColor("black"))
    context.palette = palette
    context.clip = QRectF(0, index * area.height(), area.width(), area.height())
    painter.save()
    painter.translate(area.topLeft() - QPointF(0, index * area.height()))
    painter.setClipRect(context.clip)
    document.documentLayout().draw(painter, context)
    painter.restore()


def _paint_head(painter: QPainter, pages: _Pages, number: int) -> None:
    """Head and foot of a page of text: what it belongs to, and which of how many it is."""
    area = _text_area()
    painter.save()
    painter.setPen(QPen(QColor("black"), 0.25 * _DOTS))
    head = area.top() - 4 * _DOTS
    painter.drawLine(QPointF(area.left(), head), QPointF(area.right(), head))
    painter.setFont(_small())
    above = QRectF(area.left(), head - 8 * _DOTS, area.width(), 7 * _DOTS)
    metrics = QFontMetricsF(_small(), painter.device())
    shown = metrics.elidedText(pages.head, Qt.TextElideMode.ElideRight, above.width())
    _write(painter, above, Qt.AlignmentFlag.AlignLeft, shown)
    below = QRectF(area.left(), area.bottom() + 1 * _DOTS, area.width(), 8 * _DOTS)
    _write(painter, below, Qt.AlignmentFlag.AlignLeft, "Not for release to service.")
    _write(painter, below, Qt.AlignmentFlag.AlignRight, _page_of(pages, number))
    painter.restore()


def _paint_sheet(painter: QPainter, pages: _Pages, number: int) -> None:
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


def _page_of(pages: _Pages, number: int) -> str:
    return f"page {number} of {pages.count}"


def _small() -> QFont:
    font = QFont(theme.FONT_FAMILY)
    font.setPointSizeF(7.5)
    return font


def _write(painter: QPainter, area: QRectF, side: Qt.AlignmentFlag, text: str) -> None:
    flags = side | Qt.AlignmentFlag.AlignVCenter | Qt.TextFlag.TextSingleLine
    painter.drawText(area, int(flags), text)
