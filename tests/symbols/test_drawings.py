"""Drawings: lines meet their ports, every look can be drawn, boxes show what they connect."""

from __future__ import annotations

from itertools import combinations
from math import dist

import pytest

from symbols import KINDS, Kind, Look
from symbols.directional_valves import CENTRES
from symbols.kind import Facing
from symbols.strokes import (
    Arc,
    Dot,
    Line,
    Point,
    Polygon,
    Stroke,
    Text,
    arc_points,
    stroke_points,
)
from tests.symbols.drawing_parts import part

every_kind = pytest.mark.parametrize("kind", KINDS.values(), ids=KINDS)
OUTWARD: dict[Facing, Point] = {"left": (-1, 0), "right": (1, 0), "up": (0, -1), "down": (0, 1)}
DIRECTIONAL = ("valve_3_2", "valve_4_2", "valve_4_3")


def find_ends(strokes: tuple[Stroke, ...]) -> list[Point]:
    """Where a line drawn on the sheet can join the drawing: ends of lines, and dots."""
    ends: list[Point] = []
    for stroke in strokes:
        if isinstance(stroke, Line):
            ends += [stroke.points[0], stroke.points[-1]]
        elif isinstance(stroke, Dot):
            ends.append(stroke.at)
    return ends


def find_looks(kind: Kind) -> list[Look]:
    """The default look and, one at a time, every other choice, flag and fraction."""
    looks = [kind.look(fraction=fraction) for fraction in (0.0, 0.5, 1.0)]
    for name, setting in kind.settings.items():
        looks += [kind.look({name: choice}) for choice in setting.choices]
    for name, state in kind.states.items():
        looks += [kind.look(states={name: choice}) for choice in state.choices]
        if state.dimension == "flag":
            looks += [kind.look({name: flag}) for flag in (True, False)]
    return looks


@every_kind
def test_every_look_is_drawn_with_finite_points(kind: Kind) -> None:
    """Every choice, flag and fraction gives a drawing of sane size."""
    for look in find_looks(kind):
        points = [point for stroke in kind.drawing(look) for point in stroke_points(stroke)]
        assert points
        assert all(abs(coordinate) < 40 for point in points for coordinate in point)


@every_kind
def test_a_line_meets_the_drawing_at_every_port(kind: Kind) -> None:
    """Whatever the look, some stroke ends exactly where the port is."""
    for look in find_looks(kind):
        ends = find_ends(kind.drawing(look))
        for port in kind.ports:
            assert min(dist(port.at, end) for end in ends) < 1e-9, port.name


@every_kind
def test_ports_are_apart_and_on_whole_modules(kind: Kind) -> None:
    """Two modules apart at least, so that lines drawn from them do not run together."""
    for port in kind.ports:
        assert all(isinstance(coordinate, int) for coordinate in port.at)
    for first, second in combinations(kind.ports, 2):
        assert dist(first.at, second.at) >= 2


@every_kind
def test_lines_leave_away_from_the_drawing(kind: Kind) -> None:
    """Going out of a port on the side that it faces, nothing of the symbol is in the way."""
    if kind.name == "junction":
        return
    for look in find_looks(kind):
        for port in kind.ports:
            dx, dy = OUTWARD[port.facing]
            for stroke in kind.drawing(look):
                for x, y in stroke_points(stroke):
                    along = (x - port.at[0]) * dx + (y - port.at[1]) * dy
                    across = abs((x - port.at[0]) * dy) + abs((y - port.at[1]) * dx)
                    assert not (along > 1e-9 and across < 0.9), (port.name, stroke)


def test_no_two_kinds_look_the_same() -> None:
    """Any two kinds differ in some stroke."""
    for first, second in combinations(KINDS.values(), 2):
        assert set(first.drawing(first.look())) != set(second.drawing(second.look())), (
            first.name,
            second.name,
        )


@pytest.mark.parametrize(
    ("name", "setting"),
    [
        *((name, "operator") for name in (*DIRECTIONAL, "shutoff_valve")),
        *((name, "position") for name in (*DIRECTIONAL, "shutoff_valve")),
        ("valve_4_3", "centre"),
    ],
)
def test_every_choice_looks_different(name: str, setting: str) -> None:
    """What the user chooses is seen in the symbol."""
    kind = KINDS[name]
    choices = {**kind.settings, **kind.states}[setting].choices
    drawings = {kind.drawing(kind.look({setting: choice})) for choice in choices}
    assert len(drawings) == len(choices)


@pytest.mark.parametrize("operator", ["lever", "pedal", "roller", "solenoid"])
@pytest.mark.parametrize("name", DIRECTIONAL)
def test_only_the_active_box_is_tinted_and_lies_under_its_outline(name: str, operator: str) -> None:
    """The tint fills the box of the position and is painted first."""
    kind = KINDS[name]
    for zone in kind.zones(kind.look()):
        look = kind.look({"position": str(zone.value), "operator": operator})
        strokes = kind.drawing(look)
        (tinted,) = part(kind, "active", look)
        assert isinstance(tinted, Polygon)
        assert tinted.filled
        left, top, width, height = zone.rectangle
        assert set(tinted.points) == {
            (left + i * width, top + j * height) for i in (0, 1) for j in (0, 1)
        }
        outline = next(
            s
            for s in strokes
            if isinstance(s, Polygon)
            and s.part == "outline"
            and set(s.points) == set(tinted.points)
        )
        assert strokes.index(tinted) < strokes.index(outline)


def connected(strokes: tuple[Stroke, ...], ports: dict[str, Point]) -> set[frozenset[str]]:
    """Which ports the lines of one box join, by walking from port to port along them."""
    pieces = [set(s.points) for s in strokes if isinstance(s, Line) and len(s.points) > 0]
    dots = [s.at for s in strokes if isinstance(s, Dot)]
    for piece, line in zip(pieces, [s for s in strokes if isinstance(s, Line)], strict=True):
        for start, end in zip(line.points, line.points[1:], strict=False):
            length = dist(start, end)
            piece |= {d for d in dots if abs(dist(start, d) + dist(d, end) - length) < 1e-9}
    groups: list[set[Point]] = []
    for piece in pieces:
        touching = [group for group in groups if group & piece]
        groups = [group for group in groups if not group & piece]
        groups.append(piece.union(*touching))
    names = {point: name for name, point in ports.items()}
    found = [frozenset(names[p] for p in group if p in names) for group in groups]
    return {group for group in found if len(group) > 1}


@pytest.mark.parametrize(
    ("centre", "joined"),
    [
        # The contract, section 3, valve_4_3; the names are the trade's (ISO 5598, from memory).
        ("closed", set()),
        ("open", {"PTAB"}),
        ("tandem", {"PT"}),
        ("float", {"ABT"}),
        ("regenerative", {"PAB"}),
    ],
)
def test_each_centre_is_drawn_as_what_it_connects(centre: str, joined: set[str]) -> None:
    """Walking along the lines of a centre joins the ports that it should."""
    edges = {"P": (-1.0, 2.0), "T": (1.0, 2.0), "A": (-1.0, -2.0), "B": (1.0, -2.0)}
    assert connected(CENTRES[centre], edges) == {frozenset(group) for group in joined}


@pytest.mark.parametrize(
    ("name", "position", "joined"),
    [
        # The contract, section 3: valve_3_2 and valve_4_2.
        ("valve_3_2", "left", {"PA"}),
        ("valve_3_2", "right", {"AT"}),
        ("valve_4_2", "left", {"PA", "BT"}),
        ("valve_4_2", "right", {"PB", "AT"}),
        ("valve_4_3", "left", {"PA", "BT"}),
        ("valve_4_3", "right", {"PB", "AT"}),
    ],
)
def test_each_box_is_drawn_as_what_it_connects(name: str, position: str, joined: set[str]) -> None:
    """Walking along the arrows of a box joins the ports that it should."""
    kind = KINDS[name]
    zone = next(z for z in kind.zones(kind.look()) if z.value == position)
    left, top, width, height = zone.rectangle
    centre = left + width / 2
    inside = tuple(
        s
        for s in part(kind, "flow", kind.look())
        if isinstance(s, Line) and all(left < x < left + width for x, _ in s.points)
    )
    edges = {
        "P": (centre - 1, top + height),
        "T": (centre + 1, top + height),
        "A": (centre - 1, top),
        "B": (centre + 1, top),
    }
    assert connected(inside, edges) == {frozenset(group) for group in joined}


@every_kind
def test_zones_work_a_state_that_the_kind_has(kind: Kind) -> None:
    """Each zone lies within the drawing; a value is one of the state's choices."""
    left, top, width, height = kind.bounds()
    for zone in kind.zones(kind.look()):
        state = kind.states[zone.state]
        assert zone.value in state.choices or zone.value is None
        x, y, w, h = zone.rectangle
        assert x >= left - 0.5
        assert y >= top - 0.5
        assert x + w <= left + width + 0.5
        assert y + h <= top + height + 0.5


def test_what_can_be_worked_has_zones() -> None:
    """Valves with positions, pumps and the fuse are worked by a click."""
    worked = {name for name, kind in KINDS.items() if kind.zones(kind.look())}
    assert worked == {
        *DIRECTIONAL,
        "shutoff_valve",
        "fixed_pump",
        "compensated_pump",
        "hand_pump",
        "hydraulic_fuse",
    }


@every_kind
def test_bounds_hold_the_whole_drawing(kind: Kind) -> None:
    """No point of the drawing and no port lies outside the bounds."""
    for look in find_looks(kind):
        left, top, width, height = kind.bounds(look)
        points = [p for s in kind.drawing(look) for p in stroke_points(s)]
        points += [port.at for port in kind.ports]
        for x, y in points:
            assert left - 1e-9 <= x <= left + width + 1e-9
            assert top - 1e-9 <= y <= top + height + 1e-9


@every_kind
def test_letters_keep_clear_of_lines(kind: Kind) -> None:
    """No line of the drawing runs through a port letter."""
    for look in find_looks(kind):
        strokes = kind.drawing(look)
        for letter in (s for s in strokes if isinstance(s, Text)):
            (left, top), (right, bottom) = stroke_points(letter)
            for stroke in strokes:
                if not isinstance(stroke, Line):
                    continue
                for start, end in zip(stroke.points, stroke.points[1:], strict=False):
                    samples = [
                        (
                            start[0] + i / 20 * (end[0] - start[0]),
                            start[1] + i / 20 * (end[1] - start[1]),
                        )
                        for i in range(21)
                    ]
                    assert not any(left < x < right and top < y < bottom for x, y in samples)


def test_an_arc_spans_no_more_than_it_is() -> None:
    """A quarter circle from the x axis upwards: ends at (r, 0) and, y down, (0, -r)."""
    points = arc_points(Arc((0, 0), 2, 0, 90))
    assert points[0] == pytest.approx((2, 0))
    assert points[-1] == pytest.approx((0, -2))
    assert all(x >= -1e-9 and y <= 1e-9 for x, y in points)
