"""Valves that limit, divide or stop a flow."""

from __future__ import annotations

from symbols.common_settings import LEAK, Settings, orifice, rated, sized
from symbols.kind import Kind, Look, Port, Setting, Zone
from symbols.pumps import FROM_MEMORY
from symbols.shapes import (
    BALL,
    Strokes,
    adjustment,
    arrow,
    arrowhead,
    ball_on_seat,
    check,
    enclosure,
    line,
    moved,
    spring,
    throat,
)
from symbols.strokes import Circle, Dot, rectangle

FAMILY = "flow valves"

_ENDS = (Port("A", (-4, 0), "left"), Port("B", (4, 0), "right"))


def _restrictor(_look: Look) -> Strokes:
    return (line((-4, 0), (4, 0)), *throat())


def _adjustable_restrictor(look: Look) -> Strokes:
    return (*_restrictor(look), *adjustment((-1.8, 2.2), (1.8, -2.2)))


def _one_way_restrictor(_look: Look) -> Strokes:
    return (
        line((-6, 0), (6, 0)),
        *throat(),
        *moved(check(2.5, sprung=False), (0, -3)),
        line((-4, 0), (-4, -3), (-2.5, -3)),
        line((4, 0), (4, -3), (2.5, -3)),
        Dot((-4, 0)),
        Dot((4, 0)),
        enclosure(-5, -5.5, 10, 7.5),
    )


def _flow_regulator(_look: Look) -> Strokes:
    return (
        rectangle(-3, -2.5, 6, 5),
        line((-5, 0), (5, 0)),
        arrowhead((3, 0), (0, 0)),
        *throat(),
        *adjustment((-1.8, 2), (1.8, -2)),
        *arrow((-2.2, 1.6), (-2.2, -1.6)),
    )


def _flow_divider(_look: Look) -> Strokes:
    return (
        rectangle(-4, -3, 8, 5),
        line((0, 4), (0, 1), (-2, 1), (-2, -5)),
        line((0, 1), (2, 1), (2, -5)),
        *moved(throat(radius=1.6), (-2, -1), turn=90),
        *moved(throat(radius=1.6), (2, -1), turn=90),
        Dot((0, 1)),
    )


def _hydraulic_fuse(look: Look) -> Strokes:
    lift = 0.0 if look.flags.get("closed") else 1.2
    seat = moved(ball_on_seat(lift), (1.6, 0), mirror=True)
    face = 1.6 + BALL - BALL * 2**0.5 - lift
    moving = tuple(
        Circle(s.centre, s.radius, s.filled, "moving") if isinstance(s, Circle) else s for s in seat
    )
    return (
        rectangle(-3.5, -2.5, 7, 5),
        line((-5, 0), (-3.5, 0)),
        *moving,
        *(() if lift == 0 else (spring((face, 0), (1.6, 0), 0.5, 2),)),
        line((1.6, 0), (5, 0)),
    )


def _fuse_zone(_look: Look) -> tuple[Zone, ...]:
    return (Zone((-3.5, -2.5, 7, 5), "closed"),)


_FAULTS = ("blocked", "external_leak")
_OPENING: Settings = {
    "opening": Setting("Opening", "number", 1.0, minimum=0.0, maximum=1.0),
}

RESTRICTOR = Kind(
    name="restrictor",
    title="Restrictor",
    family=FAMILY,
    code="V",
    standard=FROM_MEMORY,
    ports=_ENDS,
    drawing=_restrictor,
    settings={**orifice("1 mm"), **LEAK},
    faults=_FAULTS,
    keywords="orifice throttle nozzle snubber fixed",
)

ADJUSTABLE_RESTRICTOR = Kind(
    name="adjustable_restrictor",
    title="Adjustable restrictor",
    family=FAMILY,
    code="V",
    standard=FROM_MEMORY,
    ports=_ENDS,
    drawing=_adjustable_restrictor,
    settings={**orifice("1 mm"), **LEAK},
    states=_OPENING,
    faults=_FAULTS,
    keywords="throttle needle variable orifice",
)

ONE_WAY_RESTRICTOR = Kind(
    name="one_way_restrictor",
    title="One-way restrictor",
    family=FAMILY,
    code="V",
    standard=FROM_MEMORY,
    ports=(Port("free", (-6, 0), "left"), Port("restricted", (6, 0), "right")),
    drawing=_one_way_restrictor,
    settings={**orifice("1 mm"), **LEAK},
    faults=_FAULTS,
    keywords="throttle check orifice check directional restrictor",
)

FLOW_REGULATOR = Kind(
    name="flow_regulator",
    title="Flow regulator",
    family=FAMILY,
    code="V",
    standard=FROM_MEMORY,
    ports=(Port("inlet", (-5, 0), "left"), Port("outlet", (5, 0), "right")),
    drawing=_flow_regulator,
    settings={
        "flow": sized("Regulated flow", "flow", "5 L/min"),
        "minimum_drop": sized("Drop from which it regulates", "pressure", "5 bar"),
        **LEAK,
    },
    faults=_FAULTS,
    keywords="flow control pressure-compensated constant flow",
)

FLOW_DIVIDER = Kind(
    name="flow_divider",
    title="Flow divider",
    family=FAMILY,
    code="V",
    standard=FROM_MEMORY,
    ports=(
        Port("inlet", (0, 4), "down"),
        Port("outlet_1", (-2, -5), "up"),
        Port("outlet_2", (2, -5), "up"),
    ),
    drawing=_flow_divider,
    settings={
        "ratio": Setting(
            "Share of outlet 1", "number", 0.5, minimum=0.0, maximum=1.0, positive=True
        ),
        **rated("20 L/min", "5 bar"),
        **LEAK,
    },
    faults=_FAULTS,
    keywords="equaliser synchronising splitter",
)

HYDRAULIC_FUSE = Kind(
    name="hydraulic_fuse",
    title="Hydraulic fuse",
    family=FAMILY,
    code="V",
    standard=FROM_MEMORY,
    ports=(Port("inlet", (-5, 0), "left"), Port("outlet", (5, 0), "right")),
    drawing=_hydraulic_fuse,
    settings={
        "closing_volume": sized("Volume passed until it closes", "volume", "0.5 L"),
        **rated("20 L/min", "3 bar"),
        **LEAK,
    },
    states={"closed": Setting("Closed", "flag", False)},
    faults=("stuck_open", "stuck_closed", "external_leak"),
    zones=_fuse_zone,
    keywords="velocity burst rupture quantity",
)

FLOW_VALVES = (
    RESTRICTOR,
    ADJUSTABLE_RESTRICTOR,
    ONE_WAY_RESTRICTOR,
    FLOW_REGULATOR,
    FLOW_DIVIDER,
    HYDRAULIC_FUSE,
)
