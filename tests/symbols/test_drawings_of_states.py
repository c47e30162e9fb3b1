"""What a drawing shows of its state: extension, locks, liquid, a closed fuse, a running pump."""

from __future__ import annotations

import pytest

from symbols import KINDS, Kind, Look
from symbols.strokes import Circle, Line, Point, Polygon, stroke_points
from tests.symbols.drawing_parts import part


@pytest.mark.parametrize("name", [n for n in KINDS if n.startswith("cylinder")])
def test_piston_and_rod_move_right_in_extension_and_the_barrel_stays(name: str) -> None:
    """Extension is to the right; nothing but piston, rod and spring moves."""
    kind = KINDS[name]

    def rightmost(fraction: float) -> float:
        look = kind.look(fraction=fraction)
        return max(x for s in part(kind, "moving", look) for x, _ in stroke_points(s))

    assert rightmost(0) < rightmost(0.3) < rightmost(1)
    still = [part(kind, "outline", kind.look(fraction=fraction)) for fraction in (0, 1)]
    assert still[0] == still[1]


@pytest.mark.parametrize("name", [n for n in KINDS if n.startswith("cylinder")])
def test_piston_stays_between_the_ports(name: str) -> None:
    """Both ends of the barrel stay open to their ports, beyond the ends of travel too."""
    kind = KINDS[name]
    for fraction in (-1.0, 0.0, 1.0, 2.0):
        piston = next(
            s
            for s in part(kind, "moving", kind.look(fraction=fraction))
            if isinstance(s, Polygon) and max(y for _, y in s.points) == 2
        )
        assert all(-4 < x < 4 for x, _ in piston.points)


@pytest.mark.parametrize("lock", ["none", "retracted", "extended", "both"])
@pytest.mark.parametrize(("fraction", "end"), [(0.0, "retracted"), (0.5, ""), (1.0, "extended")])
def test_a_lock_pin_is_down_only_where_it_holds(lock: str, fraction: float, end: str) -> None:
    """A pin is in the piston at a fitted end, at that stop, unless released."""
    kind = KINDS["cylinder"]

    def pins_down(state: str) -> int:
        look = kind.look({"lock": lock}, {"lock": state}, fraction=fraction)
        pins = [s for s in part(kind, "moving", look) if isinstance(s, Polygon) and s.filled]
        assert len(pins) == {"none": 0, "both": 2}.get(lock, 1)
        return sum(max(y for _, y in pin.points) > -2 for pin in pins)

    assert pins_down("locked") == (end != "" and lock in (end, "both"))
    assert pins_down("released") == 0


def level(kind: Kind, look: Look) -> float:
    """The height of the surface of the liquid; y points down."""
    (liquid,) = part(kind, "liquid", look)
    return min(y for _, y in stroke_points(liquid))


@pytest.mark.parametrize("name", ["reservoir", "accumulator"])
def test_liquid_rises_with_its_share(name: str) -> None:
    """More fluid stands higher."""
    kind = KINDS[name]
    levels = [level(kind, kind.look(fraction=fraction)) for fraction in (0.1, 0.4, 1.0)]
    assert levels == sorted(levels, reverse=True)
    assert len(set(levels)) == 3


def test_an_empty_accumulator_shows_no_liquid() -> None:
    """At no fluid volume nothing is tinted."""
    kind = KINDS["accumulator"]
    assert part(kind, "liquid", kind.look(fraction=0)) == ()


@pytest.mark.parametrize("reserve", [0.1, 0.4, 0.7])
def test_the_standpipe_is_uncovered_just_when_the_level_is_at_the_reserve(reserve: float) -> None:
    """The contract, section 3: `standpipe` is uncovered when volume is at most `reserve`."""
    kind = KINDS["reservoir"]
    port, supply = kind.port("standpipe").at, kind.port("supply").at

    def top_of_pipe(at: Point, look: Look) -> float:
        pipe = next(
            s for s in part(kind, "outline", look) if isinstance(s, Line) and at in s.points
        )
        return min(y for _, y in pipe.points)

    for fraction, covered in ((reserve + 0.01, True), (reserve - 0.01, False)):
        look = Look(fraction=fraction, reserve=reserve)
        assert (level(kind, look) < top_of_pipe(port, look)) == covered
        assert level(kind, look) < top_of_pipe(supply, look)


def test_a_reservoir_under_air_pressure_is_closed() -> None:
    """Air pressure adds a lid and the mark of gas."""
    kind = KINDS["reservoir"]
    opened, closed = (kind.look({"air_pressure": text}) for text in ("0 bar", "5 psi"))
    assert len(kind.drawing(closed)) > len(kind.drawing(opened))


def test_a_closed_fuse_has_its_ball_on_the_seat() -> None:
    """The ball touches both sides of the seat: its centre is one radius off each of them."""
    kind = KINDS["hydraulic_fuse"]

    def gap(closed: bool) -> float:
        strokes = kind.drawing(kind.look({"closed": closed}))
        ball = next(s for s in strokes if isinstance(s, Circle))
        seat = next(s for s in strokes if isinstance(s, Line) and len(s.points) == 3)
        apex = seat.points[1]
        return (apex[0] - ball.centre[0]) / 2**0.5 - ball.radius

    assert gap(closed=True) == pytest.approx(0, abs=1e-9)
    assert gap(closed=False) > 0.5


def test_a_running_pump_is_tinted() -> None:
    """The circle is tinted exactly while the pump runs."""
    for name in ("fixed_pump", "compensated_pump", "hand_pump"):
        kind = KINDS[name]
        assert part(kind, "active", kind.look({"running": True}))
        assert not part(kind, "active", kind.look({"running": False}))


def test_a_filter_shows_its_bypass_only_when_it_has_one() -> None:
    """The bypass check valve is drawn when its pressure is given."""
    kind = KINDS["filter"]
    plain, bypassed = kind.look(), kind.look({"bypass_pressure": "3 bar"})
    assert not any(isinstance(s, Circle) for s in kind.drawing(plain))
    assert any(isinstance(s, Circle) for s in kind.drawing(bypassed))
