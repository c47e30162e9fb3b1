"""Pressures and flows on the lines: colour, width and arrowheads from the readings."""

from __future__ import annotations

from math import floor, log10
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Signal

from analysis.circuit import Circuit, Line
from analysis.quantities import parse_quantity
from editor import theme
from editor.canvas.line_item import LineStyle
from editor.canvas.scene import ROLE_DASHES, Scene
from editor.display_units import DisplayUnits
from editor.live_analysis import LiveAnalysis

if TYPE_CHECKING:
    from analysis.readings import Readings

_NICE = (1.0, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0)
_NO_FLOW = 1e-6
"""A flow below this share of the largest one is none."""

_SPACING, _SPACING_AT = 9.0, 1.0
_SPACINGS = (3.5, 24.0)
"""Arrowheads are 9 modules apart at 1 m/s, nearer the faster, within these bounds."""

_LEAST_TOP = 1e4
"""The scale never ends below this pressure [Pa]: what is less is no pressure to be shown."""

_SPACING_UNKNOWN = 12.0
"""For lines without a bore, whose flow is known but not its velocity."""


class PressureOverlay(QObject):
    """Gives every line its style; `changed` when the scale of the legend changes."""

    changed = Signal()

    def __init__(
        self,
        circuit: Circuit,
        scene: Scene,
        live: LiveAnalysis,
        units: DisplayUnits,
        parent: QObject | None = None,
    ) -> None:
        super().__init__(parent)
        self._circuit = circuit
        self._scene = scene
        self._live = live
        self._units = units
        self.is_on = True
        self.top = 0.0
        self._told: tuple[float, str] | None = None
        live.readings_changed.connect(self.refresh)
        self.refresh()

    def set_on(self, on: bool) -> None:
        """Show the pressures, or the lines as they are drawn on paper."""
        self.is_on = on
        self.refresh()

    def refresh(self) -> None:
        """Style all lines by the latest readings."""
        readings = self._live.readings
        nothing = not self._circuit.lines or readings is None or not readings.converged
        if not self.is_on or nothing:
            self.top = 0.0
            self._scene.set_styles({})
        elif readings is not None:
            self.top = self._scale_top(readings)
            self._scene.set_styles(line_styles(self._circuit, readings, self.top))
        scale = self.top, self._units.symbol("pressure")
        if scale != self._told:
            self._told = scale
            self.changed.emit()

    def _scale_top(self, readings: Readings) -> float:
        """The end of the scale [Pa]: the highest pressure, rounded up in the user's unit."""
        highest = max((p for p in readings.pressures.values() if p is not None), default=0.0)
        unit = parse_quantity(f"1 {self._units.unit('pressure')}", "pressure")
        return rounded_up(max(highest, _LEAST_TOP) / unit) * unit


def rounded_up(value: float) -> float:
    """The next round number: 1, 1.5, 2, 2.5, 3, 4, 5, 6, 8 times a power of ten.

    >>> rounded_up(1340.0), rounded_up(71.0), rounded_up(80.0)
    (1500.0, 80.0, 80.0)
    """
    power = 10.0 ** floor(log10(value))
    # one part in a million over a mark is still that mark
    return next(n * power for n in _NICE if n * power >= value * (1 - 1e-6))


def line_styles(circuit: Circuit, readings: Readings, top: float) -> dict[str, LineStyle]:
    """The style of every line that the readings know, by id."""
    flows = [abs(x.flow) for x in readings.lines.values() if x.flow is not None]
    least = max(flows, default=0.0) * _NO_FLOW
    return {
        line.id: _style(line, readings, top, least)
        for line in circuit.lines.values()
        if line.id in readings.lines
    }


def _style(line: Line, readings: Readings, top: float, least: float) -> LineStyle:
    dash = ROLE_DASHES.get(line.role, "solid")
    first, last = readings.pressures.get(line.start), readings.pressures.get(line.end)
    flow, _drop, velocity, *_ = readings.lines[line.id]
    arrows, direction = 0.0, 1
    if flow is not None and abs(flow) > least:
        arrows = arrow_spacing(velocity)
        direction = 1 if flow > 0 else -1
    known = first if last is None else last if first is None else (first + last) / 2
    if known is None:
        return LineStyle(_HOLLOW, 1.0, dash, True, arrows, direction)
    share = known / top
    # a step of the width is too small to be seen, and saves repainting
    width = round(theme.pressure_width(share), 1)
    return LineStyle(theme.pressure_name(share), width, dash, False, arrows, direction)


_HOLLOW = theme.UNDETERMINED.name()


def arrow_spacing(velocity: float | None) -> float:
    """The distance between arrowheads [modules] at a velocity [m/s]."""
    if velocity is None:
        return _SPACING_UNKNOWN
    if velocity == 0:
        return 0.0
    least, most = _SPACINGS
    spacing = _SPACING * (_SPACING_AT / abs(velocity)) ** 0.5
    return round(min(max(spacing, least), most) * 2) / 2
