"""Readings of a circuit in motion: the same form as those of an instant."""

from __future__ import annotations

from analysis.hydraulic_findings import find_hydraulic
from analysis.line_flows import find_flows
from analysis.motion import Motion
from analysis.null_reasons import NO_LIMIT, OPEN_FLOW
from analysis.part_readings import read_part
from analysis.readings import Readings, read_lines, tidy
from analysis.steady import Instant


def motion_readings(motion: Motion) -> Readings | None:
    """What gauges and meters show now; None before the first step.

    Over time a closed region keeps the pressure it had; only what nothing limits has none.
    """
    solution = motion.solution
    if solution is None:
        return None
    # an event may have made the network anew: the solution is of the one before
    solved = motion.solved
    assembly = solved.assembly
    pressures = motion.pressures()
    flows = find_flows(assembly, solution, set())
    reasons = {port: OPEN_FLOW for port, flow in flows.inflow.items() if flow is None}
    reasons |= {port: NO_LIMIT for port, pressure in pressures.items() if pressure is None}
    starved = {pump for inlet in solved.inlets if inlet.starved(solution) for pump in inlet.pumps}
    instant = Instant(solution, True, 0, "", solved.dry, starved)
    return Readings(
        True,
        solution.iterations,
        0.0,
        motion.message,
        pressures,
        {port: tidy(flow) for port, flow in flows.inflow.items()},
        read_lines(assembly, flows, pressures, reasons),
        {
            part.id: read_part(part, assembly.network, solution, pressures, instant)
            for part in assembly.parts.values()
        },
        (),
        reasons,
        find_hydraulic(assembly, instant, pressures, motion.limitless),
    )
