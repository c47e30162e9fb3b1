"""Pumps, hand pumps, sources and reservoirs by hand calculation.

Source of each rule: the contract's section 3; the arithmetic is worked beside the assertion.
"""

from __future__ import annotations

from math import sqrt

import pytest

from analysis.readings import Readings
from tests.published.bench import ATMOSPHERE, BAR, LPM, Bench, area, orifice

FULL = 10 * LPM
"""The pump of most benches: 10 cm3/rev at 1000 rpm."""


def near(value: float, rel: float = 1e-4) -> object:
    """Within a tenth of a per mille."""
    return pytest.approx(value, rel=rel)


def relief_bench(**pump: object) -> Bench:
    """Pump and relief valve: 100 bar, 10 bar more for 20 L/min."""
    bench = Bench()
    bench.pump("10 cm^3/rev", **pump)
    bench.add(
        "relief_valve", id="V", set_pressure="100 bar", override="10 bar", rated_flow="20 L/min"
    )
    bench.join("P.outlet", "V.inlet")
    bench.drain("V.outlet")
    return bench


def test_pump_on_its_relief_valve() -> None:
    """10 L/min through a valve of 0.5 bar per L/min above 100 bar: 105 bar."""
    read = relief_bench().read()
    assert read.pressures["P.outlet"] == near(105 * BAR)
    assert read.inflows["V.inlet"] == near(FULL)


def test_leaking_pump_on_its_relief_valve() -> None:
    """90 % at 200 bar: leak k = 0.1 * 10/200 L/min per bar; 10 - k p = 2 (p - 100)."""
    read = relief_bench(volumetric_efficiency=0.9, rated_pressure="200 bar").read()
    k = 0.1 * 10 / 200
    pressure = (10 + 2 * 100) / (2 + k)
    assert read.pressures["P.outlet"] == near(pressure * BAR)
    assert read.inflows["V.inlet"] == near((10 - k * pressure) * LPM)


def orifice_bench(diameter: str = "2 mm", **pump: object) -> Bench:
    """Pump, orifice, reservoir."""
    bench = Bench()
    bench.pump("10 cm^3/rev", **pump)
    bench.add("restrictor", id="R", diameter=diameter)
    bench.join("P.outlet", "R.A")
    bench.drain("R.B")
    return bench


def test_pump_on_an_orifice() -> None:
    """p = (Q / Q at 1 Pa)^2, by q = C_d A sqrt(2 p / rho)."""
    read = orifice_bench().read()
    assert read.pressures["P.outlet"] == near((FULL / orifice(0.002, 1.0)) ** 2)


def test_leaking_pump_on_an_orifice() -> None:
    """Q - k p = c sqrt(p): a quadratic in sqrt(p)."""
    read = orifice_bench(volumetric_efficiency=0.8, rated_pressure="100 bar").read()
    k, c = 0.2 * FULL / (100 * BAR), orifice(0.002, 1.0)
    root = (-c + sqrt(c * c + 4 * k * FULL)) / (2 * k)
    assert read.pressures["P.outlet"] == near(root**2)


def test_two_pumps_add_their_flows() -> None:
    """Two like pumps on one orifice: four times the pressure of one."""
    bench = orifice_bench()
    one = bench.read().pressures["P.outlet"]
    bench.add("fixed_pump", id="Q", displacement="10 cm^3/rev", speed="1000 rpm")
    bench.set_value("Q", "volumetric_efficiency", 1.0)
    bench.join("T.supply", "Q.inlet")
    bench.join("Q.outlet", "P.outlet")
    assert bench.read().pressures["P.outlet"] == near(4 * one)


def compensated(friction: str) -> Readings:
    """A pump of 10 L/min, knee 80 bar, cut-off 100 bar, against the drag of a 10 cm2 piston."""
    bench = Bench()
    bench.add(
        "compensated_pump",
        id="P",
        displacement="10 cm^3/rev",
        speed="1000 rpm",
        volumetric_efficiency=1.0,
        knee_pressure="80 bar",
        cutoff_pressure="100 bar",
    )
    bench.add("cylinder", id="A", bore="35.682482 mm", friction=friction, extension="100 mm")
    bench.join("T.supply", "P.inlet")
    bench.join("P.outlet", "A.cap")
    bench.drain("A.rod")
    return bench.read()


@pytest.mark.parametrize(("bars", "share"), [(40, 1.0), (80, 1.0), (90, 0.5), (95, 0.25)])
def test_compensated_pump_between_knee_and_cutoff(bars: float, share: float) -> None:
    """Full flow to the knee, then straight to none at cut-off."""
    read = compensated(f"{bars * 100} N")
    assert read.pressures["P.outlet"] == near(bars * BAR, 2e-4)
    assert -read.inflows["P.outlet"] == near(share * FULL, 1e-3)


def test_compensated_pump_stalled() -> None:
    """Against 110 bar of drag it holds its cut-off pressure and gives nothing."""
    read = compensated("11000 N")
    assert read.pressures["P.outlet"] == near(100 * BAR)
    assert read.inflows["P.outlet"] == 0
    assert read.quantities["A"]["velocity"] == 0


def hand_pump(drag: str, **more: object) -> Bench:
    """20 cm3 a stroke, 30 strokes a minute, 3 cm2, lever 10:1, 250 N: 83.3 bar at most."""
    bench = Bench()
    values = {
        "displacement": "20 cm^3",
        "rate": "30 strokes/min",
        "piston_area": "3 cm^2",
        "lever_ratio": 10,
        "effort_limit": "250 N",
        **more,
    }
    bench.add("hand_pump", id="P", **values)
    bench.add("cylinder", id="A", bore="50 mm", friction=drag, extension="100 mm")
    bench.join("T.supply", "P.inlet")
    bench.join("P.outlet", "A.cap")
    bench.drain("A.rod")
    return bench


def test_hand_pump_moves_a_drag() -> None:
    """20 cm3 * 30/min = 10 cm3/s; effort = p * 3 cm2 / 10."""
    read = hand_pump("5 kN").read()
    pressure = 5000 / area(0.05)
    assert read.quantities["A"]["velocity"] == near(10e-6 / area(0.05))
    assert read.quantities["P"]["effort"] == near(pressure * 3e-4 / 10)


def test_hand_pump_gives_up_at_the_effort_limit() -> None:
    """250 N * 10 / 3 cm2 = 83.3 bar, and nothing flows: the handle is stiff."""
    read = hand_pump("20 kN").read()
    assert read.pressures["A.cap"] == near(250 * 10 / 3e-4)
    assert read.quantities["P"]["effort"] == near(250)
    assert read.quantities["A"]["velocity"] == 0


def test_hand_pump_at_the_limit_gives_what_the_circuit_takes() -> None:
    """Through a 0.3 mm orifice at 83.3 bar less flows than the pump's mean."""
    bench = hand_pump("0 N")
    bench.remove("A")
    bench.add("restrictor", id="R", diameter="0.3 mm")
    bench.join("P.outlet", "R.A")
    bench.drain("R.B")
    expected = orifice(0.0003, 250 * 10 / 3e-4)
    assert expected < 10e-6
    read = bench.read()
    assert read.inflows["R.A"] == near(expected)
    assert read.quantities["P"]["effort"] == near(250)


def test_idle_hand_pump_has_no_effort_and_lets_nothing_back() -> None:
    """Not running it passes nothing either way, and its effort is 0."""
    bench = hand_pump("1 kN", running=False)
    read = bench.read()
    assert read.quantities["P"]["effort"] == 0
    assert read.inflows["P.outlet"] == 0


@pytest.mark.parametrize("how", [{"running": False}, {"fault": "no_output"}])
def test_pump_that_does_not_deliver_is_shut_both_ways(how: dict[str, object]) -> None:
    """50 bar on its outlet drives nothing back through it."""
    bench = Bench()
    bench.pump("10 cm^3/rev", **how)
    bench.source("50 bar", "P.outlet")
    read = bench.read()
    assert read.inflows["P.outlet"] == 0
    assert read.inflows["T.supply"] == 0


def test_dead_headed_pump_has_no_reading() -> None:
    """Without leakage nothing limits the pressure: no number, and an error-level finding."""
    bench = Bench()
    bench.pump("10 cm^3/rev")
    bench.add("plug", id="X")
    bench.join("P.outlet", "X.A")
    read = bench.read()
    assert read.pressures["X.A"] is None
    assert any(f.severity == "error" and "P" in f.subjects for f in read.findings)


def test_dead_headed_leaking_pump_is_limited_by_its_leak() -> None:
    """All flow leaks where (1 - 0.9) p / 100 bar = 1: at 1000 bar."""
    bench = Bench()
    bench.pump("10 cm^3/rev", volumetric_efficiency=0.9, rated_pressure="100 bar")
    bench.add("plug", id="X")
    bench.join("P.outlet", "X.A")
    assert bench.read().pressures["X.A"] == near(1000 * BAR)


def test_starved_pump_delivers_what_arrives() -> None:
    """A 2 mm orifice in the suction line passes 1.7 L/min at most at one atmosphere.

    No absolute pressure is below zero: the drop cannot exceed 101 325 Pa (ISO 2533).
    """
    bench = Bench()
    bench.add("fixed_pump", id="P", displacement="10 cm^3/rev", speed="1000 rpm")
    bench.set_value("P", "volumetric_efficiency", 1.0)
    bench.add("restrictor", id="R", diameter="2 mm")
    bench.join("T.supply", "R.A")
    bench.join("R.B", "P.inlet")
    bench.join("P.outlet", "T.return")
    read = bench.read()
    assert orifice(0.002, ATMOSPHERE) < FULL
    assert -read.inflows["P.outlet"] == near(orifice(0.002, ATMOSPHERE), 1e-3)
    assert read.pressures["P.inlet"] == near(-ATMOSPHERE, 1e-3)
    assert read.quantities["P"]["starved"] is True


def test_suction_within_an_atmosphere_is_no_starvation() -> None:
    """The same orifice at 1 L/min: the drop follows the square law below zero gauge."""
    bench = Bench()
    bench.add("fixed_pump", id="P", displacement="1 cm^3/rev", speed="1000 rpm")
    bench.set_value("P", "volumetric_efficiency", 1.0)
    bench.add("restrictor", id="R", diameter="2 mm")
    bench.join("T.supply", "R.A")
    bench.join("R.B", "P.inlet")
    bench.join("P.outlet", "T.return")
    read = bench.read()
    assert read.pressures["P.inlet"] == near(-((1 * LPM / orifice(0.002, 1.0)) ** 2))
    assert read.quantities["P"]["starved"] is False


@pytest.mark.parametrize(
    ("volume", "standpipe_gives", "supply_gives"),
    [("2.1 L", True, True), ("2 L", False, True), ("0.1 L", False, True), ("0 L", False, False)],
)
def test_standpipe_keeps_a_reserve(volume: str, standpipe_gives: bool, supply_gives: bool) -> None:
    """A standpipe keeps back a reserve that only the bottom outlet gives.

    US Navy and FAA handbooks (from memory). Uncovered at `volume` <= reserve.
    """
    bench = Bench()
    bench.set_value("T", "reserve", "2 L")
    bench.set_value("T", "volume", volume, state=True)
    for pump, outlet in (("P", "standpipe"), ("Q", "supply")):
        bench.add("fixed_pump", id=pump, displacement="10 cm^3/rev", speed="1000 rpm")
        bench.set_value(pump, "volumetric_efficiency", 1.0)
        bench.add("restrictor", id="R" + pump, diameter="2 mm")
        bench.join(f"T.{outlet}", f"{pump}.inlet")
        bench.join(f"{pump}.outlet", f"R{pump}.A")
        bench.drain(f"R{pump}.B")
    read = bench.read()
    assert read.inflows["RP.A"] == (near(FULL) if standpipe_gives else 0)
    assert read.inflows["RQ.A"] == (near(FULL) if supply_gives else 0)


def test_dry_hand_pump_has_no_effort() -> None:
    """The handle is a gauge: with no fluid at the pump there is none (common practice)."""
    bench = hand_pump("5 kN")
    bench.set_value("T", "volume", "0 L", state=True)
    read = bench.read()
    assert read.quantities["P"]["effort"] == 0
    assert read.quantities["A"]["velocity"] == 0


def test_pressurised_reservoir_adds_its_air_pressure() -> None:
    """All ports stand at the air pressure; pump pressure is outlet over inlet."""
    bench = hand_pump("5 kN")
    bench.set_value("T", "air_pressure", "2 bar")
    ring = area(0.05) - area(0.028)
    pressure = (5000 + 2 * BAR * ring) / area(0.05)
    read = bench.read()
    assert read.pressures["P.inlet"] == near(2 * BAR)
    assert read.pressures["A.cap"] == near(pressure)
    assert read.quantities["P"]["effort"] == near((pressure - 2 * BAR) * 3e-4 / 10)


def test_source_holds_its_pressure_whatever_flows() -> None:
    """Through two orifices in a row the drop is shared by 1/c^2: 80 bar and 5 bar."""
    bench = Bench()
    bench.add("restrictor", id="R1", diameter="1 mm")
    bench.add("restrictor", id="R2", diameter="2 mm")
    bench.source("85 bar", "R1.A")
    bench.join("R1.B", "R2.A")
    bench.drain("R2.B")
    read = bench.read()
    # areas 1:4, so drops 16:1 of 85 bar
    assert read.pressures["R2.A"] == near(5 * BAR)
    assert read.inflows["R2.A"] == near(orifice(0.002, 5 * BAR))
