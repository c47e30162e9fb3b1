"""What joins and ends lines: hose, coupling, junction, plug."""

from __future__ import annotations

from symbols.common_settings import LEAK, rated
from symbols.kind import Kind, Look, Port, Setting
from symbols.pumps import FROM_MEMORY
from symbols.shapes import Strokes, ball_on_seat, line, moved
from symbols.strokes import Arc, Dot

FAMILY = "connections"

_ENDS = (Port("A", (-4, 0), "left"), Port("B", (4, 0), "right"))


def _hose(_look: Look) -> Strokes:
    return (
        line((-4, 0), (-3, 0)),
        line((3, 0), (4, 0)),
        Dot((-3, 0)),
        Dot((3, 0)),
        Arc((0, -2), 13**0.5, 213.69, 112.62),
    )


def _quick_coupling(_look: Look) -> Strokes:
    half = (line((-4, 0), (-2.6, 0)), *moved(ball_on_seat(), (-2.6, 0)))
    return (*half, *moved(half, mirror=True), line((0, -1.8), (0, 1.8)))


def _junction(_look: Look) -> Strokes:
    return (Dot((0, 0)),)


def _plug(_look: Look) -> Strokes:
    return (
        line((0, 2), (0, 0)),
        line((-0.8, -0.8), (0.8, 0.8)),
        line((-0.8, 0.8), (0.8, -0.8)),
    )


HOSE = Kind(
    name="hose",
    title="Hose",
    family=FAMILY,
    code="Z",
    standard=FROM_MEMORY,
    ports=_ENDS,
    drawing=_hose,
    settings={
        "bore": Setting("Bore", "length", None, positive=True, optional=True),
        "length": Setting("Length", "length", None, positive=True, optional=True),
        **rated("20 L/min", "0.5 bar"),
        **LEAK,
    },
    faults=("blocked", "ruptured", "external_leak"),
    keywords="flexible line",
)

QUICK_COUPLING = Kind(
    name="quick_coupling",
    title="Quick-release coupling",
    family=FAMILY,
    code="Z",
    standard=FROM_MEMORY,
    ports=_ENDS,
    drawing=_quick_coupling,
    settings={**rated("20 L/min", "1 bar"), **LEAK},
    faults=("blocked", "external_leak"),
    keywords="disconnect self-sealing ground connection",
)

JUNCTION = Kind(
    name="junction",
    title="Junction",
    family=FAMILY,
    code="Z",
    standard=FROM_MEMORY,
    ports=(Port("A", (0, 0), "up"),),
    drawing=_junction,
    settings={**LEAK},
    faults=("external_leak",),
    keywords="tee cross manifold",
)

PLUG = Kind(
    name="plug",
    title="Plug",
    family=FAMILY,
    code="Z",
    standard=FROM_MEMORY,
    ports=(Port("A", (0, 2), "down"),),
    drawing=_plug,
    settings={**LEAK},
    faults=("external_leak",),
    keywords="cap blank blanked closed end",
)

CONNECTIONS = (HOSE, QUICK_COUPLING, JUNCTION, PLUG)
