"""How long a step over time may be, and how far it is from what the one before it foretold."""

from __future__ import annotations

from typing import TYPE_CHECKING

from analysis.compiled.quiet_steps import FIRST_STEP
from analysis.newton import Outcome

if TYPE_CHECKING:
    from analysis.motion import Motion

_ROUGHLY = 10.0
"""Times the tolerance that holds while fluid and air are drawn by turns."""


def error_of(motion: Motion, outcome: Outcome, duration: float) -> float:
    """How far a step [s] is from what the last one foretold, over the tolerance of the pace."""
    if motion.rates() is None:
        return 0.0 if duration <= FIRST_STEP else 4.0
    # what air does to the pressures there is not known so exactly
    is_rough = motion.outlets.gulps and motion.outlets.is_gulping(motion.time)
    return outcome.error / _ROUGHLY if is_rough else outcome.error
