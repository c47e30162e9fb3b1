"""The parameters of a line's flow law; the laws themselves are in `analysis.compiled.laws`."""

from __future__ import annotations

from functools import lru_cache
from math import log10, pi

from analysis.compiled.laws import TURBULENT_START


@lru_cache(maxsize=4096)
def friction_at_4000(roughness: float) -> float:
    """Darcy friction factor by Colebrook at Re = 4000."""
    f = 0.04
    for _ in range(30):
        f = (-2.0 * log10(roughness / 3.7 + 2.51 / (TURBULENT_START * f**0.5))) ** -2
    return f


@lru_cache(maxsize=4096)
def pipe_row(
    bore: float, length: float, roughness: float, density: float, viscosity: float
) -> tuple[float, float, float, float]:
    """The parameters of `laws.pipe` for a line [m, m, m, kg/m3, m2/s]."""
    relative = roughness / bore
    return (
        bore**3 / (length * density * viscosity**2),
        pi * bore * viscosity / 4.0,
        relative,
        friction_at_4000(relative),
    )
