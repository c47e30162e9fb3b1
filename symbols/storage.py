"""What holds fluid: the reservoir with its standpipe, and the gas-loaded accumulator."""

from __future__ import annotations

from math import cos, radians, sin

from symbols.common_settings import LEAK, SEALS, not_negative, sized
from symbols.kind import Kind, Look, Port, Setting
from symbols.pumps import FROM_MEMORY
from symbols.shapes import Strokes, is_given, line, triangle
from symbols.strokes import Arc, Point, Polygon, rectangle

FAMILY = "storage"

_LEFT, _RIGHT, _TOP, _BOTTOM = -6.0, 6.0, -3.0, 3.0


def _height(share: float) -> float:
    """The height at which the tank holds that share of its capacity."""
    return _BOTTOM - (_BOTTOM - _TOP) * 0.95 * min(1.0, max(0.0, share))


def _reservoir(look: Look) -> Strokes:
    level, mouth = _height(look.fraction), _height(look.reserve)
    strokes: list[Strokes] = [
        (rectangle(_LEFT, level, _RIGHT - _LEFT, _BOTTOM - level, filled=True, part="liquid"),),
        (
            line((_LEFT, _TOP), (_LEFT, _BOTTOM), (_RIGHT, _BOTTOM), (_RIGHT, _TOP)),
            line((-4, _BOTTOM), (-4, 5)),
            line((0, mouth), (0, 5)),
            line((4, -5), (4, 2)),
        ),
    ]
    if is_given(look.choices.get("air_pressure")):
        strokes.append(
            (line((_LEFT, _TOP), (_RIGHT, _TOP)), triangle((0, -1.7), (0, -3), 0.8, False))
        )
    return tuple(stroke for group in strokes for stroke in group)


_RADIUS = 2.0
_STRAIGHT = 2.0


_EMPTY, _FULL = 3.2, -1.5
"""Where the membrane stands without fluid and with all the fluid there is room for."""


def _half_width(y: float) -> float:
    """Half the width of the capsule at height y of its lower part."""
    return _RADIUS if y < _STRAIGHT else (_RADIUS**2 - (y - _STRAIGHT) ** 2) ** 0.5


def _capsule_below(y: float) -> tuple[Point, ...]:
    """The part of the capsule that lies below height y, for the liquid in it."""
    bowl = [
        (_RADIUS * cos(radians(a)), _STRAIGHT + _RADIUS * sin(radians(a)))
        for a in range(0, 181, 10)
    ]
    half = _half_width(y)
    return ((half, y), *(point for point in bowl if point[1] > y), (-half, y))


def _accumulator(look: Look) -> Strokes:
    share = min(1.0, max(0.0, look.fraction))
    membrane = _EMPTY + (_FULL - _EMPTY) * share
    half = _half_width(membrane)
    liquid = Polygon(_capsule_below(membrane), filled=True, part="liquid")
    return (
        *((liquid,) if share > 0 else ()),
        Arc((0, -_STRAIGHT), _RADIUS, 0, 180),
        Arc((0, _STRAIGHT), _RADIUS, 180, 180),
        line((-_RADIUS, -_STRAIGHT), (-_RADIUS, _STRAIGHT)),
        line((_RADIUS, -_STRAIGHT), (_RADIUS, _STRAIGHT)),
        line((-half, membrane), (half, membrane), part="moving"),
        triangle((0, -2.0), (0, -3.3), 0.75, filled=False),
        line((0, _STRAIGHT + _RADIUS), (0, 6)),
    )


RESERVOIR = Kind(
    name="reservoir",
    title="Reservoir with standpipe",
    family=FAMILY,
    code="Z",
    standard=FROM_MEMORY,
    ports=(
        Port("supply", (-4, 5), "down"),
        Port("standpipe", (0, 5), "down"),
        Port("return", (4, -5), "up"),
    ),
    drawing=_reservoir,
    settings={
        "capacity": sized("Capacity", "volume", "10 L"),
        "reserve": not_negative("Reserve below the standpipe's mouth", "volume", "2 L", "0 L"),
        "air_pressure": Setting("Air pressure", "pressure", "0 bar"),
        "liquid": Setting("Liquid, if not the circuit's", "text", None, optional=True),
    },
    states={"volume": Setting("Fluid in the reservoir", "volume", "8 L", minimum="0 L")},
    keywords="tank sump supply header hydraulic fluid",
)

ACCUMULATOR = Kind(
    name="accumulator",
    title="Gas-loaded accumulator",
    family=FAMILY,
    code="Z",
    standard=FROM_MEMORY,
    ports=(Port("fluid", (0, 6), "down"),),
    drawing=_accumulator,
    settings={
        "gas_volume": sized("Gas volume when empty of fluid", "volume", "1 L"),
        "precharge": not_negative("Gas precharge", "pressure", "70 bar", "0 bar"),
        "polytropic_index": Setting("Polytropic index", "number", 1.4, minimum=1.0, maximum=1.67),
        **SEALS,
        **LEAK,
    },
    states={"fluid_volume": Setting("Fluid stored", "volume", "0 L", minimum="0 L")},
    faults=("external_leak", "blocked"),
    keywords="nitrogen bladder diaphragm piston stored pressure",
)

STORAGE = (RESERVOIR, ACCUMULATOR)
