"""Solves the second formulation for one instant with scipy.optimize.least_squares."""

from __future__ import annotations

import warnings
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from scipy.optimize import least_squares
from scipy.sparse import csc_matrix
from scipy.sparse.linalg import MatrixRankWarning, spsolve

from tests.independent.elements import FLOW, FORCE, PRESSURE, Element
from tests.independent.equations import States, elements
from tests.independent.sheet import Sheet

SEEPAGE = 1e-17
"""Conductance [m3/(s Pa)] of every port towards a low pressure: it makes the least
pressure the answer behind a closed check valve, and shows which regions float."""
SMOOTHING = (1.0, 0.1, 1e-2, 1e-3, 1e-4, 1e-6, 1e-8)
TOLERANCE = 1e-7
ROUNDS = 30


@dataclass
class Solution:
    """Pressures [Pa] and inflows [m3/s] by port, flows by element id, floating ports."""

    pressure: dict[str, float]
    inflow: dict[str, float]
    flow: dict[str, float]
    floating: set[str]
    states: States
    residual: float


class System:
    """The unknowns in one vector: port pressures, then element flows, all counted."""

    def __init__(self, parts: list[Element], low_pressure: float) -> None:
        self.elements = parts
        ports = dict.fromkeys(port for e in parts for port, _ in e.terms)
        ports.update(dict.fromkeys(p for e in parts for _, terms in e.limits for p, _ in terms))
        self.ports = list(ports)
        self.index = {port: i for i, port in enumerate(self.ports)}
        self.low_pressure = low_pressure
        self.size = len(self.ports) + len(parts)

    def evaluate(self, x: np.ndarray, smooth: float) -> tuple[np.ndarray, np.ndarray]:
        """Residuals, shape (size,), and Jacobian, shape (size, size)."""
        n = len(self.ports)
        pressure: Callable[[str], float] = lambda port: x[self.index[port]] * PRESSURE  # noqa: E731
        residual, jacobian = np.zeros(self.size), np.zeros((self.size, self.size))
        seepage = SEEPAGE * PRESSURE / FLOW
        residual[:n] = seepage * (x[:n] - self.low_pressure / PRESSURE)
        jacobian[range(n), range(n)] = seepage
        for k, element in enumerate(self.elements):
            row = n + k
            for port, coefficient in element.terms:
                weight = coefficient * element.scale / FLOW
                residual[self.index[port]] += weight * x[row]
                jacobian[self.index[port], row] += weight
            residual[row], slopes = element.residual(x[row], pressure, smooth)
            for port, slope in slopes.items():
                jacobian[row, self.index[port] if port else row] += slope
        return residual, jacobian

    def solve(self, start: np.ndarray, smoothing: tuple[float, ...]) -> tuple[np.ndarray, float]:
        """Continuation in the rounding-off: Newton, or least squares where that stalls."""
        x = start
        for smooth in smoothing:
            x, solved = self._newton(x, smooth)
            if not solved:
                x = self._least_squares(x, smooth)
        return x, float(np.max(np.abs(self.evaluate(x, 0.0)[0])))

    def _newton(self, x: np.ndarray, smooth: float) -> tuple[np.ndarray, bool]:
        """Newton's method with a sparse factorisation, halving steps that make it worse."""
        residual, jacobian = self.evaluate(x, smooth)
        for _ in range(60):
            size = float(np.linalg.norm(residual))
            if size < 1e-10:
                return x, True
            with warnings.catch_warnings():
                warnings.simplefilter("ignore", MatrixRankWarning)
                step = spsolve(csc_matrix(jacobian), -residual)
            if not np.all(np.isfinite(step)):
                return x, False
            share = 1.0
            while share > 1e-4:
                trial = self.evaluate(x + share * step, smooth)
                if np.linalg.norm(trial[0]) < (1.0 - 1e-4 * share) * size:
                    break
                share /= 2.0
            else:
                return x, size < 1e-8
            x, (residual, jacobian) = x + share * step, trial
        return x, False

    def _least_squares(self, x: np.ndarray, smooth: float) -> np.ndarray:
        """Levenberg-Marquardt with the analytic Jacobian: slow and sure."""
        memory: dict[bytes, tuple[np.ndarray, np.ndarray]] = {}

        def both(at: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
            key = at.tobytes()
            if key not in memory:
                memory.clear()
                memory[key] = self.evaluate(at, smooth)
            return memory[key]

        return least_squares(
            lambda at: both(at)[0],
            x,
            jac=lambda at: both(at)[1],
            method="lm",
            xtol=1e-15,
            ftol=1e-15,
            gtol=1e-15,
            max_nfev=400,
        ).x


def solve(sheet: Sheet) -> Solution:
    """The instant: continuous equations inside, discrete states outside until none changes."""
    states = States(dry=_dry_pumps(sheet))
    start: dict[str, float] = {}
    for _ in range(ROUNDS):
        system, x, residual = _settle(sheet, states, start)
        pressure = {p: float(x[i]) * PRESSURE for p, i in system.index.items()}
        start = dict(zip(system.ports + [e.id for e in system.elements], x, strict=True))
        if residual < TOLERANCE and not _change_states(sheet, states, pressure):
            return _solution(system, x, pressure, states, residual)
        if residual >= TOLERANCE:
            raise AssertionError(f"second formulation stalls at residual {residual:.1e}")
    raise AssertionError("second formulation: the discrete states do not settle")


def _settle(
    sheet: Sheet, states: States, start: dict[str, float]
) -> tuple[System, np.ndarray, float]:
    """One set of states, from the last solution, or from several starts if that stalls."""
    system = System(elements(sheet, states), -0.5e5)
    names = system.ports + [e.id for e in system.elements]
    warm = np.array([start.get(name, 0.0) for name in names])
    random = np.random.default_rng(1)
    starts = [warm, np.zeros(system.size)]
    starts += [random.normal(0.0, 20.0, system.size) for _ in range(4)]
    best: tuple[np.ndarray, float] | None = None
    for first in starts:
        x, residual = system.solve(first, SMOOTHING)
        if best is None or residual < best[1]:
            best = x, residual
        if residual < TOLERANCE:
            break
    assert best is not None
    return system, best[0], best[1]


def _solution(
    system: System, x: np.ndarray, pressure: dict[str, float], states: States, residual: float
) -> Solution:
    """Floating ports are those that follow the seepage to another low pressure."""
    lower = System(system.elements, -0.9e5)
    y, _ = lower.solve(x, (1e-6, 1e-8))
    floating = {p for p, i in system.index.items() if abs(x[i] - y[i]) * PRESSURE > 1e3}
    n = len(system.ports)
    flow, inflow = {}, dict.fromkeys(system.ports, 0.0)
    for k, element in enumerate(system.elements):
        q = float(x[n + k]) * element.scale
        flow[element.id] = q
        if ":" in element.id or "." in "".join(p for p, _ in element.terms):
            owner = element.id.split(":")[0]
            for port, coefficient in element.terms:
                if port.rsplit(".", 1)[0] == owner:
                    inflow[port] += coefficient * q
    return Solution(pressure, inflow, flow, floating, states, residual)


def _dry_pumps(sheet: Sheet) -> set[str]:
    """Pumps whose inlet meets uncovered reservoir outlets only, or a ruptured suction line."""
    neighbours: dict[str, set[str]] = {}

    def join(a: str, b: str) -> None:
        neighbours.setdefault(a, set()).add(b)
        neighbours.setdefault(b, set()).add(a)

    torn: set[str] = set()
    for line in sheet.lines:
        if line.get("state", {}).get("fault") == "ruptured":
            torn |= {line["from"], line["to"]}
        else:
            join(line["from"], line["to"])
    for part in sheet.parts.values():
        if part.kind in ("check_valve", "filter"):
            join(f"{part.id}.inlet", f"{part.id}.outlet")
    dry = set()
    for part in sheet.parts.values():
        if not part.kind.endswith("_pump"):
            continue
        reached, queue = set(), [f"{part.id}.inlet"]
        while queue:
            port = queue.pop()
            if port not in reached:
                reached.add(port)
                queue += neighbours.get(port, ())
        outlets = {p for p in reached if sheet.parts[p.rsplit(".", 1)[0]].kind == "reservoir"}
        if reached & torn or not any(_covered(sheet, outlet) for outlet in outlets):
            dry.add(part.id)
    return dry


def _covered(sheet: Sheet, outlet: str) -> bool:
    identifier, port = outlet.rsplit(".", 1)
    reservoir = sheet.parts[identifier]
    mouth = {"supply": 0.0, "standpipe": reservoir["reserve"]}.get(port, float("inf"))
    return reservoir["volume"] > mouth


def _change_states(sheet: Sheet, states: States, pressure: dict[str, float]) -> bool:
    """Change what the pressures contradict; whether anything changed."""
    changed = False
    for part in sheet.parts.values():
        at = lambda port, part=part: pressure.get(f"{part.id}.{port}", 0.0)  # noqa: E731
        if part.kind == "cylinder" and not states.released.get(part.id):
            port = "cap" if part["extension"] < part["stroke"] / 2 else "rod"
            given = part.state.get("lock") == "released"
            fitted = part.settings.get("lock", "none") != "none"
            if fitted and (given or at(port) >= part["lock_release_pressure"]):
                states.released[part.id] = changed = True
        elif part.kind == "shuttle_valve":
            side = 2 if at("inlet_2") > at("inlet_1") + 1.0 else 1
            changed |= side != states.shuttle.get(part.id, 1)
            states.shuttle[part.id] = side
        elif part.kind == "pilot_check_valve":
            opens = part["pilot_ratio"] * at("pilot") > at("outlet") - at("inlet")
            changed |= opens != states.pilot_open.get(part.id, False)
            states.pilot_open[part.id] = opens
        elif part.kind == "unloading_valve":
            cut_out = at("outlet") >= part["cut_out_pressure"]
            changed |= cut_out and not states.unloaded.get(part.id)
            states.unloaded[part.id] = cut_out or states.unloaded.get(part.id, False)
    return changed


__all__ = ["FORCE", "Solution", "solve"]
