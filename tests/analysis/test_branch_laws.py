"""The flow laws: monotone, continuous, with true slopes, and right against `fluids`."""

from math import pi

import fluids
import numpy as np
import pytest

from analysis.branch_laws import friction_at_4000
from analysis.compiled import laws
from analysis.constants import ROUNDING

U = np.concatenate([-np.geomspace(1e8, 1e-3, 4000), [0.0], np.geomspace(1e-3, 1e8, 4000)])


def over(law, u, *row):
    """Flow and slope at each pressure difference, two arrays of the shape of `u`."""
    q, slope = np.array([law(difference, *row) for difference in u.tolist()]).T
    return q, slope


SWEPT = {
    "orifice": (laws.turbulent, (1e-7, 0.0, 1e-7, 0.0, np.inf, 0.0)),
    "check valve": (laws.turbulent, (1e-7, 5e4, 0.0, 0.0, np.inf, 0.0)),
    "flow regulator": (laws.turbulent, (1e-7, 0.0, 0.0, 0.0, 1e-4, 0.0)),
    "relief valve": (laws.deadband, (1e-10, 7e6, -np.inf, -np.inf, np.inf, 0.0)),
    "actuator with friction": (laws.deadband, (1e-8, 2e3, -1e3, -np.inf, np.inf, 0.0)),
    "compensated pump": (laws.source, (4e-4, 1e-13, 2e-3, 1e-10, np.inf)),
    "starved pump": (laws.source, (4e-4, 0.0, 4e-4, 0.0, 1e-4)),
    "line": (laws.pipe, (2.0, 2e-7, 1e-4, friction_at_4000(1e-4))),
    "accumulator": (laws.gas, (5e6, 1e-3, 1 / 1.4, 2e-4, 0.1)),
}


@pytest.mark.parametrize("name", SWEPT)
def test_law_never_falls_and_never_jumps(name):
    """A rising pressure difference never lowers the flow, and a small one changes it little."""
    law, row = SWEPT[name]
    q, slope = over(law, U, *row)
    steps = np.diff(q)
    assert (steps >= -1e-15 * np.abs(q[1:])).all()
    assert (slope >= 0.0).all()
    steepest = np.maximum(slope[1:], slope[:-1])
    room = steepest * np.diff(U) * 1.5 + 1e-12 * np.abs(q).max()
    assert (steps <= room + 1e-18).mean() > 0.999


@pytest.mark.parametrize("name", SWEPT)
def test_slope_is_the_derivative(name):
    """Away from the joints the stated slope is the finite difference."""
    law, row = SWEPT[name]
    u = np.geomspace(50.0, 5e7, 500)
    step = 1e-5 * u
    q_low, _ = over(law, u - step, *row)
    q_high, _ = over(law, u + step, *row)
    _, slope = over(law, u, *row)
    measured = (q_high - q_low) / (2 * step)
    scale = np.maximum(np.abs(measured), np.abs(slope)) + 1e-25
    agrees = np.abs(measured - slope) <= 1e-4 * scale + 1e-16
    assert agrees.mean() > 0.97, u[~agrees]


def test_rounding_costs_little():
    """Above a kilopascal the rounded root is the square root within 30 parts in a million."""
    x = np.geomspace(100 * ROUNDING, 1e8, 200)
    root = laws.rounded_roots(x)
    assert np.abs(root / np.sqrt(x) - 1).max() < 3e-5


@pytest.mark.parametrize("roughness", [0.0, 1e-5, 1e-3])
@pytest.mark.parametrize("reynolds", [1.0, 100.0, 1999.0, 4001.0, 1e4, 1e5, 1e6])
def test_line_agrees_with_fluids(reynolds, roughness):
    """Source: fluids.friction_factor (Colebrook, laminar 64/Re); Moody 1944."""
    bore, length, density, viscosity = 0.008, 3.0, 860.0, 20e-6
    velocity = reynolds * viscosity / bore
    method = "laminar" if reynolds < 2000 else "Colebrook"
    friction = (
        64 / reynolds
        if method == "laminar"
        else fluids.friction.friction_factor(Re=reynolds, eD=roughness, Method="Colebrook")
    )
    drop = friction * length / bore * density * velocity**2 / 2
    row = (
        bore**3 / (length * density * viscosity**2),
        pi * bore * viscosity / 4,
        roughness,
        friction_at_4000(roughness),
    )
    q, _ = laws.pipe(drop, *row)
    assert q == pytest.approx(velocity * pi * bore**2 / 4, rel=1e-6)


def test_transition_is_straight_in_the_friction_factor():
    """At Re 3000 the friction factor is midway between those at 2000 and 4000 (the contract)."""
    f_4000 = friction_at_4000(1e-4)
    friction = (64 / 2000 + f_4000) / 2
    reynolds, _ = laws.pipe_reynolds(friction * 3000.0**2 / 2, 1e-4, f_4000)
    assert reynolds == pytest.approx(3000.0, rel=1e-9)


@pytest.mark.parametrize("roughness", [0.0, 1e-4, 1e-2, 0.03, 0.1])
def test_transition_of_smooth_and_rough_lines(roughness):
    """All the way from Re 2000 to 4000, where the cubic has one real root and where three."""
    f_4000 = friction_at_4000(roughness)
    expected = np.linspace(2000.5, 3999.5, 200)
    friction = 0.032 + (f_4000 - 0.032) * (expected - 2000.0) / 2000.0
    karman = 0.5 * friction * expected**2
    reynolds, slope = over(laws.pipe_reynolds, karman, roughness, f_4000)
    assert reynolds == pytest.approx(expected, rel=1e-10)
    assert slope == pytest.approx(np.gradient(expected, karman), rel=1e-2)


def test_a_passage_is_continuous_to_the_last_digit_at_its_opening():
    """A hair's breadth beside zero an orifice passes fluid both ways; a shut valve passes none."""
    u = np.array([-3e-6, -1e-6, -9e-7, -1e-9, 0.0, 1e-9, 9e-7, 1e-6, 3e-6])
    both, slope = over(laws.turbulent, u, 1.0, 0.0, 1.0, 0.0, np.inf, 1e-6)
    assert both == pytest.approx(u * slope, rel=1e-9)
    assert (slope > 0.0).all()
    check, slope = over(laws.turbulent, u, 1.0, 0.0, 0.0, 0.0, np.inf, 1e-6)
    assert check == pytest.approx(np.maximum(both, 0.0), abs=0.0)
    assert slope[0] == 0.0
    assert (slope[2:] > 0.0).all()
    back, _ = over(laws.turbulent, u, 1.0, 5.0, 1.0, 0.0, np.inf, 1e-6)
    assert back == pytest.approx(np.minimum(both, 0.0), abs=0.0)
