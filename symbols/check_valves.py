"""Valves that the flow itself opens and closes: check valves and the shuttle valve."""

from __future__ import annotations

from symbols.common_settings import LEAK, Settings, not_negative, rated
from symbols.directional_valves import FAMILY
from symbols.kind import Kind, Look, Port, Setting
from symbols.pumps import FROM_MEMORY
from symbols.shapes import Strokes, check, is_given, line
from symbols.strokes import Circle, rectangle

_PORTS = (Port("inlet", (-4, 0), "left"), Port("outlet", (4, 0), "right"))


def _sprung(look: Look) -> bool:
    return is_given(look.choices.get("cracking_pressure", "1 bar"))


def _check_valve(look: Look) -> Strokes:
    return check(4, _sprung(look))


def _pilot_check_valve(look: Look) -> Strokes:
    return (
        *check(4, _sprung(look)),
        rectangle(-3, -2.5, 6, 5),
        line((-1, 4), (-1, 0.2), dash="pilot"),
    )


def _shuttle_valve(_look: Look) -> Strokes:
    return (
        rectangle(-3, -2, 6, 4),
        line((-5, 0), (-2, 0)),
        line((5, 0), (2, 0)),
        line((-0.9, -1.1), (-2, 0), (-0.9, 1.1)),
        line((0.9, -1.1), (2, 0), (0.9, 1.1)),
        Circle((0.75 * 2**0.5 - 2, 0), 0.75, part="moving"),
        line((0, -2), (0, -4)),
    )


_FAULTS = ("stuck_open", "stuck_closed", "external_leak", "internal_leak")
_CHECK: Settings = {
    "cracking_pressure": not_negative("Cracking pressure", "pressure", "0.5 bar", "0 bar"),
    **rated("20 L/min", "2 bar"),
}

CHECK_VALVE = Kind(
    name="check_valve",
    title="Check valve",
    family=FAMILY,
    code="V",
    standard=FROM_MEMORY,
    ports=_PORTS,
    drawing=_check_valve,
    settings={**_CHECK, **LEAK},
    faults=_FAULTS,
    keywords="non-return one-way",
)

PILOT_CHECK_VALVE = Kind(
    name="pilot_check_valve",
    title="Pilot-operated check valve",
    family=FAMILY,
    code="V",
    standard=FROM_MEMORY,
    ports=(*_PORTS, Port("pilot", (-1, 4), "down", "pilot")),
    drawing=_pilot_check_valve,
    settings={
        **_CHECK,
        "pilot_ratio": Setting("Pilot ratio", "number", 3.0, positive=True),
        **LEAK,
    },
    faults=_FAULTS,
    keywords="non-return lock valve hydraulic lock",
)

SHUTTLE_VALVE = Kind(
    name="shuttle_valve",
    title="Shuttle valve",
    family=FAMILY,
    code="V",
    standard=FROM_MEMORY,
    ports=(
        Port("inlet_1", (-5, 0), "left"),
        Port("inlet_2", (5, 0), "right"),
        Port("outlet", (0, -4), "up"),
    ),
    drawing=_shuttle_valve,
    settings={**rated("20 L/min", "2 bar"), **LEAK},
    faults=("stuck", "external_leak"),
    keywords="or changeover emergency",
)

CHECK_VALVES = (CHECK_VALVE, PILOT_CHECK_VALVE, SHUTTLE_VALVE)
