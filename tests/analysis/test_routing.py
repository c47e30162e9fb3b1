"""The drawn way of a line: orthogonal, out of its ports, off its own symbols."""

from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from analysis.circuit import Circuit
from analysis.routing import End, route, route_between, simplified
from symbols import KINDS
from symbols.kind import place, place_facing

WAYS = {"right": (1, 0), "left": (-1, 0), "down": (0, 1), "up": (0, -1)}
grid = st.integers(-60, 60)
turns = st.sampled_from((0, 90, 180, 270))


def is_square(points):
    """Whether every piece runs along the grid."""
    return all((a[0] == b[0]) != (a[1] == b[1]) for a, b in pairwise(points))


@given(
    st.sampled_from(sorted(KINDS)), st.sampled_from(sorted(KINDS)), turns, turns, grid, grid,
    st.booleans(), st.data(),
)  # fmt: skip
@settings(max_examples=300, deadline=None)
def test_every_line_is_square_and_joins_its_ports(one, other, turn, more, x, y, mirror, data):
    """Whatever the two kinds are, however they are turned and wherever they stand."""
    circuit = Circuit()
    circuit.add(one, id="A1", at=(0, 0), turn=turn)
    circuit.add(other, id="A2", at=(x, y), turn=more, mirror=mirror)
    first = data.draw(st.sampled_from(KINDS[one].ports))
    last = data.draw(st.sampled_from(KINDS[other].ports))
    line = circuit.connect(f"A1.{first.name}", f"A2.{last.name}")
    points = route(circuit, line)
    assert points[0] == place(first.at, (0, 0), turn, False)
    assert points[-1] == place(last.at, (x, y), more, mirror)
    assert points == simplified(points)
    if points[0] != points[-1]:
        assert is_square(points)


@given(turns, turns, grid, grid)
@settings(max_examples=200, deadline=None)
def test_line_leaves_on_the_side_its_port_faces(turn, more, x, y):
    """With room between the symbols, the first and last piece run the way the port faces."""
    if max(abs(x), abs(y)) < 30:
        return
    circuit = Circuit()
    circuit.add("check_valve", id="A1", at=(0, 0), turn=turn)
    circuit.add("relief_valve", id="A2", at=(x, y), turn=more)
    points = route(circuit, circuit.connect("A1.outlet", "A2.inlet"))
    for here, there, port, turned in (
        (points[0], points[1], KINDS["check_valve"].port("outlet"), turn),
        (points[-1], points[-2], KINDS["relief_valve"].port("inlet"), more),
    ):
        way = WAYS[place_facing(port.facing, turned, False)]
        ahead = (there[0] - here[0]) * way[0] + (there[1] - here[1]) * way[1]
        assert ahead > 0


def test_corners_of_the_user_are_kept():
    """`via` is where the drawn line runs; elbows are put in only where they must be."""
    circuit = Circuit()
    circuit.add("check_valve", id="A1", at=(0, 0))
    circuit.add("check_valve", id="A2", at=(40, 20))
    line = circuit.connect("A1.outlet", "A2.inlet", via=[(20, 0), (20, 20)])
    assert route(circuit, line) == [(4, 0), (20, 0), (20, 20), (36, 20)]
    line.via = [(20, 10)]
    points = route(circuit, line)
    assert (20, 10) in points or any(
        a[0] == b[0] == 20 and min(a[1], b[1]) <= 10 <= max(a[1], b[1]) for a, b in pairwise(points)
    )
    assert is_square(points)


@pytest.mark.parametrize(("facing", "at"), [("right", (28, 3)), ("left", (20, 4))])
def test_line_goes_round_its_own_symbols(facing, at):
    """From the far side of one symbol to either side of the other, through neither."""
    box, other = (0.0, 0.0, 8.0, 6.0), (20.0, 0.0, 28.0, 6.0)
    points = route_between(End((0, 3), "left", box), End(at, facing, other))
    assert is_square(points)
    for (x0, y0), (x1, y1) in pairwise(points):
        for left, top, right, bottom in (box, other):
            outside_x = max(x0, x1) <= left or min(x0, x1) >= right
            outside_y = max(y0, y1) <= top or min(y0, y1) >= bottom
            assert outside_x or outside_y


def test_straight_line_has_no_corner():
    """Two ports that face each other in line."""
    ends = End((0, 0), "right", (-8, -2, 0, 2)), End((9, 0), "left", (9, -2, 17, 2))
    assert route_between(*ends) == [(0, 0), (9, 0)]


def test_places_stand_in_for_the_drawn_ones():
    """A component that is dragged is routed to where it is dragged."""
    circuit = Circuit()
    circuit.add("check_valve", id="A1", at=(0, 0))
    circuit.add("check_valve", id="A2", at=(40, 0))
    line = circuit.connect("A1.outlet", "A2.inlet")
    assert route(circuit, line, {"A2": (60, 0)})[-1] == (56, 0)
