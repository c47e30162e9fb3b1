"""From parts to equations: nodes joined by branches whose flow grows with pressure.

A node is a set of ports joined without loss. A branch has up to three nodes with
coefficients: u = sum(coefficient * node pressure) drives its flow q(u), and
coefficient * q leaves each node. An orifice has (+1, -1); a cylinder (+A_cap, -A_rod),
so that u is its net pressure force and q its velocity; a divider (1, -r, -(1 - r)).
With every q(u) monotone such a network has one solution, whatever the start.

`Builder` collects nodes and branches by family; `Network` holds them as arrays and
evaluates flows, the imbalance at the nodes and the Jacobian.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from itertools import chain
from math import inf
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from analysis.branch_laws import pipe_row
from analysis.compiled import equations
from analysis.compiled.equations import INDEX, Equations
from analysis.constants import SEEPAGE
from analysis.elimination import Elimination
from analysis.structure import Terms, find_structure

Array = NDArray[np.float64]
Index = NDArray[np.intp]

flattened = chain.from_iterable

FAMILIES = ("turbulent", "pipe", "source", "deadband", "gas")


class Branch(NamedTuple):
    """A handle: family and row in it. `Network.row` gives the row among all branches."""

    family: str
    row: int


@dataclass
class Fixed:
    """A node held at a pressure: by what, and of what sort.

    `sort`: `reservoir`, `supply` (covered outlet), `dry` (uncovered outlet), `air`
    (open to the atmosphere), `source`, `accumulator`.
    """

    pressure: float
    sort: str
    owner: str


@dataclass
class Builder:
    """Collects the network while the laws of all parts are laid down.

    Node 0 is the atmosphere. `nodes` gives the node of each port `ID.PORT`, `holders` every
    (node, owner) that asked to hold a node, `fixed` the one that does. `conflicts` names two
    that do not agree, `disputes` gives the lowest and the highest pressure that is asked [Pa].
    """

    nodes: dict[str, int] = field(default_factory=dict)
    count: int = 1
    fixed: dict[int, Fixed] = field(default_factory=dict)
    conflicts: dict[int, tuple[str, str]] = field(default_factory=dict)
    disputes: dict[int, tuple[float, float]] = field(default_factory=dict)
    holders: list[tuple[int, str]] = field(default_factory=list)
    terms: dict[str, list[tuple[tuple[int, float], ...]]] = field(
        default_factory=lambda: {f: [] for f in FAMILIES}
    )
    rows: dict[str, list[tuple[float, ...]]] = field(
        default_factory=lambda: {f: [] for f in FAMILIES}
    )
    devices: list[Any] = field(default_factory=list)
    dynamic: bool = False
    """Whether the parts move and fill: stops, loads and gas are then set before each step."""

    def __post_init__(self) -> None:
        self.fixed.setdefault(0, Fixed(0.0, "air", ""))

    def going_on(self, *, dynamic: bool) -> Builder:
        """One that goes on from what this one has collected, which stays as it is."""
        return Builder(
            self.nodes,
            self.count,
            dict(self.fixed),
            dict(self.conflicts),
            dict(self.disputes),
            list(self.holders),
            {family: list(own) for family, own in self.terms.items()},
            {family: list(own) for family, own in self.rows.items()},
            list(self.devices),
            dynamic,
        )

    def new_node(self) -> int:
        """A node of its own, inside a part or a line."""
        self.count += 1
        return self.count - 1

    def fix(self, node: int, pressure: float, sort: str, owner: str) -> None:
        """Hold a node at a pressure [Pa]. The atmosphere wins over any other holder.

        Two other holders at different pressures are a conflict: the flow between them
        has no limit, and the node gets no reading.
        """
        self.holders.append((node, owner))
        other = self.fixed.get(node)
        if other is not None:
            if other.sort == "air":
                return
            if sort != "air":
                if abs(other.pressure - pressure) > 1.0:
                    self.conflicts[node] = (other.owner, owner)
                    lowest, highest = self.disputes.get(node, (pressure, pressure))
                    self.disputes[node] = (
                        min(lowest, pressure, other.pressure),
                        max(highest, pressure, other.pressure),
                    )
                # a covered outlet feeds whatever else meets it
                if other.sort in ("supply", "source", "accumulator"):
                    return
        self.fixed[node] = Fixed(pressure, sort, owner)

    def _add(self, family: str, terms: Terms, row: tuple[float, ...]) -> Branch:
        self.terms[family].append(tuple(terms))
        self.rows[family].append(row)
        return Branch(family, len(self.rows[family]) - 1)

    def turbulent(
        self,
        terms: Terms,
        forward: float,
        *,
        crack: float = 0.0,
        reverse: float | None = None,
        reverse_crack: float = 0.0,
        limit: float = inf,
    ) -> Branch:
        """A passage like an orifice (`laws.turbulent`), both ways without `reverse`."""
        back = forward if reverse is None else reverse
        return self._add("turbulent", terms, (forward, crack, back, reverse_crack, limit))

    def pipe(
        self, start: int, end: int, bore: float, length: float, roughness: float,
        density: float, viscosity: float,
    ) -> Branch:  # fmt: skip
        """A straight round line."""
        row = pipe_row(bore, length, roughness, density, viscosity)
        return self._add("pipe", ((start, 1.0), (end, -1.0)), row)

    def source(
        self, inlet: int, outlet: int, first: tuple[float, float], second: tuple[float, float]
    ) -> Branch:
        """A pump: the lesser of two characteristics (flow at equal pressures, slope)."""
        return self._add("source", ((inlet, 1.0), (outlet, -1.0)), (*first, *second, inf))

    def deadband(
        self,
        terms: Terms,
        slope: float,
        *,
        above: float = 0.0,
        below: float = -inf,
        low: float = -inf,
        high: float = inf,
    ) -> Branch:
        """Straight beyond a dead band (`laws.deadband`); one-way unless `below` is given."""
        return self._add("deadband", terms, (slope, above, below, low, high))

    def gas(
        self, node: int, absolute_precharge: float, gas_volume: float, polytropic_index: float,
        fluid_volume: float,
    ) -> Branch:  # fmt: skip
        """An accumulator that fills during a time step (`laws.gas`)."""
        row = (absolute_precharge, gas_volume, 1.0 / polytropic_index, fluid_volume, 1.0)
        return self._add("gas", ((node, 1.0),), row)

    def build(self) -> Network:
        """The network as arrays."""
        return Network(self)


_KINK = 1e-6
"""So near [Pa or N] to its opening a shut passage has the slope of an open one, at an instant;
so has a member at rest near the force that moves it, and a node at absolute zero.

What stands behind it at rest is at this very point, on one side or the other by rounding.
On the shut side nothing but seepage would hold it, and Newton's steps would send it far
away. Over time its own volume holds it.
"""

_WIDTH = {"turbulent": 5, "pipe": 4, "source": 5, "deadband": 5, "gas": 5}


class Network:
    """The equations as arrays. Row i of every branch array is branch i, families in order.

    Attributes
    ----------
    node, weight
        Nodes and coefficients of each branch, shape (n_branches, 3), padded with node 0
        and coefficient 0.
    parameters
        Per family, shape (parameters, rows): the rows of the family's law.
    free
        The nodes whose pressure is unknown, shape (n_free,).
    equations
        All that as the compiled functions take it.
    all_determined
        No flag set, for the nodes whose pressure nothing pins down; read-only.
    """

    def __init__(self, builder: Builder) -> None:
        self.count = builder.count
        self.start: dict[str, int] = {}
        flat: list[tuple[tuple[int, float], ...]] = []
        for family in FAMILIES:
            self.start[family] = len(flat)
            flat.extend(builder.terms[family])
        self.branches = len(flat)
        self._structure = find_structure(tuple(flat), self.count)
        self.node, self.weight = self._structure.node, self._structure.weight
        self.flat_nodes = self._structure.flat_nodes
        self.parameters = {
            f: np.fromiter(flattened(builder.rows[f]), np.float64).reshape(-1, _WIDTH[f]).T.copy()
            for f in FAMILIES
        }
        self.slices = {
            f: slice(self.start[f], self.start[f] + len(builder.rows[f])) for f in FAMILIES
        }
        self.is_fixed = np.zeros(self.count, dtype=bool)
        self.is_fixed[list(builder.fixed)] = True
        self.fixed_pressure = np.zeros(self.count)
        for index, held in builder.fixed.items():
            self.fixed_pressure[index] = held.pressure
        self.free = np.flatnonzero(~self.is_fixed)
        self._kink = 0.0 if builder.dynamic else _KINK
        self.all_determined = np.zeros(self.count, dtype=bool)
        self.all_determined.flags.writeable = False
        self._number()

    def _number(self) -> None:
        """Number the unknowns anew."""
        self._numbering = self._structure.numbered(self.free)
        self.size = self._numbering.size
        p = self.parameters
        self.equations = Equations(
            self._structure.index, self.weight, p["turbulent"], p["pipe"], p["source"],
            p["deadband"], p["gas"], self._kink, self.free.astype(INDEX),
        )  # fmt: skip

    def hold(self, nodes: Index, pressure: Array) -> Index:
        """Fix more nodes at the given pressures; returns the nodes that were free before."""
        before = self.free
        self.is_fixed[nodes] = True
        self.fixed_pressure[nodes] = pressure[nodes]
        self.free = np.flatnonzero(~self.is_fixed)
        self._number()
        return before

    def release(self, free: Index) -> None:
        """Make exactly these nodes free again."""
        self.is_fixed[:] = True
        self.is_fixed[free] = False
        self.free = free
        self._number()

    def row(self, branch: Branch) -> int:
        """The branch's row among all branches."""
        return self.start[branch.family] + branch.row

    def rows_at(self, node: int) -> list[int]:
        """The rows of the branches that join a node, of other nodes than the atmosphere."""
        return self._structure.rows_at(node)

    def drawn_from(self, nodes: frozenset[int]) -> tuple[list[int], list[float]]:
        """The rows of the branches that join any of the nodes, and how much of their flow these
        give."""
        return self._structure.drawn_from(nodes)

    @property
    def elimination(self) -> Elimination:
        """How its linear equations are solved, as it now stands."""
        return self._numbering.elimination

    def drive(self, pressure: Array) -> Array:
        """u of every branch [Pa, or N for actuators] for all node pressures [Pa]."""
        return equations.drive(self.equations, pressure)

    def flows(self, u: Array) -> tuple[Array, Array]:
        """q and dq/du of every branch."""
        return equations.flows(self.equations, u)

    def stall(self) -> tuple[Array, Array]:
        """Pressure [Pa] over its inlet at which each pump gives no more flow; its slope there."""
        table = self.parameters["source"]
        found = np.array([equations.stall(table, k) for k in range(table.shape[1])])
        head, slope = found.reshape(-1, 2).T
        return head, slope

    def openings(self, u: Array, change: Array) -> tuple[Index, Array, Array]:
        """The shut branches that a change of u would open, and how.

        Returns
        -------
        tuple
            Rows; the conductance [m3/s/Pa] to expect of each, once open; the change of u
            at which it opens [Pa].
        """
        conductance, gap = equations.openings(self.equations, u, change)
        rows = np.flatnonzero(conductance)
        return rows, conductance[rows], gap[rows]

    def outflow(self, q: Array) -> Array:
        """Net flow out of every node into the branches [m3/s], shape (n_nodes,)."""
        return equations.outflow(self.equations, q, self.count)

    def solve_linear(
        self, slope: Array, diagonal: Array, right: Array, shift: float
    ) -> Array | None:
        """Solve (jacobian(slope) + diagonal) x = right over the free nodes, shape (n_free,).

        `shift` is the share of each diagonal that is added to it. None if there is no finite
        solution.
        """
        return self.elimination.solve(slope, diagonal, right, shift)


_NO_REFILL = np.empty(0)


def bounds_flow(
    pressure: Array, seepage: float = SEEPAGE, refill: Array | None = None
) -> tuple[Array, Array]:
    """Flow out of a node by seepage, vapour and the limit, and its slope.

    Below absolute zero vapour fills the node (a flow into it); above `UNLIMITED` a
    stand-in limit takes the flow, so that an unlimited pressure is found and named. `refill`
    is what a vapour space left by earlier steps may take at absolute zero [m3/s].
    """
    return equations.bounds_flow(pressure, seepage, _NO_REFILL if refill is None else refill, 0.0)
