"""How finely a motion steps: as finely as its history is to be shown, or only to decide."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import inf

_LONGEST_SHARE = 0.02
"""Longest step of a run that only has to decide, as a share of its duration."""
_LONGEST_ROUGH = 0.1
_WAY = 0.15
"""A rough step may be longer, but no member goes further than this share of its travel in it."""
_GROWTH = 25.0
"""Times the last step that a rough one may take: its error and the way in it hold it back."""


@dataclass(frozen=True)
class Pace:
    """What a step may get wrong, and how fast steps may grow.

    Attributes
    ----------
    travel
        Of what the last step foretold, as a share of each member's travel [1].
    pressure
        Of what the last step foretold, as a share of the highest pressure [1].
    growth
        Times the last step that the next may take [1].
    imbalance
        Of flows at the nodes, over the largest flow [1].
    longest
        The longest step that is tried [s].
    way
        How far a member goes in one step at most, as a share of its travel [1].
    to_arrivals
        Whether a step ends where an expectation is about to be met, and the next one is then
        as long as if none had been cut short.
    accounts
        Whether volume and energy are accounted for.
    pulses
        Whether hand pumps deliver by strokes where their setting says so; else their mean.
    """

    travel: float = 3e-4
    pressure: float = 0.01
    growth: float = 2.0
    imbalance: float = 1e-10
    longest: float = 0.5
    way: float = inf
    to_arrivals: bool = False
    accounts: bool = True
    pulses: bool = True


EXACT = Pace()
"""That of a history that is shown: its volume account closes to 1e-6."""


def deciding(duration: float, *, unforeseen: bool) -> Pace:
    """The pace of a run of so many seconds that only has to decide whether it holds.

    Times come out within about two parts in a hundred. Steps are cut at events all the same.
    Hand pumps deliver their mean flow, without the swell of their strokes.

    Parameters
    ----------
    unforeseen
        Whether something happens that no step is cut at: long steps would miss it.
    """
    longest = EXACT.longest if unforeseen else max(EXACT.longest, _LONGEST_SHARE * duration)
    return Pace(
        travel=3e-3,
        pressure=0.1,
        growth=3.0,
        imbalance=1e-8,
        longest=longest,
        accounts=False,
        pulses=False,
    )


def rough(duration: float, *, unforeseen: bool) -> Pace:
    """A pace that follows members and levels as well as `deciding`, but no rise of a pressure.

    An implicit step ends where the pressures settle, however long it is; when they get there
    comes out up to a fifth too late.
    """
    longest = EXACT.longest if unforeseen else max(EXACT.longest, _LONGEST_ROUGH * duration)
    return replace(
        deciding(duration, unforeseen=unforeseen),
        pressure=100.0,
        growth=_GROWTH,
        imbalance=1e-6,
        longest=longest,
        way=_WAY,
        to_arrivals=True,
    )
