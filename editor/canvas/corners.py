"""The corners of the canvas, in which legends stand."""

from __future__ import annotations

from PySide6.QtWidgets import QWidget

MARGIN = 10
"""Room [pixels] between a legend and the edges."""

Corner = tuple[bool, bool]
"""Whether at the right, and whether at the top."""


def move_to_corner(legend: QWidget, over: QWidget, corner: Corner) -> None:
    """Put a legend into a corner of the widget that it lies over."""
    at_right, at_top = corner
    x = over.width() - legend.width() - MARGIN if at_right else MARGIN
    y = MARGIN if at_top else over.height() - legend.height() - MARGIN
    legend.move(x, y)
