"""A small test bench: units as plain numbers, and circuits of a few parts without line losses."""

from __future__ import annotations

from itertools import pairwise
from math import pi, sqrt
from typing import Any

from analysis.circuit import Circuit
from analysis.liquids import liquid
from analysis.readings import Readings, readings

# NIST SP 811, appendix B (from memory); inch, pound and gallons are exact by definition
INCH = 0.0254
FOOT = 12 * INCH
LBF = 4.4482216152605
PSI = LBF / INCH**2
GALLON = 231 * INCH**3
MINUTE = 60.0
GPM = GALLON / MINUTE
LPM = 1e-3 / MINUTE
BAR = 1e5
ATMOSPHERE = 101_325.0  # ISO 2533

DENSITY = liquid().density
"""Of the liquid that holds where a circuit names none."""


def area(diameter: float) -> float:
    """Of a circle."""
    return pi * diameter**2 / 4.0


def orifice(diameter: float, drop: float, coefficient: float = 0.61) -> float:
    """Flow [m3/s] through a sharp-edged orifice, q = C_d A sqrt(2 dp / rho)."""
    return coefficient * area(diameter) * sqrt(2.0 * drop / DENSITY)


class Bench(Circuit):
    """A circuit with a reservoir `T`, built of parts joined without losses."""

    def __init__(self) -> None:
        super().__init__()
        self.add("reservoir", id="T")

    def pump(self, flow: str, **more: Any) -> None:
        """A pump `P` that draws on the reservoir: `flow` at 1000 rpm, no leakage unless given."""
        values = {"volumetric_efficiency": 1.0, "speed": "1000 rpm", **more}
        self.add("fixed_pump", id="P", displacement=flow, **values)
        self.join("T.supply", "P.inlet")

    def source(self, pressure: str, to: str) -> None:
        """A pressure source at a port."""
        identifier = f"S{sum(c.kind == 'pressure_source' for c in self.components.values())}"
        self.add("pressure_source", id=identifier, pressure=pressure)
        self.join(f"{identifier}.outlet", to)

    def drain(self, *ports: str) -> None:
        """Ports to the reservoir's return."""
        for port in ports:
            self.join(port, "T.return")

    def join(self, *ports: str) -> None:
        """Ports joined in a chain by lines without loss."""
        for one, other in pairwise(ports):
            self.connect(one, other)

    def read(self) -> Readings:
        """The readings, which must have converged."""
        found = readings(self)
        assert found.converged, found.message
        return found
