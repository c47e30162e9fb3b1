"""The operators at the ends of a valve: lever, button, pedal, solenoid, pilot, roller.

Each is drawn to the left of a box whose edge passes through the origin, at most two
modules high, and is turned or mirrored to where it is wanted.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping

from symbols.shapes import Strokes, line, moved, spring, triangle
from symbols.strokes import Arc, Circle, Line, Point, Polygon, rectangle

STEM = 2.0


def _lever() -> Strokes:
    return (
        line((0, 0), (-STEM, 0), part="operator"),
        line((-STEM, 0.9), (-STEM - 1.3, -1.7), part="operator"),
        Circle((-STEM - 1.5, -2.05), 0.4, part="operator"),
    )


def _push_button() -> Strokes:
    return (
        line((0, 0), (-STEM, 0), part="operator"),
        line((-STEM, -1), (-STEM, 1), part="operator"),
        Arc((-STEM, 0), 1, 90, 180, part="operator"),
    )


def _pedal() -> Strokes:
    return (
        line((0, 0), (-STEM, 0), part="operator"),
        line((-STEM, -1), (-STEM - 0.0, 0), (-STEM - 1.6, 1), part="operator"),
    )


def _solenoid() -> Strokes:
    return (
        rectangle(-3, -1, 3, 2, part="operator"),
        line((-2.2, 1), (-0.8, -1), part="operator"),
    )


def _pilot() -> Strokes:
    return (
        triangle((0, 0), (-1.2, 0), 0.75),
        Line(((-1.2, 0), (-3.2, 0)), "pilot", "operator"),
    )


def _roller() -> Strokes:
    return (
        line((0, 0), (-STEM, 0), part="operator"),
        Circle((-STEM - 0.7, 0), 0.7, part="operator"),
    )


_DRAWINGS: Mapping[str, Callable[[], Strokes]] = {
    "lever": _lever,
    "push_button": _push_button,
    "pedal": _pedal,
    "solenoid": _solenoid,
    "pilot": _pilot,
    "roller": _roller,
}


def operator(name: str, at: Point, turn: int = 0, mirror: bool = False) -> Strokes:
    """The operator of that name, its root at `at`; unturned it points to the left."""
    return moved(_DRAWINGS[name](), at, turn, mirror)


def return_spring(at: Point, mirror: bool = False) -> Strokes:
    """The spring that pushes a valve home, to the left of `at`."""
    return moved((spring((0, 0), (-2.4, 0), 0.7),), at, mirror=mirror)


def detent(at: Point, positions: int, mirror: bool = False) -> Strokes:
    """The notched bar that holds a valve where it was put, to the left of `at`."""
    width = positions + 1.0
    notches: list[Point] = [(0, -0.5)]
    for i in range(positions):
        x = -1.0 - i
        notches += [(x + 0.35, -0.5), (x, 0.1), (x - 0.35, -0.5)]
    bar = Polygon((*notches, (-width, -0.5), (-width, 0.9), (0, 0.9)), part="operator")
    catch = line((-1.4, -1.5), (-1.0, 0.1), (-0.6, -1.5), part="operator")
    return moved((bar, catch), at, mirror=mirror)
