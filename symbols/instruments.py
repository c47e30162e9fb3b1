"""What shows or reports pressure and flow."""

from __future__ import annotations

from symbols.common_settings import LEAK, sized
from symbols.kind import Kind, Look, Port
from symbols.pumps import FROM_MEMORY
from symbols.shapes import Strokes, adjustment, arrow, ball_on_seat, line, moved, spring, throat
from symbols.strokes import Circle, rectangle

FAMILY = "instruments"

_BELOW = (Port("A", (0, 4), "down"),)


def _pressure_gauge(_look: Look) -> Strokes:
    return (
        Circle((0, 0), 2),
        line((0, 2), (0, 4)),
        *arrow((1.2, 1.2), (-1.2, -1.2)),
    )


def _pressure_switch(_look: Look) -> Strokes:
    return (
        rectangle(-2, -2, 4, 4),
        line((0, 4), (0, 2)),
        line((-2, 0), (-0.9, 0), (0.9, -1)),
        line((1, 0), (2, 0)),
        spring((0, -2), (0, -4.4), 0.7),
        *adjustment((-1.5, -2.4), (1.5, -4)),
    )


def _test_point(_look: Look) -> Strokes:
    return (
        line((0, 4), (0, 1)),
        *moved(ball_on_seat(), (0, 1), turn=270),
        line((-1.2, -1.4), (1.2, -1.4)),
    )


def _flow_meter(_look: Look) -> Strokes:
    return (
        Circle((0, 0), 2),
        line((-4, 0), (4, 0)),
        *throat(radius=1.4),
    )


PRESSURE_GAUGE = Kind(
    name="pressure_gauge",
    title="Pressure gauge",
    family=FAMILY,
    code="S",
    standard=FROM_MEMORY,
    ports=_BELOW,
    drawing=_pressure_gauge,
    settings={"range": sized("Range", "pressure", "250 bar"), **LEAK},
    faults=("external_leak",),
    keywords="manometer indicator dial gage",
)

PRESSURE_SWITCH = Kind(
    name="pressure_switch",
    title="Pressure switch",
    family=FAMILY,
    code="S",
    standard=FROM_MEMORY,
    ports=_BELOW,
    drawing=_pressure_switch,
    settings={"set_pressure": sized("Set pressure", "pressure", "100 bar"), **LEAK},
    faults=("external_leak",),
    keywords="warning light contact electric",
)

TEST_POINT = Kind(
    name="test_point",
    title="Test point",
    family=FAMILY,
    code="S",
    standard=FROM_MEMORY,
    ports=_BELOW,
    drawing=_test_point,
    settings={"range": sized("Range", "pressure", "250 bar"), **LEAK},
    faults=("external_leak",),
    keywords="measuring point tapping",
)

FLOW_METER = Kind(
    name="flow_meter",
    title="Flow meter",
    family=FAMILY,
    code="S",
    standard=FROM_MEMORY,
    ports=(Port("A", (-4, 0), "left"), Port("B", (4, 0), "right")),
    drawing=_flow_meter,
    settings={**LEAK},
    faults=("blocked", "external_leak"),
    keywords="measuring turbine",
)

INSTRUMENTS = (PRESSURE_GAUGE, PRESSURE_SWITCH, TEST_POINT, FLOW_METER)
