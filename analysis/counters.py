"""What adds up from step to step: reservoir levels, strokes of hand pumps, what passed a fuse."""

from __future__ import annotations

from typing import TYPE_CHECKING

from analysis.newton import Solution

if TYPE_CHECKING:
    from analysis.motion import Motion


def add_up(motion: Motion, solution: Solution, duration: float) -> None:
    """Reservoir levels by what their ports gave and took over a step [s], and the counters."""
    network = motion.assembly.network
    flows, _ = motion.stepper.numbers(solution)
    for tank, drawn in zip(motion.stepper.tanks, motion.stepper.drawn(solution), strict=True):
        state = motion.moving[tank.part.id]
        left = state["volume"] - drawn * duration
        # what it was filled with beyond its capacity stays, but no more comes to it
        brim = min(tank.brim, max(tank.part.settings["capacity"], state["volume"]))
        kept = min(max(left, 0.0), brim)
        motion.accounts.draw_air(max(-left, 0.0))
        motion.accounts.spill(max(left - brim, 0.0))
        state["volume"] = tank.part.state["volume"] = kept
    for part in motion.stepper.hand_pumps:
        delivered = flows[network.row(part.branches["delivery"])] * duration
        motion.strokes[part.id] += delivered / part.settings["displacement"]
    for part in motion.stepper.fuses:
        flow = flows[network.row(part.branches["main"])]
        state = motion.moving[part.id]
        state["passed"] = state["passed"] + flow * duration if flow > 1e-9 else 0.0
