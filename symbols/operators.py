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
        line((-STEM + 0.45, 0.9), (-STEM - 0.85, -1.7), part="operator"),
        Circle((-STEM - 1.03, -2.06), 0.4, part="operator"),
    )


def _push_button() -> Strokes:
    return (
        line((0, 0), (-STEM, 0), part="operator"),
        line((-STEM, -1), (-STEM, 1), part="operator"),
        Arc((-STEM, 0), 1, 90, 180, part="operator"),
    )


def _pedal() -> Strokes:
    """A foot plate standing on its heel, the stem at the middle of the plate."""
    return (
        line((0, 0), (-STEM, 0), part="operator"),
        line((-STEM - 0.8, -1), (-STEM + 0.8, 1), (-STEM - 0.8, 1), part="operator"),
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


_NOTCH = 1.4
_NOTCH_DEPTH = 0.7


def detent(at: Point, positions: int, held: int, mirror: bool = False) -> Strokes:
    """The notched bar that keeps a valve where it was put, to the left of `at`.

    There is one notch for each position; the catch sits in notch number `held`,
    counted from the valve.
    """
    top, bottom = -0.5, 0.8
    width = _NOTCH * positions + 0.4
    edge: list[Point] = [(0, top)]
    for i in range(positions):
        x = -0.9 - _NOTCH * i
        edge += [(x + 0.45, top), (x, top + _NOTCH_DEPTH), (x - 0.45, top)]
    bar = Polygon((*edge, (-width, top), (-width, bottom), (0, bottom)), part="operator")
    x = -0.9 - _NOTCH * held
    catch = line((x, top + _NOTCH_DEPTH), (x, top - 1.1), part="operator")
    head = line((x - 0.5, top - 1.1), (x + 0.5, top - 1.1), part="operator")
    return moved((bar, catch, head), at, mirror=mirror)
