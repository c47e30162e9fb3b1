"""How long readings take, beside scipy on the very same equations, which must agree.

scipy is given the network as it stands in the end: which valves are open, which locks hold,
and which regions nothing pins down are told to it, while `readings` finds all that, reads
the parts and writes the findings. Even so the aim is to be twenty times faster.
"""

from pathlib import Path
from time import perf_counter

import numpy as np
import pytest
from scipy.optimize import least_squares, root

from analysis import read_circuit, readings
from analysis.assemble import assemble
from analysis.blas import one_thread
from analysis.network import bounds_flow
from analysis.pinning import find_open
from analysis.steady import solve_instant
from tests.support.kept import forget

SAMPLE = Path(__file__).parents[2] / "sample_circuits" / "emergency_pump.circuit.json"
_PRESSURE, _FLOW = 1e6, 1e-4
"""Scales of unknowns [Pa] and residuals [m3/s] for scipy: of the order of the answer."""


_TIES = (1e-7, 1e-8, 1e-9, 1e-10, 1e-11, 0.0)
"""Conductances [m3/s/Pa] of every node to the atmosphere by which scipy is led to the answer.

From zero pressure without them it ends at a least sum of squares that is no solution.
"""


class Equations:
    """The balance of flows at the nodes that something pins down, as scipy wants it."""

    def __init__(self, circuit):
        assembly = assemble(circuit)
        solution = solve_instant(assembly).solution
        self.network = assembly.network
        loose = solution.undetermined | find_open(self.network, solution)
        self.network.hold(np.flatnonzero(loose), solution.pressure)
        self.answer = solution.pressure[self.network.free] / _PRESSURE
        whole = np.zeros((self.network.branches, self.network.count))
        for j in range(3):
            rows = np.arange(self.network.branches)
            np.add.at(whole, (rows, self.network.node[:, j]), self.network.weight[:, j])
        self.incidence = whole[:, self.network.free]

    def _whole(self, x):
        pressure = self.network.fixed_pressure.copy()
        pressure[self.network.free] = x * _PRESSURE
        return pressure

    def residual(self, x, tie=0.0):
        """Flow out of every free node, scaled, shape (n,)."""
        pressure = self._whole(x)
        q, _ = self.network.flows(self.network.drive(pressure))
        held = pressure[self.network.free]
        leaving = self.network.outflow(q)[self.network.free] + bounds_flow(held)[0]
        return (leaving + tie * held) / _FLOW

    def jacobian(self, x, tie=0.0):
        """Its derivative, shape (n, n)."""
        pressure = self._whole(x)
        _, slope = self.network.flows(self.network.drive(pressure))
        found = self.incidence.T @ (slope[:, None] * self.incidence)
        found += np.diag(bounds_flow(pressure[self.network.free])[1] + tie)
        return found * (_PRESSURE / _FLOW)


def timed(solve):
    """The least seconds of three tries, and the last answer."""
    best = np.inf
    for _ in range(3):
        begin = perf_counter()
        answer = solve()
        best = min(best, perf_counter() - begin)
    return best, answer


def agrees(found, answer):
    """Whether all pressures are the same to a millionth of the largest."""
    return np.abs(found - answer).max() <= 1e-6 * np.abs(answer).max()


def note(benchmark, seconds):
    """Report how many times longer scipy takes."""
    benchmark.extra_info["scipy_ms"] = round(seconds * 1e3, 2)
    ours = benchmark.stats.stats.min
    benchmark.extra_info["scipy_takes_times_as_long"] = round(seconds / ours, 1)


@pytest.fixture
def circuit():
    """The sample with an emergency pump of its own."""
    return read_circuit(SAMPLE)


def test_readings_from_scratch(benchmark, circuit):
    """Cold, beside `least_squares` with the analytic Jacobian, led from zero pressure.

    What is kept of a structure from earlier readings is thrown away before each.
    """
    equations = Equations(circuit)

    def solve():
        x = np.zeros(len(equations.answer))
        for tie in _TIES:
            x = least_squares(
                equations.residual, x, equations.jacobian, args=(tie,), x_scale="jac",
                method="dogbox", xtol=1e-14, ftol=1e-15, gtol=1e-15, max_nfev=500,
            ).x  # fmt: skip
        return x

    with one_thread():
        seconds, found = timed(solve)
    assert agrees(found, equations.answer)

    benchmark.pedantic(lambda: readings(circuit), setup=forget, rounds=60)
    note(benchmark, seconds)


def test_readings_of_a_known_structure(benchmark, circuit):
    """No earlier pressures, but the network was seen before: another file of a fleet, say."""
    readings(circuit)
    benchmark(lambda: readings(circuit))


def test_readings_after_one_edit(benchmark, circuit):
    """Warm: a line made longer and shorter by turns, beside `root` from the same start."""
    earlier = readings(circuit)
    start = Equations(circuit).answer
    line = next(line for line in circuit.lines.values() if "length" in line.settings)
    lengths = ["11 in", "12 in"]

    def edit():
        lengths.reverse()
        circuit.set_value(line.id, "length", lengths[0])

    edit()
    equations = Equations(circuit)

    def solve():
        return root(
            equations.residual, start, jac=equations.jacobian, method="hybr",
            options={"xtol": 1e-12, "maxfev": 2000},
        )  # fmt: skip

    with one_thread():
        seconds, found = timed(solve)
    assert agrees(found.x, equations.answer)
    benchmark.pedantic(lambda: readings(circuit, start=earlier), setup=edit, rounds=40)
    note(benchmark, seconds)
