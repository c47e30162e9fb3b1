"""Reservoirs, accumulators, and parts that only join or close lines."""

from __future__ import annotations

from math import inf

from analysis.constants import ATMOSPHERE, STIFF
from analysis.outlets import uncovered_outlets
from analysis.part import Part


def gas_pressure(
    precharge: float, gas_volume: float, fluid_volume: float, polytropic_index: float
) -> float:
    """Gauge pressure [Pa] of an accumulator's gas: p V^n constant in absolute pressure.

    Parameters
    ----------
    precharge
        Gauge pressure of the gas with no fluid in [Pa].
    gas_volume, fluid_volume
        Gas volume when empty, and fluid in it now [m3]; fluid_volume < gas_volume.
    polytropic_index
        1 for slow, 1.4 for fast changes (nitrogen).

    Examples
    --------
    >>> round(gas_pressure(100e5, 1e-3, 0.5e-3, 1.0) / 1e5, 2)
    201.01
    """
    gas = max(gas_volume - fluid_volume, 1e-6 * gas_volume)
    absolute = precharge + ATMOSPHERE
    return float(absolute * (gas_volume / gas) ** polytropic_index - ATMOSPHERE)


def reservoir(part: Part) -> None:
    """All ports at the air pressure; an outlet feeds while the fluid covers it.

    Over time `analysis.outlets` says which outlets are uncovered.
    """
    uncovered = uncovered_outlets(part.settings, part.state)
    for port in ("supply", "standpipe", "return"):
        sort = "dry" if (port if port != "return" else "supply") in uncovered else "supply"
        part.net.fix(part.ports[port], part.settings["air_pressure"], sort, part.id)


def accumulator(part: Part) -> None:
    """At an instant a source at the pressure of its gas; empty, it takes but gives nothing."""
    if part.fault == "blocked":
        return
    s = part.settings
    fluid = part.state["fluid_volume"]
    if part.net.dynamic:
        absolute = s["precharge"] + ATMOSPHERE
        branch = part.net.gas(
            part.ports["fluid"], absolute, s["gas_volume"], s["polytropic_index"], fluid
        )
        part.branches["charge"] = part.tap((("fluid", 1.0),), branch)
    elif fluid > 0.0:
        pressure = gas_pressure(s["precharge"], s["gas_volume"], fluid, s["polytropic_index"])
        part.net.fix(part.ports["fluid"], pressure, "accumulator", part.id)
    else:
        part.branches["charge"] = part.deadband(
            (("fluid", 1.0),), STIFF, above=s["precharge"], below=-inf
        )


def nothing(_part: Part) -> None:
    """A part that only joins lines, closes one, or shows a pressure."""


STORAGE = {
    "reservoir": reservoir,
    "accumulator": accumulator,
    **dict.fromkeys(
        ("junction", "plug", "pressure_gauge", "pressure_switch", "test_point", "flow_meter"),
        nothing,
    ),
}
