"""Mirroring, turning and moving: the same for points, strokes and sides."""

from __future__ import annotations

from math import dist

import pytest
from hypothesis import given
from hypothesis import strategies as st

from symbols import KINDS, Kind
from symbols.kind import Facing, place, place_facing
from symbols.shapes import moved
from symbols.strokes import Arc, Point, arc_points, stroke_points

coordinates = st.integers(-200, 200)
points = st.tuples(coordinates, coordinates)
turns = st.sampled_from([0, 90, 180, 270])
facings: st.SearchStrategy[Facing] = st.sampled_from(["left", "right", "up", "down"])
OUTWARD: dict[Facing, Point] = {"left": (-1, 0), "right": (1, 0), "up": (0, -1), "down": (0, 1)}


@given(points, points, turns, st.booleans())
def test_placing_can_be_undone(point: Point, at: Point, turn: int, mirror: bool) -> None:
    """Move back, turn back, and only then mirror back, gives the point again."""
    x, y = place(point, at, turn, mirror)
    back = place((x - at[0], y - at[1]), (0, 0), (360 - turn) % 360, False)
    assert place(back, (0, 0), 0, mirror) == point


@given(points, points, points, turns, st.booleans())
def test_placing_keeps_distances(p: Point, q: Point, at: Point, turn: int, mirror: bool) -> None:
    """A placed symbol is neither stretched nor sheared."""
    assert dist(place(p, at, turn, mirror), place(q, at, turn, mirror)) == pytest.approx(dist(p, q))


@given(points, turns, st.booleans())
def test_the_origin_comes_to_lie_where_the_symbol_is_put(
    at: Point, turn: int, mirror: bool
) -> None:
    """The origin goes to `at` however the symbol is turned."""
    assert place((0, 0), at, turn, mirror) == at


def test_a_quarter_turn_is_clockwise_as_the_reader_sees_it() -> None:
    """With y down, what pointed right points down."""
    assert place((1, 0), (0, 0), 90, False) == (0, 1)
    assert place_facing("right", 90, False) == "down"


def test_mirroring_comes_before_turning() -> None:
    """Mirrored first, what pointed right points up after a quarter turn."""
    assert place((1, 0), (0, 0), 90, True) == (0, -1)


@given(facings, turns, st.booleans())
def test_a_side_turns_with_the_points(facing: Facing, turn: int, mirror: bool) -> None:
    """The side that a port faces turns as its outward direction does."""
    placed = place(OUTWARD[facing], (0, 0), turn, mirror)
    assert OUTWARD[place_facing(facing, turn, mirror)] == placed


@given(st.sampled_from(list(KINDS.values())), points, turns, st.booleans())
def test_strokes_move_as_points_do(kind: Kind, at: Point, turn: int, mirror: bool) -> None:
    """A moved arc passes through the moved points of the arc."""
    strokes = kind.drawing(kind.look())
    for before, after in zip(strokes, moved(strokes, at, turn, mirror), strict=True):
        if not isinstance(before, Arc):
            continue
        assert isinstance(after, Arc)
        expected = [place(point, at, turn, mirror) for point in arc_points(before)]
        found = list(arc_points(after))
        if mirror:
            found.reverse()
        for one, other in zip(expected, found, strict=True):
            assert dist(one, other) < 1e-9


@given(st.sampled_from(list(KINDS.values())), turns, st.booleans())
def test_ports_meet_their_strokes_wherever_the_symbol_lies(
    kind: Kind, turn: int, mirror: bool
) -> None:
    """Turned and mirrored, the drawing still meets its ports."""
    strokes = moved(kind.drawing(kind.look()), (7, -3), turn, mirror)
    drawn = [point for stroke in strokes for point in stroke_points(stroke)]
    for port in kind.ports:
        at = place(port.at, (7, -3), turn, mirror)
        assert min(dist(at, point) for point in drawn) < 1e-9
