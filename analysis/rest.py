"""Whether a circuit in motion has come to rest, so that what is still to come is known."""

from __future__ import annotations

from typing import TYPE_CHECKING

from analysis.compiled.resting import CREEP, is_still

if TYPE_CHECKING:
    from analysis.motion import Motion
    from analysis.newton import Outcome


def has_unforeseen_events(motion: Motion) -> bool:
    """Whether something happens in it that no step is cut at: a fuse closes, a roller trips."""
    return bool(motion.crossings.fuses or motion.crossings.rollers)


def is_at_rest(motion: Motion, horizon: float) -> bool:
    """Whether nothing would change over the time ahead [s] if nobody moved a lever.

    Rates are taken as they are and drawn out over the horizon: of pressures, members,
    gas, levels, strokes and fuses. Rates that rise again after having been so small are
    not foreseen.
    """
    rates = motion.rates()
    if rates is None:
        return False
    free = motion.assembly.network.equations.free
    if not is_still(free, motion.pressure, rates.rate, rates.fastest, horizon):
        return False
    return not _fills_or_counts(motion, rates, horizon)


def _fills_or_counts(motion: Motion, rates: Outcome, horizon: float) -> bool:
    """Whether levels, gas, strokes or fuses still change."""
    solution, network = motion.solution, motion.assembly.network
    if solution is None:
        return True
    stepper = motion.stepper
    for tank, drawn in zip(stepper.tanks, rates.drawn.tolist(), strict=True):
        if abs(drawn) * horizon > CREEP * tank.part.settings["capacity"]:
            return True
    for part in stepper.hand_pumps:
        flow = abs(float(solution.q[network.row(part.branches["delivery"])]))
        if flow * horizon > CREEP * part.settings["displacement"]:
            return True
    for part in stepper.fuses:
        flow = float(solution.q[network.row(part.branches["main"])])
        if flow * horizon > CREEP * part.settings["closing_volume"]:
            return True
    for charge in stepper.charges:
        row = network.slices["gas"].start + charge.row
        change = abs(float(solution.q[row])) * horizon
        if change > CREEP * charge.part.settings["gas_volume"]:
            return True
    return False
