"""What sets fluid moving: pumps and a plain pressure source."""

from __future__ import annotations

from symbols.common_settings import DRIVE, LEAK, SEALS, Settings, efficiency, sized
from symbols.kind import Kind, Look, Port, Setting, Zone
from symbols.shapes import Strokes, adjustment, arc_arrow, arrow, line, triangle
from symbols.strokes import Circle

FAMILY = "pumps"
FROM_MEMORY = "ISO 1219-1 conventions, proportions from memory"
RADIUS = 4.0

_PORTS = (Port("inlet", (0, 6), "down"), Port("outlet", (0, -6), "up"))
_FAULTS = ("no_output", "external_leak", "internal_leak")
_RUNNING: Settings = {"running": Setting("Running", "flag", True)}


def _converter(look: Look) -> Strokes:
    """The circle with its two ports and the triangle of flow out of it, tinted when running."""
    tint = (Circle((0, 0), RADIUS, filled=True, part="active"),)
    return (
        *(tint if look.flags.get("running", True) else ()),
        Circle((0, 0), RADIUS),
        triangle((0, -RADIUS), (0, -RADIUS + 1.9), 1.15),
        line((0, -RADIUS), (0, -6)),
        line((0, RADIUS), (0, 6)),
    )


def shaft() -> Strokes:
    """The driving shaft to the right of the circle, with its sense of rotation."""
    return (
        line((RADIUS - 0.03, -0.5), (RADIUS + 2.5, -0.5)),
        line((RADIUS - 0.03, 0.5), (RADIUS + 2.5, 0.5)),
        *arc_arrow((RADIUS - 0.2, 0), 2.1, -40, 80),
    )


def _fixed_pump(look: Look) -> Strokes:
    return (*_converter(look), *shaft())


def _compensated_pump(look: Look) -> Strokes:
    return (
        *_converter(look),
        *shaft(),
        *adjustment((-4, 4), (4, -4)),
        line((0, -5), (-5, -5), (-5, 4), (-4, 4), dash="pilot"),
        *arrow((-2.4, 0), (-2.4, -1.9)),
    )


def _hand_pump(look: Look) -> Strokes:
    return (
        *_converter(look),
        line((RADIUS, 0), (RADIUS + 2, 0), part="operator"),
        Circle((RADIUS + 2, 0), 0.35, part="operator"),
        line((RADIUS + 1.3, 1.9), (RADIUS + 3.6, -4), part="operator"),
        Circle((RADIUS + 3.8, -4.5), 0.5, part="operator"),
    )


def _pressure_source(_look: Look) -> Strokes:
    return (triangle((0, -1), (0, 1.2), 1.3), line((0, -1), (0, -3)))


def _circle_zone(_look: Look) -> tuple[Zone, ...]:
    return (Zone((-RADIUS, -RADIUS, 2 * RADIUS, 2 * RADIUS), "running"),)


_POWER_PUMP: Settings = {
    "displacement": sized("Displacement", "displacement", "16 cm^3/rev"),
    "speed": sized("Speed", "speed", "1500 rpm"),
    "volumetric_efficiency": efficiency(1.0),
    "rated_pressure": sized("Rated pressure", "pressure", "200 bar"),
}

FIXED_PUMP = Kind(
    name="fixed_pump",
    title="Fixed-displacement pump",
    family=FAMILY,
    code="P",
    standard=FROM_MEMORY,
    ports=_PORTS,
    drawing=_fixed_pump,
    settings={**_POWER_PUMP, **DRIVE, **SEALS, **LEAK},
    states=_RUNNING,
    faults=_FAULTS,
    zones=_circle_zone,
    keywords="gear pump engine driven electric motor power pump",
)

COMPENSATED_PUMP = Kind(
    name="compensated_pump",
    title="Pressure-compensated pump",
    family=FAMILY,
    code="P",
    standard=FROM_MEMORY,
    ports=_PORTS,
    drawing=_compensated_pump,
    settings={
        **_POWER_PUMP,
        "cutoff_pressure": sized("Cut-off pressure (no flow)", "pressure", "210 bar"),
        "knee_pressure": sized("Knee pressure (full flow up to here)", "pressure", "190 bar"),
        **DRIVE,
        **SEALS,
        **LEAK,
    },
    states=_RUNNING,
    faults=_FAULTS,
    zones=_circle_zone,
    keywords="variable displacement piston pump engine driven constant pressure",
)

HAND_PUMP = Kind(
    name="hand_pump",
    title="Hand pump",
    family=FAMILY,
    code="P",
    standard=FROM_MEMORY,
    ports=_PORTS,
    drawing=_hand_pump,
    settings={
        "displacement": sized("Displacement per full stroke", "volume", "20 cm^3"),
        "rate": sized("Full strokes", "rate", "30 strokes/min"),
        "acting": Setting("Acting", "choice", "double", choices=("double", "single")),
        "pulsation": Setting("Pulsation", "choice", "none", choices=("none", "strokes")),
        "piston_area": sized("Piston area", "area", "3 cm^2"),
        "lever_ratio": Setting("Lever ratio", "number", 10.0, positive=True),
        "effort_limit": sized("Greatest force at the handle", "force", "250 N"),
        **DRIVE,
        **SEALS,
        **LEAK,
    },
    states=_RUNNING,
    faults=_FAULTS,
    zones=_circle_zone,
    keywords="manual emergency lever handle auxiliary",
)

PRESSURE_SOURCE = Kind(
    name="pressure_source",
    title="Pressure source",
    family=FAMILY,
    code="P",
    standard=FROM_MEMORY,
    ports=(Port("outlet", (0, -3), "up"),),
    drawing=_pressure_source,
    settings={
        "pressure": Setting("Pressure", "pressure", "100 bar", minimum="0 bar"),
        **DRIVE,
        **LEAK,
    },
    faults=("no_output", "external_leak"),
    keywords="supply constant pressure ground cart test bench",
)

PUMPS = (FIXED_PUMP, COMPENSATED_PUMP, HAND_PUMP, PRESSURE_SOURCE)
