"""Failures by hand calculation, and the readings as the contract promises them to callers."""

from __future__ import annotations

import json
import math

import fluids
import pytest

from analysis.circuit import Circuit
from analysis.liquids import liquid
from analysis.readings import readings
from tests.published.bench import BAR, DENSITY, INCH, LPM, Bench, area, orifice


def near(value: float, rel: float = 1e-4) -> object:
    """Within a tenth of a per mille."""
    return pytest.approx(value, rel=rel)


def supplied_line(**state: object) -> Bench:
    """100 bar behind an orifice, then a line `L` to a loaded-by-friction cylinder."""
    bench = Bench()
    bench.add("restrictor", id="R", diameter="1 mm")
    bench.add("cylinder", id="A", friction="4 kN", extension="100 mm")
    bench.source("100 bar", "R.A")
    bench.connect("R.B", "A.cap", id="L", bore="6 mm", length="1 m", **state)
    bench.drain("A.rod")
    return bench


def test_ruptured_line_is_open_at_both_ends() -> None:
    """Both ends stand at atmospheric pressure; all that passes the orifice is lost."""
    read = supplied_line(fault="ruptured").read()
    assert read.pressures["R.B"] == pytest.approx(0, abs=10)
    assert read.pressures["A.cap"] == pytest.approx(0, abs=10)
    assert read.inflows["R.A"] == near(orifice(0.001, 100 * BAR))
    assert read.quantities["A"]["velocity"] == 0


def test_blocked_line_passes_nothing() -> None:
    """The full 100 bar stand at its near end, nothing at the far one."""
    read = supplied_line(fault="blocked").read()
    assert read.pressures["R.B"] == near(100 * BAR)
    assert read.quantities["A"]["velocity"] == 0
    assert read.line("L").flow == 0


def test_external_leak() -> None:
    """A 0.5 mm hole to the atmosphere unless given: C_d A sqrt(2 p / rho)."""
    bench = Bench()
    bench.add("junction", id="J", fault="external_leak")
    bench.source("100 bar", "J.A")
    assert -bench.read().inflows["S0.outlet"] == near(orifice(0.0005, 100 * BAR), 1e-3)
    bench.set_value("J", "leak_diameter", "1 mm")
    assert -bench.read().inflows["S0.outlet"] == near(orifice(0.001, 100 * BAR), 1e-3)


def test_internal_leak_of_a_piston() -> None:
    """At its stop all that passes is the leak across the piston."""
    bench = Bench()
    bench.add("cylinder", id="A", extension="300 mm", fault="internal_leak")
    bench.source("100 bar", "A.cap")
    bench.drain("A.rod")
    assert bench.read().inflows["A.cap"] == near(orifice(0.0005, 100 * BAR), 1e-3)


def test_stuck_cylinder_does_not_move() -> None:
    """`stuck` keeps it where it is."""
    bench = Bench()
    bench.add("cylinder", id="A", extension="100 mm", fault="stuck")
    bench.source("100 bar", "A.cap")
    bench.drain("A.rod")
    read = bench.read()
    assert read.quantities["A"]["velocity"] == 0
    assert read.inflows["A.cap"] == 0


def test_relief_valve_stuck_closed_and_stuck_open() -> None:
    """Stuck closed the leaking pump's own limit is left; stuck open hardly any pressure is."""
    bench = Bench()
    bench.pump("10 cm^3/rev", volumetric_efficiency=0.9, rated_pressure="100 bar")
    bench.add(
        "relief_valve", id="V", set_pressure="100 bar", override="10 bar", rated_flow="20 L/min"
    )
    bench.join("P.outlet", "V.inlet")
    bench.drain("V.outlet")
    bench.set_value("V", "fault", "stuck_closed", state=True)
    assert bench.read().pressures["P.outlet"] == near(1000 * BAR)
    bench.set_value("V", "fault", "stuck_open", state=True)
    assert bench.read().pressures["P.outlet"] < 10 * BAR


def test_check_valve_stuck_open_lets_back() -> None:
    """4 bar in reverse pass the rated flow."""
    bench = Bench()
    bench.add("check_valve", id="C", rated_flow="20 L/min", rated_drop="4 bar", fault="stuck_open")
    bench.source("4 bar", "C.outlet")
    bench.drain("C.inlet")
    assert bench.read().inflows["C.outlet"] == near(20 * LPM)


def test_ruptured_suction_line_gives_air() -> None:
    """The pump draws air: no flow."""
    bench = Bench()
    bench.add("fixed_pump", id="P", displacement="10 cm^3/rev", speed="1000 rpm")
    bench.add("restrictor", id="R", diameter="2 mm")
    bench.connect("T.supply", "P.inlet", id="L", bore="20 mm", length="1 m", fault="ruptured")
    bench.join("P.outlet", "R.A")
    bench.drain("R.B")
    assert bench.read().inflows["R.A"] == 0


def example() -> Circuit:
    """The contract's section 7, with the parts that it leaves to the reader."""
    circuit = Circuit()
    circuit.add(
        "fixed_pump", id="0P1", displacement="0.75 in^3/rev", speed="2000 rpm",
        volumetric_efficiency=1.0,
    )  # fmt: skip
    circuit.add("reservoir", id="0Z1")
    circuit.add(
        "cylinder", id="1A1", bore="2 in", rod_diameter="1 in", stroke="12 in", load="300 lbf",
        extension="6 in",
    )  # fmt: skip
    circuit.connect("0Z1.supply", "0P1.inlet")
    circuit.connect("0P1.outlet", "1A1.cap", bore="0.25 in", length="6 ft")
    circuit.connect("1A1.rod", "0Z1.return")
    return circuit


def test_example_of_the_contract() -> None:
    """Cap pressure 300 lbf / 3.14 in2 = 95.5 psi, as a pint quantity."""
    found = readings(example())
    assert found.port("1A1.cap").pressure.m_as("psi") == pytest.approx(300 / math.pi, rel=1e-4)
    flow = 0.75 * 2000
    assert found.port("1A1.cap").inflow.m_as("in^3/min") == pytest.approx(flow, rel=1e-4)
    speed = flow / 60 / math.pi
    assert found.component("1A1")["velocity"] == pytest.approx(speed * INCH, rel=1e-4)


def test_line_of_the_example() -> None:
    """42.4 ft/s in the 1/4 in line, Re about 3 400: the factor lies straight between 2000 and 4000.

    Colebrook's at 4000 by way of `fluids`; the pump sees the loss on top of the load.
    """
    found = readings(example())
    line = found.line("L2")
    velocity = 0.75 * 2000 / 60 * INCH**3 / area(0.25 * INCH)
    assert line.velocity == pytest.approx(velocity, rel=1e-4)
    bore, reynolds = 0.25 * INCH, velocity * 0.25 * INCH / liquid().viscosity
    turbulent = fluids.friction_factor(Re=4000, eD=1.5e-6 / bore, Method="Colebrook")
    factor = 0.032 + (turbulent - 0.032) * (reynolds - 2000) / 2000
    loss = factor * 72 * INCH / bore * DENSITY * velocity**2 / 2
    assert line.reynolds == pytest.approx(reynolds, rel=1e-4)
    assert line.pressure_drop == pytest.approx(loss, rel=1e-3)
    assert found.pressures["0P1.outlet"] - found.pressures["1A1.cap"] == near(line.pressure_drop)


def test_machine_form_is_finite_and_complete() -> None:
    """Every port, line and component of the contract's section 6, all numbers finite."""
    circuit = example()
    circuit.add("plug", id="0Z2")
    form = json.loads(json.dumps(readings(circuit).as_json(), allow_nan=False))
    assert form["converged"] is True
    assert set(form["components"]) == set(circuit.components)
    assert set(form["components"]["1A1"]["ports"]) == {"cap", "rod"}
    assert set(form["lines"]) == set(circuit.lines)
    for key in ("flow", "pressure_drop", "velocity", "reynolds"):
        assert key in form["lines"]["L2"]
    assert {"extension", "velocity", "force"} <= set(form["components"]["1A1"])
    # the loose plug is pinned by nothing: null, listed, with the reason beside it
    assert form["components"]["0Z2"]["ports"]["A"]["pressure"] is None
    assert form["components"]["0Z2"]["ports"]["A"]["reason"]
    assert "0Z2.A" in form["undetermined"]


def test_flows_of_the_example_balance() -> None:
    """What enters the cap, less what the rod end gives, is what the reservoir loses."""
    found = readings(example())
    ratio = 1 - (1 / 2) ** 2
    assert -found.inflows["1A1.rod"] == near(found.inflows["1A1.cap"] * ratio)
    assert found.inflows["0Z1.return"] == near(-found.inflows["1A1.rod"])
    assert found.inflows["0Z1.supply"] == near(-found.inflows["1A1.cap"])
