"""The strokes that every symbol is drawn with, in modules (M = 2.5 mm on paper).

The y axis points down, as on screen and in the circuit file; angles are in degrees,
counter-clockwise as the reader sees them, from the positive x axis. A stroke has no
colour: `part` says what it stands for, and whoever paints decides how that looks.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from math import cos, radians, sin
from typing import Literal

Point = tuple[float, float]
Dash = Literal["solid", "pilot", "drain", "enclosure"]
Part = Literal["outline", "flow", "operator", "moving", "active", "liquid", "label"]
Anchor = Literal["centre", "left", "right"]


@dataclass(frozen=True)
class Line:
    """An open chain of straight pieces."""

    points: tuple[Point, ...]
    dash: Dash = "solid"
    part: Part = "outline"


@dataclass(frozen=True)
class Polygon:
    """A closed chain of straight pieces; `filled` paints its inside."""

    points: tuple[Point, ...]
    filled: bool = False
    dash: Dash = "solid"
    part: Part = "outline"


@dataclass(frozen=True)
class Circle:
    """A full circle."""

    centre: Point
    radius: float
    filled: bool = False
    part: Part = "outline"


@dataclass(frozen=True)
class Arc:
    """Part of a circle, `span` degrees from `start`, positive counter-clockwise."""

    centre: Point
    radius: float
    start: float
    span: float
    part: Part = "outline"


@dataclass(frozen=True)
class Dot:
    """A filled dot, as where lines join."""

    at: Point
    part: Part = "outline"


@dataclass(frozen=True)
class Text:
    """Lettering of the given height; it is never mirrored or turned upside down."""

    at: Point
    text: str
    height: float = 1.2
    anchor: Anchor = "centre"
    part: Part = "label"


Stroke = Line | Polygon | Circle | Arc | Dot | Text


def rectangle(
    left: float,
    top: float,
    width: float,
    height: float,
    *,
    filled: bool = False,
    dash: Dash = "solid",
    part: Part = "outline",
) -> Polygon:
    """An upright rectangle as a polygon."""
    right, bottom = left + width, top + height
    return Polygon(((left, top), (right, top), (right, bottom), (left, bottom)), filled, dash, part)


def arc_points(arc: Arc, step: float = 5.0) -> tuple[Point, ...]:
    """Points along an arc, its two ends among them, at most `step` degrees apart."""
    pieces = max(1, round(abs(arc.span) / step + 0.5))
    angles = [radians(arc.start + arc.span * i / pieces) for i in range(pieces + 1)]
    (x, y), r = arc.centre, arc.radius
    return tuple((x + r * cos(angle), y - r * sin(angle)) for angle in angles)


def stroke_points(stroke: Stroke) -> Iterable[Point]:
    """Points that span the stroke's extent."""
    match stroke:
        case Line(points=points) | Polygon(points=points):
            yield from points
        case Circle(centre=(x, y), radius=r):
            yield (x - r, y - r)
            yield (x + r, y + r)
        case Arc():
            yield from arc_points(stroke)
        case Dot(at=at):
            yield at
        case Text(at=(x, y), text=text, height=h):
            half = 0.35 * h * len(text)
            yield (x - half, y - h / 2)
            yield (x + half, y + h / 2)
