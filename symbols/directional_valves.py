"""Valves that open, close or change the way of the flow, worked by somebody."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Literal

from symbols.common_settings import LEAK, operation, position, rated
from symbols.kind import Kind, Look, Port, Setting, Zone
from symbols.operators import detent, operator, return_spring
from symbols.pumps import FROM_MEMORY
from symbols.shapes import Strokes, arrow, blocked_end, letter, line, moved
from symbols.strokes import Dot, Point, Polygon, rectangle

FAMILY = "directional valves"
BOX = 4.0
_P, _T, _A, _B = (-1.0, 2.0), (1.0, 2.0), (-1.0, -2.0), (1.0, -2.0)
_EDGES: Mapping[str, Point] = {"P": _P, "T": _T, "A": _A, "B": _B}
_AT: Mapping[str, tuple[int, int]] = {"P": (-1, 4), "T": (1, 4), "A": (-1, -4), "B": (1, -4)}

_PARALLEL = (*arrow(_P, _A), *arrow(_B, _T))
_CROSSED = (*arrow(_P, _B), *arrow(_A, _T))
_CLOSED_P = blocked_end(_P, -1)
_CLOSED_T = blocked_end(_T, -1)
_CLOSED_A = blocked_end(_A, 1)
_CLOSED_B = blocked_end(_B, 1)

CENTRES: Mapping[str, Strokes] = {
    "closed": (*_CLOSED_P, *_CLOSED_T, *_CLOSED_A, *_CLOSED_B),
    "open": (
        line(_P, _A, part="flow"),
        line(_T, _B, part="flow"),
        line((-1, 0), (1, 0), part="flow"),
        Dot((-1, 0), "flow"),
        Dot((1, 0), "flow"),
    ),
    "tandem": (
        *_CLOSED_A,
        *_CLOSED_B,
        line(_P, (-1, 0.5), (1, 0.5), _T, part="flow"),
    ),
    "float": (
        *_CLOSED_P,
        line(_A, (-1, 0), (1, 0), part="flow"),
        line(_B, _T, part="flow"),
        Dot((1, 0), "flow"),
    ),
    "regenerative": (
        *_CLOSED_T,
        line(_B, (1, 0), (-1, 0), part="flow"),
        line(_A, _P, part="flow"),
        Dot((-1, 0), "flow"),
    ),
}
"""What the centre box of a 4/3 valve connects."""

Boxes = tuple[tuple[str, float, Strokes], ...]
"""Per position: its name, the x of its box's centre, what is drawn in the box."""

_THREE_TWO: Boxes = (
    ("left", -BOX, (*arrow(_P, _A), *_CLOSED_T)),
    ("right", 0, (*arrow(_A, _T), *_CLOSED_P)),
)
_FOUR_TWO: Boxes = (("left", -BOX, _PARALLEL), ("right", 0, _CROSSED))


def _four_three(look: Look) -> Boxes:
    centre = CENTRES[look.choices.get("centre", "closed")]
    return (("left", -BOX, _PARALLEL), ("centre", 0, centre), ("right", BOX, _CROSSED))


def _box_rectangle(x: float) -> tuple[float, float, float, float]:
    return (x - BOX / 2, -BOX / 2, BOX, BOX)


def _body(boxes: Boxes, active: str, ports: str) -> Strokes:
    """The boxes side by side, the active one tinted, and the ports at the box at x = 0."""
    strokes: Strokes = ()
    for name, x, paths in boxes:
        left, top, width, height = _box_rectangle(x)
        if name == active:
            strokes += (rectangle(left, top, width, height, filled=True, part="active"),)
        strokes += (rectangle(left, top, width, height), *moved(paths, (x, 0)))
    for port in ports:
        edge, end = _EDGES[port], _AT[port]
        beside = (1.9 if edge[0] > 0 else -1.9, 3.0 if edge[1] > 0 else -3.0)
        strokes += (line(edge, end), letter(port, beside))
    return strokes


def _notch(look: Look, positions: tuple[str, ...]) -> int:
    position = look.choices.get("position")
    return positions.index(position) if position in positions else 0


def _two_position_ends(look: Look, left: float, right: float) -> Strokes:
    """A lever is held by a detent; all else is pushed home by a spring."""
    name = look.choices.get("operator", "lever")
    held = _notch(look, ("right", "left"))
    home = (
        detent((right, 0), 2, held, mirror=True)
        if name == "lever"
        else return_spring((right, 0), mirror=True)
    )
    return (*operator(name, (left, 0)), *home)


def _three_position_ends(look: Look, left: float, right: float) -> Strokes:
    """A lever is held by a detent; all else is centred by springs, above the operators."""
    name = look.choices.get("operator", "lever")
    if name == "lever":
        held = _notch(look, ("right", "centre", "left"))
        return (*operator(name, (left, 0)), *detent((right, 0), 3, held, mirror=True))
    strokes = (
        *operator(name, (left, 1)),
        *return_spring((left, -1)),
        *return_spring((right, -1), mirror=True),
    )
    if name in ("pedal", "roller"):
        return strokes
    return (*strokes, *operator(name, (right, 1), mirror=True))


def _valve_3_2(look: Look) -> Strokes:
    active = look.choices.get("position", "right")
    return (*_body(_THREE_TWO, active, "PTA"), *_two_position_ends(look, -6, 2))


def _valve_4_2(look: Look) -> Strokes:
    active = look.choices.get("position", "right")
    return (*_body(_FOUR_TWO, active, "PTAB"), *_two_position_ends(look, -6, 2))


def _valve_4_3(look: Look) -> Strokes:
    active = look.choices.get("position", "centre")
    return (*_body(_four_three(look), active, "PTAB"), *_three_position_ends(look, -6, 6))


def _shutoff_valve(look: Look) -> Strokes:
    """Two triangles point to point, filled when closed, the operator on top."""
    closed = look.choices.get("position", "open") == "closed"
    return (
        Polygon(((-2, -1.2), (-2, 1.2), (0, 0)), filled=closed),
        Polygon(((2, -1.2), (2, 1.2), (0, 0)), filled=closed),
        line((-4, 0), (-2, 0)),
        line((2, 0), (4, 0)),
        line((0, 0), (0, -1.5), part="operator"),
        *operator(look.choices.get("operator", "lever"), (0, -1.5), turn=90),
    )


def _two_zones(_look: Look) -> tuple[Zone, ...]:
    return tuple(Zone(_box_rectangle(x), "position", name) for name, x, _ in _FOUR_TWO)


def _three_zones(look: Look) -> tuple[Zone, ...]:
    return tuple(Zone(_box_rectangle(x), "position", name) for name, x, _ in _four_three(look))


def _shutoff_zone(_look: Look) -> tuple[Zone, ...]:
    return (Zone((-2, -4, 4, 5.5), "position"),)


def _ports(names: str) -> tuple[Port, ...]:
    facings: Mapping[str, Literal["up", "down"]] = {"P": "down", "T": "down", "A": "up", "B": "up"}
    return tuple(Port(name, _AT[name], facings[name]) for name in names)


_FAULTS = ("stuck", "external_leak", "internal_leak", "blocked")

SHUTOFF_VALVE = Kind(
    name="shutoff_valve",
    title="Shut-off valve",
    family=FAMILY,
    code="V",
    standard=FROM_MEMORY,
    ports=(Port("A", (-4, 0), "left"), Port("B", (4, 0), "right")),
    drawing=_shutoff_valve,
    settings={**rated("20 L/min", "1 bar"), **operation("lever"), **LEAK},
    states=position("open", ("open", "closed")),
    faults=_FAULTS,
    zones=_shutoff_zone,
    keywords="isolating stop cock ball valve needle release dump bypass tap",
)

VALVE_3_2 = Kind(
    name="valve_3_2",
    title="3/2 directional valve",
    family=FAMILY,
    code="V",
    standard=FROM_MEMORY,
    ports=_ports("PTA"),
    drawing=_valve_3_2,
    settings={**operation("lever"), **rated("20 L/min", "3 bar"), **LEAK},
    states=position("right", ("left", "right")),
    faults=_FAULTS,
    zones=_two_zones,
    keywords="selector three-way two-position spool",
)

VALVE_4_2 = Kind(
    name="valve_4_2",
    title="4/2 directional valve",
    family=FAMILY,
    code="V",
    standard=FROM_MEMORY,
    ports=_ports("PTAB"),
    drawing=_valve_4_2,
    settings={**operation("lever"), **rated("20 L/min", "3 bar"), **LEAK},
    states=position("right", ("left", "right")),
    faults=_FAULTS,
    zones=_two_zones,
    keywords="selector four-way two-position gear flap spool",
)

VALVE_4_3 = Kind(
    name="valve_4_3",
    title="4/3 directional valve",
    family=FAMILY,
    code="V",
    standard=FROM_MEMORY,
    ports=_ports("PTAB"),
    drawing=_valve_4_3,
    settings={
        **operation("lever"),
        "centre": Setting("Centre position", "choice", "closed", choices=tuple(CENTRES)),
        **rated("20 L/min", "3 bar"),
        **LEAK,
    },
    states=position("centre", ("left", "centre", "right")),
    faults=_FAULTS,
    zones=_three_zones,
    keywords="selector four-way three-position neutral gear flap spool",
)

DIRECTIONAL_VALVES = (SHUTOFF_VALVE, VALVE_3_2, VALVE_4_2, VALVE_4_3)
