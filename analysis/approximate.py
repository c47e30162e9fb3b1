"""Figures that are known roughly, told with no more digits than are known."""

from __future__ import annotations

from math import floor, log10


def rounded(value: float, digits: int) -> float:
    """A value [any unit, not negative] with so many significant digits.

    One digit alone would tell 1.4 as 1, further off than anything known to a fifth: below 2
    such a value goes in halves.

    >>> rounded(9.034, 2), rounded(147.0, 2)
    (9.0, 150.0)
    >>> rounded(8.6, 1), rounded(1.47, 1), rounded(1.8, 1), rounded(0.0, 1)
    (9.0, 1.5, 2.0, 0.0)
    """
    if value <= 0.0:
        return value
    places = digits - 1 - floor(log10(value))
    if digits == 1 and value < 2.0 * 10.0**-places:
        return round(2.0 * value, places) / 2.0
    return round(value, places)


def about_percent(share: float, digits: int) -> str:
    """A share in whole percent, with so many significant digits at most: `about 7 %`.

    >>> about_percent(0.0672, 2), about_percent(1.323, 2), about_percent(0.317, 1)
    ('about 7 %', 'about 130 %', 'about 30 %')
    """
    return f"about {rounded(100.0 * share, digits):.0f} %"
