"""What adds up from step to step: fluid in accumulators and reservoirs, and what is counted."""

from __future__ import annotations

from typing import TYPE_CHECKING

from analysis.newton import Outcome, Solution

if TYPE_CHECKING:
    from analysis.motion import Motion


def add_up(motion: Motion, solution: Solution, outcome: Outcome, duration: float) -> None:
    """Fluid by what ports gave and took over a step [s], and the counters."""
    network = motion.assembly.network
    for charge in motion.stepper.charges:
        state = motion.moving[charge.part.id]
        gained = float(solution.q[network.slices["gas"].start + charge.row]) * duration
        state["fluid_volume"] = max(state["fluid_volume"] + gained, 0)
        charge.part.state["fluid_volume"] = state["fluid_volume"]
    for tank, drawn in zip(motion.stepper.tanks, outcome.drawn.tolist(), strict=True):
        if not drawn:
            continue
        state = motion.moving[tank.part.id]
        left = state["volume"] - drawn * duration
        # what it was filled with beyond its capacity stays, but no more comes to it
        brim = min(tank.brim, max(tank.part.settings["capacity"], state["volume"]))
        kept = min(max(left, 0.0), brim)
        if left < 0.0:
            motion.accounts.draw_air(-left)
        elif left > brim:
            motion.accounts.spill(left - brim)
        state["volume"] = tank.part.state["volume"] = kept
    for part in motion.stepper.hand_pumps:
        delivered = float(solution.q[network.row(part.branches["delivery"])]) * duration
        motion.strokes[part.id] += delivered / part.settings["displacement"]
    for part in motion.stepper.fuses:
        flow = float(solution.q[network.row(part.branches["main"])])
        state = motion.moving[part.id]
        state["passed"] = state["passed"] + flow * duration if flow > 1e-9 else 0.0
