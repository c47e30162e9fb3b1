"""The drawn sheet as the bytes of a PDF, SVG or PNG; the same circuit gives the same bytes."""

from __future__ import annotations

import os
import re
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import date

from PySide6.QtCore import (
    QBuffer,
    QByteArray,
    QHashSeed,
    QIODevice,
    QMarginsF,
    QRectF,
    QSize,
    QSizeF,
    QUuid,
)
from PySide6.QtGui import (
    QFont,
    QFontMetricsF,
    QGuiApplication,
    QImage,
    QPageLayout,
    QPageSize,
    QPainter,
    QPdfWriter,
)

from analysis.circuit import Circuit
from analysis.errors import CircuitError
from analysis.plain_text import one_line
from analysis.sheet_texts import checksum
from editor import theme
from editor.sheet_drawing import SheetDrawing, draw_sheet

MM = theme.MILLIMETRE
_PDF_DOTS_PER_INCH = 1200
_MOST_PIXELS = 40_000_000
"""An image of more would need more memory than a small machine has to spare."""


def sheet_bytes(circuit: Circuit, form: str) -> bytes:
    """The sheet as a file of the form `pdf`, `svg` or `png`.

    Raises
    ------
    CircuitError
        If there is no font to letter it with, or no memory for the picture.
    """
    makers: dict[str, Callable[[Circuit, SheetDrawing], bytes]] = {
        "pdf": _pdf,
        "svg": _svg,
        "png": _png,
    }
    check_fonts()
    return makers[form](circuit, draw_sheet(circuit))


def start_drawing() -> QGuiApplication:
    """Make Qt ready to draw without a screen; keep what is returned while drawing.

    Qt's hashes are seeded alike in every run, since the order of fonts in a PDF follows them.
    """
    running = QGuiApplication.instance()
    if isinstance(running, QGuiApplication):
        return running
    os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
    QHashSeed.setDeterministicGlobalSeed()
    return QGuiApplication(["standpipe"])


def check_fonts() -> None:
    """Without any font Qt draws boxes of one width, and no text at all in a PDF."""
    metrics = QFontMetricsF(QFont(theme.FONT_FAMILY))
    if metrics.horizontalAdvance("iiii") == metrics.horizontalAdvance("WWWW"):
        raise CircuitError("no font is installed to letter the sheet; install fonts-dejavu-core")


# -- PDF ---------------------------------------------------------------------------------

_PDF_DATE = re.compile(rb"(?<=\(D:)\d{14}")
_XMP_DATE = re.compile(rb"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d")


def _pdf(circuit: Circuit, drawing: SheetDrawing) -> bytes:
    data = QByteArray()
    buffer = QBuffer(data)
    buffer.open(QIODevice.OpenModeFlag.WriteOnly)
    sheet = drawing.sheet
    with universal_time():
        writer = QPdfWriter(buffer)
        digits = checksum(circuit).encode()
        writer.setDocumentId(QUuid.createUuidV5(QUuid(), QByteArray(digits)))
        writer.setTitle(one_line(circuit.title.get("name", "")) or "Hydraulic circuit diagram")
        writer.setCreator("Standpipe")
        writer.setResolution(_PDF_DOTS_PER_INCH)
        size = QPageSize(QSizeF(sheet.width, sheet.height), QPageSize.Unit.Millimeter, sheet.size)
        no_margins = QMarginsF(0, 0, 0, 0)
        layout = QPageLayout(size, QPageLayout.Orientation.Portrait, no_margins)
        layout.setMode(QPageLayout.Mode.FullPageMode)
        writer.setPageLayout(layout)
        _paint(writer, drawing, _PDF_DOTS_PER_INCH / 25.4 / MM)
        del writer
    buffer.close()
    return redated(bytes(data.data()), day_of(circuit))


def day_of(circuit: Circuit) -> date:
    """The date in the title block, if it is one; a fixed day else: never that of the run."""
    try:
        return date.fromisoformat(circuit.title.get("date", "").strip())
    except ValueError:
        return date(2000, 1, 1)


def redated(data: bytes, day: date) -> bytes:
    """The document with that date in place of the moment at which it was made."""
    data = _PDF_DATE.sub(day.strftime("%Y%m%d000000").encode().rjust(14, b"0"), data)
    return _XMP_DATE.sub(f"{day.isoformat()}T00:00:00".encode(), data)


@contextmanager
def universal_time() -> Iterator[None]:
    """Dates are then written in the same number of characters wherever the program runs."""
    before = os.environ.get("TZ")
    os.environ["TZ"] = "UTC"
    _tell_clock()
    try:
        yield
    finally:
        if before is None:
            del os.environ["TZ"]
        else:
            os.environ["TZ"] = before
        _tell_clock()


def _tell_clock() -> None:
    if hasattr(time, "tzset"):
        time.tzset()


# -- SVG and PNG ---------------------------------------------------------------------------


def _svg(circuit: Circuit, drawing: SheetDrawing) -> bytes:
    size = drawing.sheet.width, drawing.sheet.height
    title = one_line(circuit.title.get("name", "")) or "Hydraulic circuit diagram"
    return svg_bytes(size, drawing.paint, title)


def svg_bytes(size: tuple[float, float], paint: Callable[[QPainter], None], title: str) -> bytes:
    """A drawing of that size [mm] as SVG; `paint` draws it in 0.1 mm."""
    from PySide6.QtSvg import QSvgGenerator

    data = QByteArray()
    buffer = QBuffer(data)
    buffer.open(QIODevice.OpenModeFlag.WriteOnly)
    width, height = size[0] * MM, size[1] * MM
    generator = QSvgGenerator()
    generator.setOutputDevice(buffer)
    # one unit is 0.1 mm, so 254 of them are an inch
    generator.setResolution(round(25.4 * MM))
    generator.setSize(QSize(round(width), round(height)))
    generator.setViewBox(QRectF(0, 0, width, height))
    generator.setTitle(title)
    generator.setDescription("Drawn by Standpipe. Not for release to service.")
    painter = QPainter(generator)
    painter.setRenderHints(QPainter.RenderHint.Antialiasing | QPainter.RenderHint.TextAntialiasing)
    paint(painter)
    painter.end()
    buffer.close()
    return bytes(data.data())


def _png(_circuit: Circuit, drawing: SheetDrawing) -> bytes:
    width, height = drawing.sheet.width / 25.4, drawing.sheet.height / 25.4
    dots = next(d for d in (300, 200, 150, 100) if width * height * d * d <= _MOST_PIXELS)
    image = QImage(round(width * dots), round(height * dots), QImage.Format.Format_RGB32)
    if image.isNull():
        raise CircuitError("there is no memory for a picture of this sheet; write a PDF instead")
    per_metre = round(dots / 0.0254)
    image.setDotsPerMeterX(per_metre)
    image.setDotsPerMeterY(per_metre)
    image.fill(0xFFFFFFFF)
    _paint(image, drawing, dots / 25.4 / MM)
    data = QByteArray()
    buffer = QBuffer(data)
    buffer.open(QIODevice.OpenModeFlag.WriteOnly)
    image.save(buffer, "PNG")  # type: ignore[call-overload]  # bytes, as typed, are refused
    buffer.close()
    return bytes(data.data())


def _paint(device, drawing: SheetDrawing, scale: float) -> None:
    """Paint the sheet on a device that has `scale` dots to 0.1 mm."""
    painter = QPainter(device)
    painter.setRenderHints(QPainter.RenderHint.Antialiasing | QPainter.RenderHint.TextAntialiasing)
    painter.scale(scale, scale)
    drawing.paint(painter)
    painter.end()
