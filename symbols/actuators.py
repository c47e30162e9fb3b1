"""What turns pressure into motion: cylinders, motors and semi-rotary actuators."""

from __future__ import annotations

from math import cos, radians, sin

from symbols.common_settings import (
    FRICTION,
    LEAK,
    LOAD,
    LOAD_TORQUE,
    SEALS,
    Settings,
    efficiency,
    not_negative,
    sized,
)
from symbols.kind import Kind, Look, Port, Setting
from symbols.pumps import FROM_MEMORY, RADIUS, shaft
from symbols.shapes import Strokes, arc_arrow, line, spring, triangle
from symbols.strokes import Arc, Circle, Polygon, rectangle

FAMILY = "actuators"

HALF_LENGTH = 5.0
HALF_HEIGHT = 2.0
PISTON = 1.0
ROD = 0.45
_FIRST, _LAST = -3.5, 2.5
"""Where the left face of the piston stands, retracted and extended."""

_STROKE = sized("Stroke", "length", "300 mm")
_EXTENSION: Settings = {
    "extension": Setting("Extension", "length", "0 mm", minimum="0 mm"),
}
_BORE = sized("Bore", "length", "50 mm")
_ROD_DIAMETER = sized("Rod diameter", "length", "28 mm")


def _barrel() -> Strokes:
    return (rectangle(-HALF_LENGTH, -HALF_HEIGHT, 2 * HALF_LENGTH, 2 * HALF_HEIGHT),)


def _piston_left(look: Look) -> float:
    return _FIRST + (_LAST - _FIRST) * min(1.0, max(0.0, look.fraction))


def _piston(left: float) -> Strokes:
    return (rectangle(left, -HALF_HEIGHT, PISTON, 2 * HALF_HEIGHT, part="moving"),)


def _rod(left: float, right: float) -> Strokes:
    return (rectangle(left, -ROD, right - left, 2 * ROD, part="moving"),)


def _port_stub(x: float) -> Strokes:
    return (line((x, HALF_HEIGHT), (x, 4)),)


_ROD_LENGTH = 9.0
_LOCK_AT = {"retracted": (0.0, _FIRST + PISTON / 2), "extended": (1.0, _LAST + PISTON / 2)}
_AT_STOP = 0.005


def _locks(look: Look) -> Strokes:
    """A latch over each end that has a lock, its pin down in the piston while it holds."""
    fitted = look.choices.get("lock", "none")
    locked = look.choices.get("lock_state", "locked") == "locked"
    strokes: Strokes = ()
    for end, (fraction, x) in _LOCK_AT.items():
        if fitted not in (end, "both"):
            continue
        engaged = locked and abs(look.fraction - fraction) <= _AT_STOP
        top = -HALF_HEIGHT - 1.6
        tip = -HALF_HEIGHT + (0.7 if engaged else -0.3)
        pin = ((x - 0.4, top + 0.8), (x + 0.4, top + 0.8), (x + 0.4, tip), (x - 0.4, tip))
        strokes += (
            rectangle(x - 0.8, top, 1.6, 0.8),
            Polygon(pin, filled=True, part="moving"),
        )
    return strokes


def _cylinder(look: Look) -> Strokes:
    left = _piston_left(look)
    return (
        *_barrel(),
        *_piston(left),
        *_rod(left + PISTON, left + PISTON + _ROD_LENGTH),
        *_port_stub(-4),
        *_port_stub(4),
        *_locks(look),
    )


def _cylinder_single_acting(look: Look) -> Strokes:
    left = _piston_left(look)
    return (
        *_barrel(),
        *_piston(left),
        spring((left + PISTON, 0), (HALF_LENGTH, 0), 1.6, 4, part="moving"),
        *_rod(left + PISTON, left + PISTON + _ROD_LENGTH),
        *_port_stub(-4),
        line((4, HALF_HEIGHT), (4, HALF_HEIGHT + 0.7)),
    )


def _cylinder_double_rod(look: Look) -> Strokes:
    left = _piston_left(look)
    return (
        *_barrel(),
        *_piston(left),
        *_rod(left + PISTON, left + PISTON + _ROD_LENGTH),
        *_rod(left - _ROD_LENGTH, left),
        *_port_stub(-4),
        *_port_stub(4),
    )


_CHORD = (RADIUS**2 - 1.15**2) ** 0.5
"""Where the base of a flow triangle touches the motor's circle with both its corners."""


def _hydraulic_motor(_look: Look) -> Strokes:
    return (
        Circle((0, 0), RADIUS),
        triangle((0, 1.9 - _CHORD), (0, -_CHORD), 1.15),
        triangle((0, _CHORD - 1.9), (0, _CHORD), 1.15),
        line((0, -RADIUS), (0, -6)),
        line((0, RADIUS), (0, 6)),
        *shaft(),
    )


def _semi_rotary_actuator(look: Look) -> Strokes:
    angle = radians(125 - 70 * min(1.0, max(0.0, look.fraction)))
    return (
        Arc((0, 2), RADIUS, 0, 180),
        line((-RADIUS, 2), (RADIUS, 2)),
        triangle((-2, 0.8), (-2, 2), 0.75),
        triangle((2, 0.8), (2, 2), 0.75),
        line((-2, 2), (-2, 4)),
        line((2, 2), (2, 4)),
        line((0, 2), (3.2 * cos(angle), 2 - 3.2 * sin(angle)), part="moving"),
        Circle((0, 2), 0.3),
        *arc_arrow((0, 2), RADIUS + 1, 90, 32),
        *arc_arrow((0, 2), RADIUS + 1, 90, -32),
    )


_LOCKS = ("none", "retracted", "extended", "both")

CYLINDER = Kind(
    name="cylinder",
    title="Double-acting cylinder",
    family=FAMILY,
    code="A",
    standard=FROM_MEMORY,
    ports=(Port("cap", (-4, 4), "down"), Port("rod", (4, 4), "down")),
    drawing=_cylinder,
    settings={
        "bore": _BORE,
        "rod_diameter": _ROD_DIAMETER,
        "stroke": _STROKE,
        "load": LOAD,
        "friction": FRICTION,
        "lock": Setting("Mechanical lock at", "choice", "none", choices=_LOCKS),
        "lock_release_pressure": sized("Lock release pressure", "pressure", "20 bar"),
        **SEALS,
        **LEAK,
    },
    states={
        **_EXTENSION,
        "lock": Setting("Lock", "choice", "locked", choices=("locked", "released")),
    },
    faults=("stuck", "external_leak", "internal_leak"),
    keywords="jack ram actuator linear gear flap strut uplock downlock",
)

CYLINDER_SINGLE_ACTING = Kind(
    name="cylinder_single_acting",
    title="Single-acting cylinder with spring return",
    family=FAMILY,
    code="A",
    standard=FROM_MEMORY,
    ports=(Port("cap", (-4, 4), "down"),),
    drawing=_cylinder_single_acting,
    settings={
        "bore": _BORE,
        "stroke": _STROKE,
        "spring_preload": not_negative("Spring preload", "force", "200 N", "0 N"),
        "spring_rate": not_negative("Spring rate", "stiffness", "1 N/mm", "0 N/mm"),
        "load": LOAD,
        "friction": FRICTION,
        **SEALS,
        **LEAK,
    },
    states=_EXTENSION,
    faults=("stuck", "external_leak"),
    keywords="jack ram actuator brake spring return",
)

CYLINDER_DOUBLE_ROD = Kind(
    name="cylinder_double_rod",
    title="Double-rod cylinder",
    family=FAMILY,
    code="A",
    standard=FROM_MEMORY,
    ports=(Port("left", (-4, 4), "down"), Port("right", (4, 4), "down")),
    drawing=_cylinder_double_rod,
    settings={
        "bore": _BORE,
        "rod_diameter": _ROD_DIAMETER,
        "stroke": _STROKE,
        "load": LOAD,
        "friction": FRICTION,
        **SEALS,
        **LEAK,
    },
    states=_EXTENSION,
    faults=("stuck", "external_leak", "internal_leak"),
    keywords="jack ram actuator through rod steering equal area",
)

HYDRAULIC_MOTOR = Kind(
    name="hydraulic_motor",
    title="Hydraulic motor",
    family=FAMILY,
    code="M",
    standard=FROM_MEMORY,
    ports=(Port("A", (0, -6), "up"), Port("B", (0, 6), "down")),
    drawing=_hydraulic_motor,
    settings={
        "displacement": sized("Displacement", "displacement", "16 cm^3/rev"),
        "load_torque": LOAD_TORQUE,
        "volumetric_efficiency": efficiency(1.0),
        "rated_pressure": sized("Rated pressure", "pressure", "200 bar"),
        **SEALS,
        **LEAK,
    },
    faults=("stuck", "external_leak", "internal_leak"),
    keywords="rotary winch drive",
)

SEMI_ROTARY_ACTUATOR = Kind(
    name="semi_rotary_actuator",
    title="Semi-rotary actuator",
    family=FAMILY,
    code="A",
    standard=FROM_MEMORY,
    ports=(Port("A", (-2, 4), "down"), Port("B", (2, 4), "down")),
    drawing=_semi_rotary_actuator,
    settings={
        "displacement": sized("Displacement", "displacement", "50 cm^3/rad"),
        "angle": sized("Angle of swivel", "angle", "180 deg"),
        "load_torque": LOAD_TORQUE,
        **SEALS,
        **LEAK,
    },
    states={"extension": Setting("Angle", "angle", "0 deg", minimum="0 deg")},
    faults=("stuck", "external_leak", "internal_leak"),
    keywords="swivel vane rotary limited angle oscillating",
)

ACTUATORS = (
    CYLINDER,
    CYLINDER_SINGLE_ACTING,
    CYLINDER_DOUBLE_ROD,
    HYDRAULIC_MOTOR,
    SEMI_ROTARY_ACTUATOR,
)
