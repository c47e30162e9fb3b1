"""What keeps the fluid fit for use: filter and cooler."""

from __future__ import annotations

from symbols.common_settings import LEAK, rated
from symbols.kind import Kind, Look, Port, Setting
from symbols.pumps import FROM_MEMORY
from symbols.shapes import Strokes, arrow, check, diamond, is_given, line, moved
from symbols.strokes import Dot

FAMILY = "conditioning"

_HALF = 3.0


def _diamond_in_line(reach: float) -> Strokes:
    return (
        diamond(_HALF),
        line((-reach, 0), (-_HALF, 0)),
        line((_HALF, 0), (reach, 0)),
    )


def _filter(look: Look) -> Strokes:
    element = line((0, -_HALF), (0, _HALF), dash="drain")
    strokes = (*_diamond_in_line(5), element)
    if not is_given(look.choices.get("bypass_pressure")):
        return strokes
    return (
        *strokes,
        Dot((-4, 0)),
        Dot((4, 0)),
        line((-4, 0), (-4, -6), (-3, -6)),
        line((4, 0), (4, -6), (3, -6)),
        *moved(check(3), (0, -6)),
    )


def _cooler(_look: Look) -> Strokes:
    return (
        *_diamond_in_line(5),
        *arrow((0, -4.5), (0, 4.5), part="outline", both=True),
    )


FILTER = Kind(
    name="filter",
    title="Filter",
    family=FAMILY,
    code="Z",
    standard=FROM_MEMORY,
    ports=(Port("inlet", (-5, 0), "left"), Port("outlet", (5, 0), "right")),
    drawing=_filter,
    settings={
        **rated("20 L/min", "0.5 bar"),
        "bypass_pressure": Setting(
            "Bypass opens at", "pressure", None, positive=True, optional=True
        ),
        **LEAK,
    },
    faults=("blocked", "external_leak"),
    keywords="strainer screen element bypass",
)

COOLER = Kind(
    name="cooler",
    title="Cooler",
    family=FAMILY,
    code="Z",
    standard=FROM_MEMORY,
    ports=(Port("A", (-5, 0), "left"), Port("B", (5, 0), "right")),
    drawing=_cooler,
    settings={**rated("20 L/min", "0.5 bar"), **LEAK},
    faults=("blocked", "external_leak"),
    keywords="heat exchanger radiator",
)

CONDITIONING = (FILTER, COOLER)
