"""How the flow of a hand pump swells and ebbs with the handle.

The handle is taken to swing like a pendulum, so the piston's speed follows a sine. A
double-acting pump delivers half its displacement each way, a single-acting one all of it
on the way there and nothing on the way back. Over a full stroke both give the mean flow.
"""

from __future__ import annotations

from math import cos, floor, pi

PARTS_OF_A_STROKE = 24
"""A full stroke is followed in at least so many steps."""


def delivered(acting: str, strokes: float) -> float:
    """Displacements delivered by so many full strokes, from the handle's one end.

    Parameters
    ----------
    acting
        `double` or `single`.
    strokes
        Full strokes, there and back, fractions included; not negative.

    Examples
    --------
    Halfway, at the handle's other end, and after a whole stroke:

    >>> delivered("double", 0.5), delivered("single", 0.5)
    (0.5, 1.0)
    >>> delivered("double", 3.0), delivered("single", 3.0)
    (3.0, 3.0)
    """
    whole = floor(strokes)
    part = strokes - whole
    if acting == "single":
        return whole + 0.5 * (1.0 - cos(2.0 * pi * min(part, 0.5)))
    half = floor(2.0 * part)
    return whole + 0.5 * half + 0.25 * (1.0 - cos(2.0 * pi * (part - 0.5 * half)))


def mean_share(acting: str, begin: float, end: float) -> float:
    """Flow over the mean flow, on average while the handle goes from `begin` to `end` [strokes].

    One where it does not move.

    Examples
    --------
    The first half of a stroke of a single-acting pump gives twice the mean, the second none:

    >>> mean_share("single", 0.0, 0.5), mean_share("single", 0.5, 1.0)
    (2.0, 0.0)
    """
    if end <= begin:
        return 1.0
    return (delivered(acting, end) - delivered(acting, begin)) / (end - begin)
