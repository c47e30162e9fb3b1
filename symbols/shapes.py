"""Pieces that several symbols are drawn from: arrows, springs, balls on seats, triangles.

Sizes are in modules. Each piece is drawn the way round that its docstring says;
`moved` turns, mirrors and shifts it.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from math import cos, hypot, radians, sin

from symbols.kind import place
from symbols.strokes import (
    Arc,
    Circle,
    Dash,
    Dot,
    Line,
    Part,
    Point,
    Polygon,
    Stroke,
    Text,
    rectangle,
)

Strokes = tuple[Stroke, ...]

ARROW_LENGTH = 0.95
ARROW_HALF_WIDTH = 0.36
LETTER_HEIGHT = 1.2


def moved(
    strokes: Iterable[Stroke], at: Point = (0, 0), turn: int = 0, mirror: bool = False
) -> Strokes:
    """Strokes mirrored, turned clockwise and shifted, as `place` does with a point."""
    return tuple(_moved_stroke(stroke, at, turn, mirror) for stroke in strokes)


def _moved_stroke(stroke: Stroke, at: Point, turn: int, mirror: bool) -> Stroke:
    match stroke:
        case Line() | Polygon():
            return replace(stroke, points=tuple(place(p, at, turn, mirror) for p in stroke.points))
        case Arc():
            start = 180 - stroke.start - stroke.span if mirror else stroke.start
            centre = place(stroke.centre, at, turn, mirror)
            return replace(stroke, centre=centre, start=(start - turn) % 360)
        case Circle():
            return replace(stroke, centre=place(stroke.centre, at, turn, mirror))
        case Dot() | Text():
            return replace(stroke, at=place(stroke.at, at, turn, mirror))


def line(*points: Point, dash: Dash = "solid", part: Part = "outline") -> Line:
    """A chain of straight pieces through the points."""
    return Line(points, dash, part)


def letter(text: str, at: Point) -> Text:
    """A port letter."""
    return Text(at, text, LETTER_HEIGHT)


def arrowhead(tip: Point, tail: Point, part: Part = "flow", size: float = 1.0) -> Polygon:
    """A slim filled head at `tip`, pointing away from `tail`."""
    dx, dy = tip[0] - tail[0], tip[1] - tail[1]
    length = hypot(dx, dy)
    ux, uy = dx / length, dy / length
    back = (tip[0] - ARROW_LENGTH * size * ux, tip[1] - ARROW_LENGTH * size * uy)
    wide = ARROW_HALF_WIDTH * size
    return Polygon(
        (
            tip,
            (back[0] - wide * uy, back[1] + wide * ux),
            (back[0] + wide * uy, back[1] - wide * ux),
        ),
        filled=True,
        part=part,
    )


def arrow(*points: Point, part: Part = "flow", both: bool = False) -> Strokes:
    """A chain of straight pieces with a head at its end, and at its start if `both`."""
    strokes: list[Stroke] = [Line(points, part=part), arrowhead(points[-1], points[-2], part)]
    if both:
        strokes.append(arrowhead(points[0], points[1], part))
    return tuple(strokes)


def arc_arrow(centre: Point, radius: float, start: float, span: float) -> Strokes:
    """An arc with a head at its end, as of a turning shaft."""
    end = radians(start + span)
    tip = (centre[0] + radius * cos(end), centre[1] - radius * sin(end))
    before = end - radians(20 if span > 0 else -20)
    tail = (centre[0] + radius * cos(before), centre[1] - radius * sin(before))
    return (Arc(centre, radius, start, span), arrowhead(tip, tail, "outline", 0.8))


def adjustment(lower: Point, upper: Point) -> Strokes:
    """The slanting arrow that says: adjustable."""
    return arrow(lower, upper, part="operator")


def blocked_end(at: Point, inward: float) -> Strokes:
    """A closed port inside a box: a short stem from the edge at `at`, with a bar across.

    `inward` is -1 if the box lies above the port, 1 if below.
    """
    x, y = at
    bar = y + inward
    return (
        line((x, y), (x, bar), part="flow"),
        line((x - 0.6, bar), (x + 0.6, bar), part="flow"),
    )


def spring(
    start: Point, end: Point, half_width: float = 0.6, folds: int = 3, part: Part = "operator"
) -> Line:
    """A zigzag from `start` to `end`."""
    dx, dy = end[0] - start[0], end[1] - start[1]
    length = hypot(dx, dy)
    nx, ny = -dy / length * half_width, dx / length * half_width
    points = [start]
    for i in range(2 * folds):
        along = (i + 0.5) / (2 * folds)
        side = 1 if i % 2 == 0 else -1
        points.append((start[0] + along * dx + side * nx, start[1] + along * dy + side * ny))
    points.append(end)
    return Line(tuple(points), part=part)


def triangle(tip: Point, base: Point, half_width: float, filled: bool = True) -> Polygon:
    """The triangle of energy flow: filled for liquid, open for gas."""
    dx, dy = tip[0] - base[0], tip[1] - base[1]
    length = hypot(dx, dy)
    nx, ny = -dy / length * half_width, dx / length * half_width
    corners = (tip, (base[0] + nx, base[1] + ny), (base[0] - nx, base[1] - ny))
    return Polygon(corners, filled, part="flow" if filled else "outline")


BALL = 0.8
SEAT = 1.7


def ball_on_seat(lift: float = 0.0) -> Strokes:
    """A ball in a V seat with its point at the origin, free flow to the right.

    The ball touches both sides of the seat; `lift` moves it off.
    """
    reach = BALL * 2**0.5
    return (
        line((SEAT, -SEAT), (0, 0), (SEAT, SEAT)),
        Circle((reach + lift, 0), BALL),
    )


def ball_end() -> float:
    """Where the ball of `ball_on_seat` ends on the right."""
    return BALL * 2**0.5 + BALL


def check(half_length: float = 4, sprung: bool = True) -> Strokes:
    """A check valve along the x axis, free flow to the right, with its connecting lines."""
    seat = -1.2 if sprung else -1.0
    end = seat + ball_end()
    after = end + 1.5 if sprung else end
    strokes: list[Stroke] = [
        line((-half_length, 0), (seat, 0)),
        *moved(ball_on_seat(), (seat, 0)),
        line((after, 0), (half_length, 0)),
    ]
    if sprung:
        strokes.append(spring((end, 0), (after, 0), 0.55))
    return tuple(strokes)


def throat(centre: Point = (0, 0), gap: float = 0.35, radius: float = 2.2) -> Strokes:
    """The two arcs of a restriction, above and below a line along the x axis."""
    x, y = centre
    half = 42.0
    return (
        Arc((x, y - gap - radius), radius, 270 - half, 2 * half),
        Arc((x, y + gap + radius), radius, 90 - half, 2 * half),
    )


def diamond(half: float) -> Polygon:
    """The frame of a conditioning device."""
    return Polygon(((-half, 0), (0, -half), (half, 0), (0, half)))


def enclosure(left: float, top: float, width: float, height: float) -> Polygon:
    """The chain line around several devices in one housing."""
    return rectangle(left, top, width, height, dash="enclosure")


def is_given(text: str | None) -> bool:
    """Whether a setting as the user wrote it is there and not zero ("0 bar")."""
    if text is None or not text.split():
        return False
    try:
        return float(text.split()[0]) != 0
    except ValueError:
        return True
