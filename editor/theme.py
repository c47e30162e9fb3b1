"""Colours, widths and fonts: all that the look of Standpipe is made of, in one place.

Scene units are tenths of a millimetre on paper: a module (2.5 mm) is 25 units, so widths
and letter heights are real ones, on screen, in a PDF and in print.
"""

from __future__ import annotations

from functools import lru_cache

from PySide6.QtCore import Qt
from PySide6.QtGui import QColor, QFont, QPalette, QPen

MODULE = 25.0
"""Scene units per grid module (M = 2.5 mm)."""

MILLIMETRE = 10.0
"""Scene units per millimetre on paper."""

FULL_SIZE = 0.4
"""View scale that shows the sheet at its size on a screen of 96 dots per inch, about."""

FONT_FAMILY = "DejaVu Sans"

# -- widths on paper [mm] ---------------------------------------------------------------
LINE_WIDTH = 0.35
OUTLINE_WIDTH = 0.35
THIN_WIDTH = 0.25
THINNEST_PRESSURE_LINE = 0.5
THICKEST_PRESSURE_LINE = 1.3

# -- colours ----------------------------------------------------------------------------
PAPER = QColor("#fcfbf8")
DESK = QColor("#e9e7e1")
GRID = QColor("#e4e0d6")
INK = QColor("#20252b")
FAINT_INK = QColor("#6d747c")
MOVING = QColor("#b9c3cb")
LIQUID = QColor("#bcd9e6")
ACTIVE = QColor("#fde3b4")
SELECTED = QColor("#d9730d")
HOVER = QColor("#f2a65a")
HANDLE = QColor("#ffffff")
REFUSED = QColor("#b3261e")
ACCEPTED = QColor("#1d7a4c")
ERROR = QColor("#b3261e")
WARNING = QColor("#a86400")
NOTE = QColor("#47657f")
UNDETERMINED = QColor("#8a8f95")
WINDOW = QColor("#f3f1ec")
PANEL = QColor("#ffffff")
ACCENT = QColor("#1f5f7d")

# Lightness falls steadily along the ramp, so that it reads without colour vision too.
_RAMP = ("#86aec4", "#5597b8", "#2f7ba8", "#2a579b", "#3a317f", "#451560", "#3d0436")
RAMP_STEPS = 64


def pressure_colour(share: float) -> QColor:
    """The colour for a share (0 to 1) of the highest pressure shown."""
    return _ramp()[_ramp_step(share)]


def pressure_name(share: float) -> str:
    """The same colour by its name, `#rrggbb`."""
    return _ramp_names()[_ramp_step(share)]


def _ramp_step(share: float) -> int:
    return round(min(max(share, 0.0), 1.0) * (RAMP_STEPS - 1))


def pressure_width(share: float) -> float:
    """The width [mm on paper] of a line at a share (0 to 1) of the highest pressure."""
    share = min(max(share, 0.0), 1.0)
    return THINNEST_PRESSURE_LINE + share * (THICKEST_PRESSURE_LINE - THINNEST_PRESSURE_LINE)


@lru_cache(maxsize=1)
def _ramp() -> tuple[QColor, ...]:
    stops = [QColor(name) for name in _RAMP]
    colours = []
    for step in range(RAMP_STEPS):
        where = step / (RAMP_STEPS - 1) * (len(stops) - 1)
        first = min(int(where), len(stops) - 2)
        colours.append(_mixed(stops[first], stops[first + 1], where - first))
    return tuple(colours)


@lru_cache(maxsize=1)
def _ramp_names() -> tuple[str, ...]:
    return tuple(colour.name() for colour in _ramp())


def _mixed(first: QColor, second: QColor, share: float) -> QColor:
    def channel(a: int, b: int) -> int:
        return round(a + (b - a) * share)

    return QColor(
        channel(first.red(), second.red()),
        channel(first.green(), second.green()),
        channel(first.blue(), second.blue()),
    )


@lru_cache(maxsize=512)
def pen(colour: str, width_mm: float, dash: str = "solid") -> QPen:
    """A shared pen of a real width on paper. Do not change what it returns.

    `dash`: `solid`, `pilot` (long dashes), `drain` (short dashes), `enclosure` (chain).
    """
    made = QPen(QColor(colour), width_mm * MILLIMETRE)
    made.setCapStyle(Qt.PenCapStyle.FlatCap if dash != "solid" else Qt.PenCapStyle.RoundCap)
    made.setJoinStyle(Qt.PenJoinStyle.RoundJoin)
    pattern = DASHES[dash]
    if pattern:
        # Qt counts dashes in widths of the pen; on paper they keep their length [mm].
        made.setDashPattern([length / width_mm for length in pattern])
    return made


DASHES: dict[str, tuple[float, ...]] = {
    "solid": (),
    "pilot": (2.6, 0.9),
    "drain": (1.0, 0.8),
    "enclosure": (3.5, 0.8, 0.5, 0.8),
}
"""Lengths of dash and gap [mm on paper]."""


@lru_cache(maxsize=32)
def sheet_font(height_mm: float, bold: bool = False) -> QFont:
    """A font for lettering on the sheet, `height_mm` high (capitals, about). Shared."""
    font = QFont(FONT_FAMILY)
    font.setPixelSize(max(1, round(height_mm * MILLIMETRE * 1.15)))
    font.setBold(bold)
    # lettering keeps its proportions at every zoom
    font.setHintingPreference(QFont.HintingPreference.PreferNoHinting)
    return font


def palette() -> QPalette:
    """The palette of windows and panes: light, whatever the desktop is.

    Every role is set. What is left out is taken from the desktop, and a dark desktop's
    bevels and links are not to be told from what they lie on here.
    """
    made = QPalette(QColor("#efede7"), WINDOW)
    role = QPalette.ColorRole
    for where, colour in (
        (role.Window, WINDOW),
        (role.WindowText, INK),
        (role.Base, PANEL),
        (role.AlternateBase, QColor("#f7f6f2")),
        (role.Text, INK),
        (role.Button, QColor("#efede7")),
        (role.ButtonText, INK),
        (role.ToolTipBase, QColor("#fffbe8")),
        (role.ToolTipText, INK),
        (role.PlaceholderText, QColor("#8b9096")),
        (role.Highlight, ACCENT),
        (role.HighlightedText, QColor("#ffffff")),
        (role.Link, ACCENT),
        (role.LinkVisited, ACCENT),
        (role.Accent, ACCENT),
        (role.BrightText, QColor("#ffffff")),
    ):
        made.setColor(where, colour)
    for where in (role.WindowText, role.Text, role.ButtonText):
        made.setColor(QPalette.ColorGroup.Disabled, where, QColor("#a3a7ab"))
    return made
