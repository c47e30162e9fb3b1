"""Whether pressures and members stand still, as far as can be foreseen."""

from __future__ import annotations

from math import inf

from analysis.compiled import compiled
from analysis.compiled.equations import Array, Index
from analysis.constants import WITHOUT_LIMIT

CREEP = 1e-4
"""Share of its travel, or of what it holds, that a part at rest may still move."""
_DRIFT = 1e-3
"""Share of the largest pressure by which a pressure at rest may still change."""
_LEAST_PRESSURE = 1e5


@compiled
def is_still(free: Index, pressure: Array, rate: Array, fastest: float, horizon: float) -> bool:
    """Whether no member and no pressure would change over the time ahead [s].

    Parameters
    ----------
    free
        The nodes that are looked at.
    pressure, rate
        Of all nodes [Pa], [Pa/s].
    fastest
        How fast the fastest member goes, as a share of its travel [1/s].
    """
    if fastest * horizon > CREEP:
        return False
    scale = max(_largest_below(free, pressure, WITHOUT_LIMIT), _LEAST_PRESSURE)
    return _largest_below(free, rate, inf) * horizon <= _DRIFT * scale


@compiled
def _largest_below(nodes: Index, values: Array, most: float) -> float:
    """The largest size of the values at these nodes, without those not below `most`; 0 if none."""
    found = 0.0
    for k in range(len(nodes)):
        if abs(values[nodes[k]]) < most:
            found = max(found, abs(values[nodes[k]]))
    return found
