"""A picture of traces for a handout: the plots as they are seen, with words above them."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import QBuffer, QIODevice, QRectF, Qt
from PySide6.QtGui import QColor, QFont, QImage, QPainter
from PySide6.QtWidgets import QWidget

_MARGIN = 12
_LINE = 18


def png_of(view: QWidget, words: Sequence[str]) -> bytes:
    """The widget as a PNG, with a line of text above it for each of `words`; the first is bold."""
    flags = Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter | Qt.TextFlag.TextWordWrap
    width = view.width() + 2 * _MARGIN
    metrics = view.fontMetrics()
    heights = [
        max(_LINE, metrics.boundingRect(0, 0, view.width(), 10_000, flags, text).height())
        for text in words
    ]
    head = _MARGIN + sum(heights) + _MARGIN // 2
    plots = view.grab()
    ratio = plots.devicePixelRatio()
    image = QImage(
        round(width * ratio),
        round((head + view.height() + _MARGIN) * ratio),
        QImage.Format.Format_RGB32,
    )
    image.setDevicePixelRatio(ratio)
    image.fill(QColor("#FFFFFF"))
    painter = QPainter(image)
    painter.setPen(QColor("#222222"))
    top = _MARGIN
    for number, (text, height) in enumerate(zip(words, heights, strict=True)):
        font = QFont(view.font())
        font.setBold(number == 0)
        painter.setFont(font)
        painter.drawText(QRectF(_MARGIN, top, view.width(), height), int(flags), text)
        top += height
    painter.drawPixmap(_MARGIN, head, plots)
    painter.end()
    buffer = QBuffer()
    buffer.open(QIODevice.OpenModeFlag.WriteOnly)
    image.save(buffer, "PNG")  # type: ignore[call-overload]
    return bytes(buffer.data().data())
