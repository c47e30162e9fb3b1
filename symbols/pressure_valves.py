"""Valves that pressure opens or closes against a spring."""

from __future__ import annotations

from symbols.common_settings import LEAK, rated, sized
from symbols.kind import Kind, Look, Port, Setting
from symbols.pumps import FROM_MEMORY
from symbols.shapes import Strokes, adjustment, arrow, check, enclosure, line, moved, spring
from symbols.strokes import Dot, rectangle

FAMILY = "pressure valves"

_IN_LINE = 0.0
_ASIDE = -1.0


def _box(arrow_x: float, upward: bool) -> Strokes:
    """The square, with an arrow that is in line when open at rest, aside when closed."""
    ends = ((arrow_x, 2.0), (arrow_x, -2.0))
    return (rectangle(-2, -2, 4, 4), *arrow(*(ends if upward else ends[::-1])))


def _adjustable_spring() -> Strokes:
    """The spring on the right of the box, with the arrow that says it can be set."""
    return (spring((2, 0), (5, 0), 0.8), *adjustment((2.5, 1.2), (4.5, -1.6)))


def _fixed_spring() -> Strokes:
    return (spring((2, 0), (5, 0), 0.8),)


def _own_pilot(from_y: float) -> Strokes:
    """The pilot line from the connection above or below the box to its left side."""
    return (line((0, from_y), (-3, from_y), (-3, 0), (-2, 0), dash="pilot"),)


def _through(top: float, bottom: float) -> Strokes:
    return (line((0, top), (0, -2)), line((0, 2), (0, bottom)))


def _drain() -> Strokes:
    return (line((2, 1.5), (4, 1.5), (4, 5), dash="drain"),)


def _bypass(top: float, bottom: float, x: float) -> Strokes:
    """A check valve beside the box, free flow upwards, joined to the line at both ends."""
    valve = moved(check(2.6, sprung=False), (x, (top + bottom) / 2), turn=270)
    middle = (top + bottom) / 2
    return (
        Dot((0, top)),
        Dot((0, bottom)),
        line((0, top), (x, top), (x, middle - 2.6)),
        line((0, bottom), (x, bottom), (x, middle + 2.6)),
        *valve,
    )


def _relief_valve(_look: Look) -> Strokes:
    return (
        *_box(_ASIDE, upward=False),
        *_through(-5, 5),
        *_own_pilot(-3.5),
        *_adjustable_spring(),
    )


def _reducing_valve(_look: Look) -> Strokes:
    return (
        *_box(_IN_LINE, upward=True),
        *_through(-5, 5),
        *_own_pilot(-3.5),
        *_adjustable_spring(),
        *_drain(),
    )


def _sequence_valve(_look: Look) -> Strokes:
    return (
        *_box(_ASIDE, upward=True),
        *_through(-5, 5),
        *_own_pilot(3.5),
        *_adjustable_spring(),
        *_drain(),
    )


def _counterbalance_valve(_look: Look) -> Strokes:
    return (
        *_box(_ASIDE, upward=False),
        *_through(-6, 6),
        *_own_pilot(-3),
        *_adjustable_spring(),
        line((-6, 1), (-2, 1), dash="pilot"),
        *_bypass(-4, 4, 7),
        enclosure(-5, -5, 14, 10),
    )


def _priority_valve(_look: Look) -> Strokes:
    return (
        *_box(_ASIDE, upward=True),
        *_through(-6, 6),
        *_own_pilot(3),
        *_adjustable_spring(),
        *moved(_bypass(-4, 4, 7), turn=180, mirror=True),
        enclosure(-4, -5, 13, 10),
    )


def _unloading_valve(_look: Look) -> Strokes:
    return (
        *moved(_box(_ASIDE, upward=False), mirror=True),
        *moved(_adjustable_spring(), mirror=True),
        line((-7, -5), (0, -5)),
        *moved(check(4.5, sprung=False), (4.5, -5)),
        line((9, -5), (10, -5)),
        line((0, -5), (0, -2)),
        line((0, 2), (0, 6)),
        line((7.5, -5), (7.5, 0), (2, 0), dash="pilot"),
        Dot((0, -5)),
        Dot((7.5, -5)),
        enclosure(-6, -7, 15, 12),
    )


_FAULTS = ("stuck_open", "stuck_closed", "external_leak")
_LEAKING_FAULTS = (*_FAULTS, "internal_leak")
_IN_BELOW = (Port("inlet", (0, 5), "down"), Port("outlet", (0, -5), "up"))
_DRAIN = Port("drain", (4, 5), "down", "drain")

RELIEF_VALVE = Kind(
    name="relief_valve",
    title="Relief valve",
    family=FAMILY,
    code="V",
    standard=FROM_MEMORY,
    ports=(Port("inlet", (0, -5), "up"), Port("outlet", (0, 5), "down")),
    drawing=_relief_valve,
    settings={
        "set_pressure": sized("Set pressure", "pressure", "100 bar"),
        "override": sized("Rise to pass rated flow", "pressure", "10 bar"),
        "rated_flow": sized("Rated flow", "flow", "40 L/min"),
        **LEAK,
    },
    faults=_LEAKING_FAULTS,
    keywords="safety thermal over-pressure bypass limiting",
)

REDUCING_VALVE = Kind(
    name="reducing_valve",
    title="Pressure-reducing valve",
    family=FAMILY,
    code="V",
    standard=FROM_MEMORY,
    ports=(*_IN_BELOW, _DRAIN),
    drawing=_reducing_valve,
    settings={
        "set_pressure": sized("Set pressure", "pressure", "50 bar"),
        **rated("20 L/min", "5 bar"),
        **LEAK,
    },
    faults=_FAULTS,
    keywords="regulator reducer brake",
)

SEQUENCE_VALVE = Kind(
    name="sequence_valve",
    title="Sequence valve",
    family=FAMILY,
    code="V",
    standard=FROM_MEMORY,
    ports=(*_IN_BELOW, _DRAIN),
    drawing=_sequence_valve,
    settings={
        "set_pressure": sized("Set pressure", "pressure", "50 bar"),
        **rated("20 L/min", "5 bar"),
        **LEAK,
    },
    faults=_LEAKING_FAULTS,
    keywords="order timing doors",
)

COUNTERBALANCE_VALVE = Kind(
    name="counterbalance_valve",
    title="Counterbalance valve",
    family=FAMILY,
    code="V",
    standard=FROM_MEMORY,
    ports=(
        Port("inlet", (0, -6), "up"),
        Port("outlet", (0, 6), "down"),
        Port("pilot", (-6, 1), "left", "pilot"),
    ),
    drawing=_counterbalance_valve,
    settings={
        "set_pressure": sized("Set pressure", "pressure", "150 bar"),
        "pilot_ratio": Setting("Pilot ratio", "number", 3.0, minimum=0.0),
        **rated("20 L/min", "5 bar"),
        **LEAK,
    },
    faults=_LEAKING_FAULTS,
    keywords="load holding overcentre over-centre",
)

UNLOADING_VALVE = Kind(
    name="unloading_valve",
    title="Unloading valve",
    family=FAMILY,
    code="V",
    standard=FROM_MEMORY,
    ports=(
        Port("inlet", (-7, -5), "left"),
        Port("outlet", (10, -5), "right"),
        Port("return", (0, 6), "down"),
    ),
    drawing=_unloading_valve,
    settings={
        "cut_out_pressure": sized("Cut-out pressure", "pressure", "100 bar"),
        "cut_in_pressure": sized("Cut-in pressure", "pressure", "80 bar"),
        **rated("20 L/min", "3 bar"),
        # 20 to 100 ms are usual for valves of this kind (common practice)
        "shifting_time": Setting(
            "Shifting time (least time cut out)", "time", "50 ms", minimum="5 ms"
        ),
        **LEAK,
    },
    faults=_FAULTS,
    keywords="cut-out regulator unloader automatic pressure regulator",
)

PRIORITY_VALVE = Kind(
    name="priority_valve",
    title="Priority valve",
    family=FAMILY,
    code="V",
    standard=FROM_MEMORY,
    ports=(Port("inlet", (0, 6), "down"), Port("outlet", (0, -6), "up")),
    drawing=_priority_valve,
    settings={
        "set_pressure": sized("Set pressure", "pressure", "50 bar"),
        **rated("20 L/min", "5 bar"),
        **LEAK,
    },
    faults=_LEAKING_FAULTS,
    keywords="essential services maintaining",
)

PRESSURE_VALVES = (
    RELIEF_VALVE,
    REDUCING_VALVE,
    SEQUENCE_VALVE,
    COUNTERBALANCE_VALVE,
    UNLOADING_VALVE,
    PRIORITY_VALVE,
)
