"""The pressures from which a circuit begins to be worked."""

from __future__ import annotations

from dataclasses import dataclass

from analysis.assemble import Assembly, assemble
from analysis.blas import one_thread
from analysis.circuit import Circuit
from analysis.constants import ATMOSPHERE, WITHOUT_LIMIT
from analysis.devices import Unloading
from analysis.steady import Instant, solve_instant

_MOST_TRAPPED = 1e8


@dataclass(frozen=True)
class Begin:
    """Where a circuit begins: pressures by `ID.PORT` [Pa], unloading valves that stand cut out.

    `switched` has every unloading valve by id.
    """

    pressures: dict[str, float]
    switched: dict[str, bool]


def find_begin(circuit: Circuit) -> Begin:
    """Solve the instant at which the circuit begins, its states held as given.

    Raises
    ------
    QuantityError
        If the liquid's temperature is out of range.
    """
    assembly = assemble(circuit)
    with one_thread():
        instant = solve_instant(assembly)
    devices = assembly.builder.devices
    return Begin(
        _begin_pressures(assembly, instant),
        {device.owner: device.open for device in devices if isinstance(device, Unloading)},
    )


def _begin_pressures(assembly: Assembly, instant: Instant) -> dict[str, float]:
    """Pressures at all ports to start from [Pa]: those of the instant.

    What nothing pins down starts at the least pressure, but under no vacuum; what nothing
    limits starts at none, and will rise.
    """
    nodes, conflicts = assembly.builder.nodes, assembly.builder.conflicts
    least = instant.rounds[-1].pressure.tolist() if instant.converged and instant.rounds else None
    solved = instant.solution.pressure.tolist()
    open_nodes = instant.solution.undetermined.tolist()
    begin = {}
    for port, node in nodes.items():
        pressure = solved[node]
        unread = node in conflicts or pressure > WITHOUT_LIMIT or open_nodes[node]
        if least is None or unread:
            pressure = max(least[node], 0.0) if least is not None else 0.0
            pressure = 0.0 if pressure > WITHOUT_LIMIT else min(pressure, _MOST_TRAPPED)
        begin[port] = max(pressure, -ATMOSPHERE)
    return begin
