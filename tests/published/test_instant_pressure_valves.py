"""Relief, reducing, sequence, counterbalance, priority and unloading valves by hand calculation.

Source of each rule: the contract's section 3, unless another is named.
"""

from __future__ import annotations

import pytest

from analysis.readings import Readings
from tests.published.bench import ATMOSPHERE, BAR, LPM, PSI, Bench, area, orifice

CAP, RING = area(0.05), area(0.05) - area(0.028)


def near(value: float, rel: float = 1e-4) -> object:
    """Within a tenth of a per mille."""
    return pytest.approx(value, rel=rel)


@pytest.mark.parametrize(("bars", "litres"), [(99, 0), (100, 0), (105, 10), (110, 20), (120, 40)])
def test_relief_valve_characteristic(bars: float, litres: float) -> None:
    """Nothing to 100 bar, 20 L/min at 110 bar, straight between and beyond."""
    bench = Bench()
    bench.add(
        "relief_valve", id="V", set_pressure="100 bar", override="10 bar", rated_flow="20 L/min"
    )
    bench.source(f"{bars} bar", "V.inlet")
    bench.drain("V.outlet")
    assert bench.read().inflows["V.inlet"] == pytest.approx(litres * LPM, rel=1e-4, abs=1e-10)


def test_relief_valve_counts_inlet_over_outlet() -> None:
    """With 20 bar behind it, 115 bar are only 95 across: shut."""
    bench = Bench()
    bench.add(
        "relief_valve", id="V", set_pressure="100 bar", override="10 bar", rated_flow="20 L/min"
    )
    bench.source("115 bar", "V.inlet")
    bench.source("20 bar", "V.outlet")
    assert bench.read().inflows["V.inlet"] == 0


def reducing(supply: str, diameter: str) -> Readings:
    """A reducing valve set to 50 bar, 20 L/min at 5 bar, on an orifice (or a plug)."""
    bench = Bench()
    bench.add(
        "reducing_valve", id="V", set_pressure="50 bar", rated_flow="20 L/min", rated_drop="5 bar"
    )
    bench.source(supply, "V.inlet")
    bench.drain("V.drain")
    if diameter:
        bench.add("restrictor", id="R", diameter=diameter)
        bench.join("V.outlet", "R.A")
        bench.drain("R.B")
    else:
        bench.add("plug", id="R")
        bench.join("V.outlet", "R.A")
    return bench.read()


def test_reducing_valve_holds_its_outlet() -> None:
    """100 bar in, 50 bar out, whatever the 1 mm orifice takes."""
    read = reducing("100 bar", "1 mm")
    assert read.pressures["V.outlet"] == near(50 * BAR)
    assert read.inflows["R.A"] == near(orifice(0.001, 50 * BAR))


def test_reducing_valve_dead_ended() -> None:
    """Against a plug it closes at its set pressure."""
    read = reducing("100 bar", "")
    assert read.pressures["R.A"] == near(50 * BAR, 1e-3)
    assert read.inflows["R.A"] == 0


def test_reducing_valve_counts_outlet_over_drain() -> None:
    """With 10 bar in the drain it holds 60 at the outlet."""
    bench = Bench()
    bench.add(
        "reducing_valve", id="V", set_pressure="50 bar", rated_flow="20 L/min", rated_drop="5 bar"
    )
    bench.add("restrictor", id="R", diameter="1 mm")
    bench.source("100 bar", "V.inlet")
    bench.source("10 bar", "V.drain")
    bench.join("V.outlet", "R.A")
    bench.drain("R.B")
    assert bench.read().pressures["V.outlet"] == near(60 * BAR)


def test_reducing_valve_wide_open_below_its_setting() -> None:
    """40 bar in: two passages in a row, the drop shared as 1/c^2."""
    read = reducing("40 bar", "3 mm")
    valve, hole = 20 * LPM / (5 * BAR) ** 0.5, orifice(0.003, 1.0)
    after = 40 * BAR * valve**2 / (valve**2 + hole**2)
    assert read.pressures["V.outlet"] == near(after)
    assert after < 50 * BAR


def sequence(supply: str, kind: str = "sequence_valve") -> Readings:
    """A pump of 12 L/min with its relief, a valve set to 60 bar, then a 3 mm orifice."""
    bench = Bench()
    bench.pump("12 cm^3/rev")
    bench.add(
        "relief_valve", id="V", set_pressure=supply, override="0.12 bar", rated_flow="12 L/min"
    )
    bench.add(kind, id="S", set_pressure="60 bar", rated_flow="20 L/min", rated_drop="5 bar")
    bench.add("restrictor", id="R", diameter="3 mm")
    bench.join("P.outlet", "V.inlet")
    bench.join("P.outlet", "S.inlet")
    bench.join("S.outlet", "R.A")
    bench.drain("V.outlet", "R.B")
    if kind == "sequence_valve":
        bench.drain("S.drain")
    return bench.read()


@pytest.mark.parametrize("kind", ["sequence_valve", "priority_valve"])
def test_shut_below_the_setting(kind: str) -> None:
    """With 50 bar of relief pressure at its inlet it stays shut."""
    read = sequence("50 bar", kind)
    assert read.inflows["R.A"] == 0
    assert read.inflows["V.inlet"] == near(12 * LPM)


@pytest.mark.parametrize("kind", ["sequence_valve", "priority_valve"])
def test_opens_as_far_as_holds_the_setting(kind: str) -> None:
    """All 12 L/min pass; the orifice needs less than 60 bar, so the inlet is held at 60."""
    read = sequence("100 bar", kind)
    assert (12 * LPM / orifice(0.003, 1.0)) ** 2 < 60 * BAR
    assert read.pressures["S.inlet"] == near(60 * BAR)
    assert read.inflows["R.A"] == near(12 * LPM)


def test_sequence_valve_counts_inlet_over_drain() -> None:
    """With 10 bar in the drain the inlet is held at 70."""
    bench = Bench()
    bench.pump("12 cm^3/rev")
    bench.add(
        "sequence_valve", id="S", set_pressure="60 bar", rated_flow="20 L/min", rated_drop="5 bar"
    )
    bench.join("P.outlet", "S.inlet")
    bench.drain("S.outlet")
    bench.source("10 bar", "S.drain")
    assert bench.read().pressures["S.inlet"] == near(70 * BAR)


def test_priority_valve_is_free_in_reverse() -> None:
    """10 bar from outlet to inlet passes although far below the setting."""
    bench = Bench()
    bench.add(
        "priority_valve", id="S", set_pressure="60 bar", rated_flow="20 L/min", rated_drop="5 bar"
    )
    bench.source("10 bar", "S.outlet")
    bench.drain("S.inlet")
    assert -bench.read().inflows["S.inlet"] > 20 * LPM


def overrunning(weight: str, running: bool) -> Readings:
    """A weight that pulls the rod out, held by a counterbalance valve at the rod end."""
    bench = Bench()
    bench.pump("6 cm^3/rev", running=running)
    bench.add("cylinder", id="A", extension="150 mm", load=weight)
    bench.add(
        "counterbalance_valve",
        id="C",
        set_pressure="150 bar",
        pilot_ratio=3,
        rated_flow="20 L/min",
        rated_drop="5 bar",
    )
    bench.join("P.outlet", "A.cap")
    bench.join("A.cap", "C.pilot")
    bench.join("A.rod", "C.inlet")
    bench.drain("C.outlet")
    return bench.read()


def test_counterbalance_valve_lowers_a_weight_at_the_pump_s_pace() -> None:
    """p_rod + 3 p_cap = S and p_cap A - p_rod A_ring = -W give both pressures.

    p_cap = (S A_ring - W) / (A + 3 A_ring). The weight does not run ahead: v = Q / A_cap.
    """
    read = overrunning("-10 kN", True)
    cap = (150 * BAR * RING - 10_000) / (CAP + 3 * RING)
    assert read.pressures["A.cap"] == near(cap, 1e-3)
    assert read.pressures["A.rod"] == near(150 * BAR - 3 * cap, 1e-3)
    assert read.quantities["A"]["velocity"] == near(6 * LPM / CAP)


def test_counterbalance_valve_lifts_freely() -> None:
    """From outlet to inlet it is free: 5 bar at 20 L/min."""
    bench = Bench()
    bench.pump("20 cm^3/rev")
    bench.add(
        "counterbalance_valve",
        id="C",
        set_pressure="150 bar",
        pilot_ratio=3,
        rated_flow="20 L/min",
        rated_drop="5 bar",
    )
    bench.join("P.outlet", "C.outlet")
    bench.drain("C.inlet", "C.pilot")
    assert bench.read().pressures["P.outlet"] == near(5 * BAR)


@pytest.mark.parametrize(("cap_bars", "open_"), [(29, False), (31, True)])
def test_counterbalance_valve_opens_by_its_pilot(cap_bars: float, open_: bool) -> None:
    """60 bar at the inlet need (150 - 60) / 3 = 30 bar at the pilot."""
    bench = Bench()
    bench.add(
        "counterbalance_valve",
        id="C",
        set_pressure="150 bar",
        pilot_ratio=3,
        rated_flow="20 L/min",
        rated_drop="5 bar",
    )
    bench.source("60 bar", "C.inlet")
    bench.source(f"{cap_bars} bar", "C.pilot")
    bench.drain("C.outlet")
    assert (bench.read().inflows["C.inlet"] > 0) is open_


def unloading(stored: str) -> Readings:
    """Pump, unloading valve (cut-out 100 bar, cut-in 80 bar), accumulator."""
    bench = Bench()
    bench.pump("10 cm^3/rev")
    bench.add(
        "unloading_valve",
        id="U",
        cut_out_pressure="100 bar",
        cut_in_pressure="80 bar",
        rated_flow="20 L/min",
        rated_drop="4 bar",
    )
    bench.add(
        "accumulator", id="Z", gas_volume="1 L", precharge="50 bar", polytropic_index=1.0,
        fluid_volume=stored,
    )  # fmt: skip
    bench.join("P.outlet", "U.inlet")
    bench.join("U.outlet", "Z.fluid")
    bench.drain("U.return")
    return bench.read()


def test_unloading_valve_at_work() -> None:
    """0.3 L stored: 72 bar, below cut-in, the pump charges the accumulator at 1 bar more.

    An unloading valve cuts the pump out at one pressure and in again at a lower one:
    FAA-H-8083-31 ch. 12 (from memory).
    """
    read = unloading("0.3 L")
    gas = (50 * BAR + ATMOSPHERE) / 0.7 - ATMOSPHERE
    assert read.pressures["Z.fluid"] == near(gas)
    assert read.inflows["Z.fluid"] == near(10 * LPM)
    assert read.pressures["P.outlet"] == near(gas + 1 * BAR)


def test_unloading_valve_cut_out() -> None:
    """0.6 L stored: 126 bar; the pump runs to the return at 4 bar * (10/20)^2 = 1 bar."""
    read = unloading("0.6 L")
    assert read.inflows["Z.fluid"] == 0
    assert read.pressures["P.outlet"] == near(1 * BAR)
    assert read.pressures["Z.fluid"] == near((50 * BAR + ATMOSPHERE) / 0.4 - ATMOSPHERE)


def test_empty_accumulator_takes_at_precharge_and_gives_nothing() -> None:
    """A pump fills it at 50 bar; without the pump it stays out of the way."""
    read = unloading("0 L")
    assert read.pressures["Z.fluid"] == near(50 * BAR)
    assert read.inflows["Z.fluid"] == near(10 * LPM)
    bench = Bench()
    bench.add("accumulator", id="Z", precharge="50 bar", fluid_volume="0 L")
    bench.add("restrictor", id="R")
    bench.join("Z.fluid", "R.A")
    bench.drain("R.B")
    idle = bench.read()
    assert idle.inflows["Z.fluid"] == 0
    assert idle.pressures["Z.fluid"] == pytest.approx(0, abs=10)


def test_stored_pressure_drives_an_orifice() -> None:
    """At an instant the accumulator is a source at its gas pressure."""
    bench = Bench()
    bench.add(
        "accumulator", id="Z", gas_volume="1 L", precharge="1000 psi", fluid_volume="0.25 L",
        polytropic_index=1.4,
    )  # fmt: skip
    bench.add("restrictor", id="R", diameter="1 mm")
    bench.join("Z.fluid", "R.A")
    bench.drain("R.B")
    gas = (1000 * PSI + ATMOSPHERE) * (1 / 0.75) ** 1.4 - ATMOSPHERE
    assert -bench.read().inflows["Z.fluid"] == near(orifice(0.001, gas))
