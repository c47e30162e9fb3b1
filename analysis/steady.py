"""The circuit at an instant: the convex problem, and around it what switches.

Rounds of: solve the network; let the self-throttling valves find their opening; hold back
pumps whose inlet would fall below absolute zero; then let pilots, locks, unloading valves
and shuttles change. It ends when nothing changes, or says after a bound which part cycles.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

import numpy as np

from analysis.assemble import Assembly
from analysis.constants import THROTTLE_TOLERANCE
from analysis.devices import Modulator
from analysis.network import Array, Network, bounds_flow
from analysis.newton import Solution, solve_network
from analysis.pinning import find_open, solve_pinned
from analysis.starving import starvable_inlets
from analysis.suction import find_dry_pumps

_MOST_ROUNDS = 80
_MOST_THROTTLINGS = 40
_MOST_ROUGH = 8
_ROUGH = 1e-9
"""Imbalance over the largest flow that will do while the openings are still being found."""


@dataclass(frozen=True)
class Round:
    """Where one round ended: node pressures [Pa], shape (n_nodes,), and the opening
    differences [Pa] of throttling valves by id."""

    pressure: Array
    openings: dict[str, float]


@dataclass
class Instant:
    """The solved network, and what was found on the way.

    `dry` gives pumps without fluid and why; `starved` pumps whose inlet is at absolute zero.
    """

    solution: Solution
    converged: bool
    iterations: int
    message: str
    dry: dict[str, str] = field(default_factory=dict)
    starved: set[str] = field(default_factory=set)
    rounds: list[Round] = field(default_factory=list)


def solve_instant(assembly: Assembly, earlier: Sequence[Round] = ()) -> Instant:
    """Solve the assembled circuit with its states held as given.

    Parameters
    ----------
    assembly
        The network; its branches are switched in place.
    earlier
        The rounds of an earlier, similar solution: each round here starts from its like.
        The switches start anew all the same, so the answer does not depend on them.

    Returns
    -------
    Instant
        `converged` False with a `message` that names the part which keeps changing, or
        says that the flows did not balance.
    """
    network = assembly.network
    pumps = {
        part.id: part.branches["delivery"]
        for part in assembly.parts.values()
        if "delivery" in part.branches
    }
    dry = find_dry_pumps(assembly) if pumps else {}
    for pump in dry:
        network.parameters["source"][4, pumps[pump].row] = 0.0
    modulators = [d for d in assembly.builder.devices if isinstance(d, Modulator)]
    switches = [d for d in assembly.builder.devices if not isinstance(d, Modulator)]
    wet = [pump for pump in pumps if pump not in dry]
    inlets = starvable_inlets(assembly, wet)
    iterations, last = 0, ""
    starved: set[str] = set()
    rounds: list[Round] = []
    start: Array | None = None
    for number in range(_MOST_ROUNDS):
        if number < len(earlier) and _is_like(earlier, number, start):
            start = earlier[number].pressure
            for modulator in modulators:
                if modulator.owner in earlier[number].openings:
                    modulator.set(network, earlier[number].openings[modulator.owner])
        solution = solve_pinned(network, start)
        start = solution.pressure
        iterations += solution.iterations
        if not solution.converged:
            message = f"the flows do not balance at {worst_port(assembly, solution)}"
            return Instant(solution, False, iterations, message, dry, starved)
        if modulators:
            solution, spent, unsettled = throttle(
                assembly,
                modulators,
                solution,
                lambda p: solve_pinned(network, p),
                rough=lambda p: solve_network(network, p, polish=False, wanted=_ROUGH),
            )
            iterations += spent
            start = solution.pressure
            if unsettled:
                message = f"valve {unsettled} finds no steady opening"
                return Instant(solution, False, iterations, message, dry, starved)
            if not solution.converged:
                message = f"the flows do not balance at {worst_port(assembly, solution)}"
                return Instant(solution, False, iterations, message, dry, starved)
        rounds.append(Round(solution.pressure, _openings(network, modulators)))
        held = [i for i in inlets if i.settle(assembly, solution)]
        if held:
            last = held[0].pumps[0]
            continue
        starved = {p for i in inlets if i.starved(solution) for p in i.pumps}
        changed = [d for d in switches if d.settle(network, solution)]
        if not changed:
            _pin_starved(network, solution, [i.node for i in inlets if i.starved(solution)])
            return Instant(solution, True, iterations, "", dry, starved, rounds)
        last = changed[0].owner
        for inlet in inlets:
            inlet.forget(assembly)
    message = f"{last} keeps changing over; it has no steady state here"
    return Instant(solution, False, iterations, message, dry, starved)


def _pin_starved(network: Network, solution: Solution, nodes: list[int]) -> None:
    """A starved inlet is at absolute zero, also where only pumps deliver to it."""
    open_nodes = [node for node in nodes if solution.undetermined[node]]
    if open_nodes:
        free = network.hold(np.array(open_nodes), solution.pressure)
        solution.undetermined = solution.undetermined & find_open(network, solution)
        network.release(free)


def _is_like(earlier: Sequence[Round], number: int, last: Array | None) -> bool:
    """Whether an earlier solution's round is a better start than the end of the last round.

    It is if the last round ended nearer to its like than the earlier rounds lie apart.
    """
    if number == 0 or last is None:
        return True
    like = earlier[number - 1].pressure
    apart = np.abs(earlier[number].pressure - like).sum()
    return bool(np.abs(last - like).sum() < apart)


def worst_port(assembly: Assembly, solution: Solution) -> str:
    """The first port, in the order of the file, of the node that is most out of balance."""
    network = assembly.network
    leaving = network.outflow(solution.q)[network.free]
    leaving += bounds_flow(solution.pressure[network.free])[0]
    node = int(network.free[int(np.abs(leaving).argmax())])
    ports = (port for port, number in assembly.builder.nodes.items() if number == node)
    return next(ports, "a leak")


def _openings(network: Network, modulators: list[Modulator]) -> dict[str, float]:
    table = network.parameters["turbulent"]
    return {m.owner: float(table[1, m.branch.row]) for m in modulators}


def throttle(
    assembly: Assembly,
    modulators: list[Modulator],
    solution: Solution,
    solve: Callable[[Array], Solution],
    storage: Array | float = 0.0,
    *,
    rough: Callable[[Array], Solution] | None = None,
) -> tuple[Solution, int, str]:
    """Find the openings of self-throttling valves by Newton's method on their differences.

    The network's own Jacobian gives how every pressure answers to each difference.

    Parameters
    ----------
    solve
        Solves the network from given pressures, its branches as they then stand.
    storage
        Conductance that stands for compressibility at the free nodes [m3/s/Pa].
    rough
        Solves it less exactly, on the way to the openings; `solve` if not given.

    Returns
    -------
    tuple
        The solution, the Newton steps spent, and the valve that found no opening (or "").
    """
    network, spent = assembly.network, 0
    rows = [network.row(m.branch) for m in modulators]
    table = network.parameters["turbulent"]
    current = np.array([table[1, m.branch.row] for m in modulators])
    low, high = np.full(len(modulators), -1.0), np.full(len(modulators), np.inf)
    worst = 0
    is_rough = False
    for number in range(_MOST_THROTTLINGS):
        asked = [m.target(solution, row) for m, row in zip(modulators, rows, strict=True)]
        target = np.array([max(value, 0.0) for value, _ in asked])
        residual = current - target
        worst = int(np.abs(residual).argmax())
        tolerance = THROTTLE_TOLERANCE + 1e-9 * float(target.max(initial=0.0))
        settled = bool(abs(residual[worst]) <= tolerance)
        if settled and not is_rough:
            return solution, spent, ""
        if is_rough and (settled or number >= _MOST_ROUGH):
            # what it misses now, the rough one does not see
            solution, is_rough, rough = solve(solution.pressure), False, None
            low[:], high[:] = -1.0, np.inf
            spent += solution.iterations
            continue
        if not is_rough and _all_shut(modulators, rows, solution, current, target, residual):
            for modulator, difference, off in zip(modulators, target, residual, strict=True):
                if abs(off) > THROTTLE_TOLERANCE:
                    modulator.set(network, float(difference))
            return solution, spent, ""
        matrix = np.eye(len(modulators)) - _answers(
            assembly, modulators, rows, asked, solution, storage
        )
        try:
            step = np.linalg.solve(matrix, -residual)
        except np.linalg.LinAlgError:
            step = -residual
        if not np.isfinite(step).all():
            step = -residual
        current = _bracketed(current, step, residual, low, high)
        for modulator, difference in zip(modulators, current, strict=True):
            modulator.set(network, float(difference))
        solution, is_rough = (rough or solve)(solution.pressure), rough is not None
        spent += solution.iterations
    return solution, spent, modulators[worst].owner


def _all_shut(
    modulators: list[Modulator],
    rows: list[int],
    solution: Solution,
    current: Array,
    target: Array,
    residual: Array,
) -> bool:
    """Whether every valve that asks for another difference is shut at either one.

    Then no flow hangs on it and the solution stands as it is.
    """
    return all(
        abs(off) <= THROTTLE_TOLERANCE
        or (not m.mirrored and solution.u[row] < min(now, wanted) - THROTTLE_TOLERANCE)
        for m, row, off, now, wanted in zip(
            modulators, rows, residual, current, target, strict=True
        )
    )


def _bracketed(current: Array, step: Array, residual: Array, low: Array, high: Array) -> Array:
    """Newton's proposal, kept inside what each valve's own history brackets.

    A difference that is too large closes its valve further than it asks for, and the
    other way round, so each residual's sign tells on which side the answer lies. Where
    the other valves have moved it away the bracket is opened again. `low` and `high` are
    updated in place.
    """
    above, below = residual > 0.0, residual < 0.0
    high[above] = np.minimum(high[above], current[above])
    low[below] = np.maximum(low[below], current[below])
    closed = high - low <= np.maximum(1e-3 * np.abs(residual), 1e-12 * np.abs(current))
    low[closed & above], high[closed & below] = -1.0, np.inf
    high[closed & above] = current[closed & above]
    low[closed & below] = current[closed & below]
    proposal = current + step
    with np.errstate(invalid="ignore"):
        middle = np.where(np.isinf(high), current - residual, 0.5 * (low + high))
    inside = (proposal > low) & (proposal < high)
    return np.maximum(np.where(inside | (residual == 0.0), proposal, middle), 0.0)


def _answers(
    assembly: Assembly,
    modulators: list[Modulator],
    rows: list[int],
    asked: list[tuple[float, tuple[float, tuple[tuple[int, float], ...]]]],
    solution: Solution,
    storage: Array | float,
) -> Array:
    """d target_i / d difference_j, shape (n_modulators, n_modulators)."""
    network = assembly.network
    n = len(modulators)
    push = np.zeros((network.count, n))
    for j, row in enumerate(rows):
        for node, weight in zip(network.node[row], network.weight[row], strict=True):
            push[node, j] += weight * solution.slope[row]
    moved = np.zeros((network.count, n))
    diagonal = bounds_flow(solution.pressure[network.free])[1] + storage
    for j in range(n):
        answer = network.solve_linear(solution.slope, diagonal, push[network.free, j], 1e-12)
        if answer is None:
            return np.zeros((n, n))
        moved[network.free, j] = answer
    answers = np.zeros((n, n))
    for i, (modulator, row) in enumerate(zip(modulators, rows, strict=True)):
        value, (_, terms) = asked[i]
        if value <= 0.0:
            continue
        for node, weight in terms:
            answers[i] += weight * moved[node]
        flow_slope = solution.slope[row] * (
            (network.weight[row][:, None] * moved[network.node[row]]).sum(axis=0)
            - (np.arange(n) == i)
        )
        answers[i] -= 2.0 * modulator.drop * max(solution.q[row], 0.0) * flow_slope
    return answers
