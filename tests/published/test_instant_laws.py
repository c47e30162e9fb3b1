"""The laws of fluid power against handbooks and reference libraries, through whole circuits."""

from __future__ import annotations

from itertools import pairwise
from math import pi, sqrt

import fluids
import pytest

from analysis.liquids import liquid
from symbols import find_kind
from tests.published.bench import (
    ATMOSPHERE,
    DENSITY,
    FOOT,
    GPM,
    INCH,
    LBF,
    PSI,
    Bench,
    area,
)


def bore_of(square_inches: float) -> str:
    """The bore of a piston of that area."""
    return f"{sqrt(4 * square_inches / pi)!r} in"


def test_pascal() -> None:
    """20 lbf on a 2 in2 piston makes 10 psi, which puts 200 lbf on a 20 in2 piston.

    US Navy NAVEDTRA 14105, Fluid Power, ch. 2 (from memory).
    """
    bench = Bench()
    bench.add("cylinder", id="small", bore=bore_of(2), load="20 lbf", extension="50 mm")
    bench.add("cylinder", id="large", bore=bore_of(20), rod_diameter="2 in", extension="300 mm")
    bench.join("small.cap", "large.cap")
    bench.drain("small.rod", "large.rod")
    read = bench.read()
    assert read.pressures["large.cap"] == pytest.approx(10 * PSI, rel=1e-4)
    assert read.quantities["large"]["force"] == pytest.approx(200 * LBF, rel=1e-4)


def working_cylinder(flow: str, square_inches: float, load: str) -> Bench:
    """A pump that moves a loaded piston, rod end to the reservoir."""
    bench = Bench()
    bench.pump(flow)
    bench.add("cylinder", id="A", bore=bore_of(square_inches), load=load, extension="100 mm")
    bench.join("P.outlet", "A.cap")
    bench.drain("A.rod")
    return bench


def test_hydraulic_power() -> None:
    """1000 psi at 10 gal/min are 5.83 hp: hp = psi * gpm / 1714, common practice."""
    read = working_cylinder("0.01 gal/rev", 4, "4000 lbf").read()
    power = read.pressures["P.outlet"] * -read.inflows["P.outlet"]
    assert read.pressures["P.outlet"] == pytest.approx(1000 * PSI, rel=1e-4)
    assert power / 745.6998715822702 == pytest.approx(1000 * 10 / 1714, rel=5e-4)
    assert power / 745.6998715822702 == pytest.approx(5.83, abs=0.005)
    mechanical = read.quantities["A"]["force"] * read.quantities["A"]["velocity"]
    assert mechanical == pytest.approx(power, rel=1e-4)


def test_piston_speed() -> None:
    """5 gal/min on 4 in2 are 4.81 in/s: in/s = 231 gpm / (60 A), exact from units."""
    read = working_cylinder("0.005 gal/rev", 4, "100 lbf").read()
    assert read.quantities["A"]["velocity"] / INCH == pytest.approx(231 * 5 / 240, rel=1e-4)
    assert read.quantities["A"]["velocity"] / INCH == pytest.approx(4.81, abs=0.005)


@pytest.mark.parametrize(("gpm", "speed"), [(0.38, 2.0), (3.75, 20.0)])
def test_velocity_in_a_tube(gpm: float, speed: float) -> None:
    """3/8 in tube of 0.049 in wall (bore 0.277 in): published tube tables, two digits."""
    bench = Bench()
    bench.pump(f"{gpm / 1000!r} gal/rev")
    bench.connect("P.outlet", "T.return", id="L", bore="0.277 in", length="1 ft")
    velocity = bench.read().line("L").velocity
    assert velocity / FOOT == pytest.approx(speed, rel=0.02)
    assert velocity / FOOT == pytest.approx(0.3208 * gpm / (pi * 0.277**2 / 4), rel=2e-4)


def line_reading(reynolds: float, roughness: str = "1.5 um") -> tuple[float, float]:
    """(friction factor, relative roughness) in a 10 m line at a Reynolds number."""
    bore = 0.02 if reynolds < 5e4 else 0.2
    length, nu = 10.0, liquid().viscosity
    flow = reynolds * nu * pi * bore / 4
    bench = Bench()
    bench.pump(f"{flow * 6e4!r} cm^3/rev")
    laid = {"bore": f"{bore} m", "length": "10 m", "roughness": roughness}
    bench.connect("P.outlet", "T.return", id="L", **laid)
    line = bench.read().line("L")
    assert line.reynolds == pytest.approx(reynolds, rel=1e-6)
    dynamic = DENSITY * line.velocity**2 / 2
    factor = line.pressure_drop / (length / bore * dynamic)
    return factor, parse(roughness) / bore


def parse(micrometres: str) -> float:
    """The roughness in metres."""
    return float(micrometres.split()[0]) * 1e-6


@pytest.mark.parametrize("reynolds", [1, 10, 100, 500, 1000, 1500, 1990])
def test_laminar_loss(reynolds: float) -> None:
    """Hagen-Poiseuille: the friction factor of `fluids` below transition, 64 / Re."""
    factor, relative = line_reading(reynolds)
    assert factor == pytest.approx(fluids.friction_factor(Re=reynolds, eD=relative), rel=1e-4)
    assert factor == pytest.approx(64 / reynolds, rel=1e-4)


@pytest.mark.parametrize("roughness", ["1.5 um", "50 um"])
@pytest.mark.parametrize("reynolds", [4001, 6000, 1e4, 3e4, 1e5, 3e5, 1e6])
def test_turbulent_loss(reynolds: float, roughness: str) -> None:
    """Colebrook's friction factor as `fluids.friction_factor` solves it; Moody 1944."""
    factor, relative = line_reading(reynolds, roughness)
    published = fluids.friction_factor(Re=reynolds, eD=relative, Method="Colebrook")
    assert factor == pytest.approx(published, rel=1e-4)


@pytest.mark.parametrize("reynolds", [5000, 1e4, 5e4])
def test_smooth_tube(reynolds: float) -> None:
    """Blasius, 0.3164 / Re^0.25, for a smooth tube, good to about 3 % (handbooks, from memory)."""
    factor, _ = line_reading(reynolds, "0.01 um")
    assert factor == pytest.approx(0.3164 / reynolds**0.25, rel=0.03)


def test_transition_rises_steadily() -> None:
    """Between Re 2000 and 4000 the factor climbs from laminar to turbulent without a jump.

    Transition at about 2000 to 4000: Moody 1944 (from memory).
    """
    factors = [line_reading(re)[0] for re in (1999, 2001, 2500, 3000, 3500, 3999, 4001)]
    assert factors[0] == pytest.approx(factors[1], rel=2e-3)
    assert factors[-2] == pytest.approx(factors[-1], rel=2e-3)
    assert all(b > a for a, b in pairwise(factors[1:-1]))
    turbulent = fluids.friction_factor(Re=4000, eD=7.5e-5, Method="Colebrook")
    assert factors[3] == pytest.approx((0.032 + turbulent) / 2, rel=1e-3)


def test_orifice_flow() -> None:
    """A sharp-edged orifice far smaller than its pipe, against `fluids.flow_meter_discharge`."""
    bench = Bench()
    bench.add("restrictor", id="R", diameter="2 mm", discharge_coefficient=0.61)
    bench.source("100 bar", "R.A")
    bench.drain("R.B")
    flow = bench.read().inflows["R.A"]
    mass = fluids.flow_meter_discharge(
        D=1.0, Do=0.002, P1=100e5, P2=0.0, rho=DENSITY, C=0.61, expansibility=1.0
    )
    assert flow == pytest.approx(mass / DENSITY, rel=1e-4)


def test_discharge_coefficient_at_high_reynolds_number() -> None:
    """The default is that of ISO 5167-2 (Reader-Harris/Gallagher, by way of `fluids`) to 3 %."""
    published = fluids.C_Reader_Harris_Gallagher(
        D=0.1, Do=0.05, rho=DENSITY, mu=0.01, m=DENSITY * 0.05, taps="corner"
    )
    default = find_kind("restrictor").settings["discharge_coefficient"].default
    assert default == pytest.approx(published, rel=0.03)


@pytest.mark.parametrize("index", [1.0, 1.4])
@pytest.mark.parametrize("stored", [0.2, 0.6])
def test_gas_spring(index: float, stored: float) -> None:
    """p0 V0^n = p V^n in absolute pressure, n = 1 slow, 1.4 fast for nitrogen.

    Published accumulator guides; closed form.
    """
    bench = Bench()
    bench.add(
        "accumulator",
        id="Z",
        gas_volume="1 L",
        precharge="70 bar",
        polytropic_index=index,
        fluid_volume=f"{stored} L",
    )
    bench.add("pressure_gauge", id="G")
    bench.join("Z.fluid", "G.A")
    absolute = (70e5 + ATMOSPHERE) * (1.0 / (1.0 - stored)) ** index
    assert bench.read().pressures["G.A"] == pytest.approx(absolute - ATMOSPHERE, rel=1e-4)


def test_trapped_rod_end() -> None:
    """Rod-end pressure rises by cap area over rod-end area: statics."""
    bench = Bench()
    bench.add("cylinder", id="A", bore="2 in", rod_diameter="1.375 in", extension="100 mm")
    bench.add("plug", id="X")
    bench.source("1000 psi", "A.cap")
    bench.join("A.rod", "X.A")
    ratio = area(2) / (area(2) - area(1.375))
    assert bench.read().pressures["A.rod"] == pytest.approx(1000 * PSI * ratio, rel=1e-4)
    assert ratio == pytest.approx(1.896, abs=0.001)


def test_flow_units_agree() -> None:
    """10 gal/min out of a pump of 2.31 in3/rev at 1000 rpm: 231 in3 are one gallon (exact)."""
    bench = Bench()
    bench.pump("2.31 in^3/rev")
    bench.join("P.outlet", "T.return")
    assert -bench.read().inflows["P.outlet"] == pytest.approx(10 * GPM, rel=1e-9)
