"""Cylinders, motors, locks and loads by hand calculation (contract, section 3; statics)."""

from __future__ import annotations

from math import pi

import pytest

from analysis.readings import Readings
from tests.published.bench import BAR, INCH, LBF, LPM, PSI, Bench, area, orifice

FULL = 6 * LPM
CAP, RING = area(0.05), area(0.05) - area(0.028)


def near(value: float, rel: float = 1e-4) -> object:
    """Within a tenth of a per mille."""
    return pytest.approx(value, rel=rel)


def bench_with(relief: str = "100 bar") -> Bench:
    """A pump of 6 L/min with a stiff relief valve."""
    bench = Bench()
    bench.pump("6 cm^3/rev")
    bench.add(
        "relief_valve", id="V", set_pressure=relief, override="0.06 bar", rated_flow="6 L/min"
    )
    bench.join("P.outlet", "V.inlet")
    bench.drain("V.outlet")
    return bench


def cylinder(into: str, **values: object) -> Readings:
    """A 50/28 mm cylinder at mid-stroke, the pump on one port, the other to the reservoir."""
    bench = bench_with()
    bench.add("cylinder", id="A", **{"extension": "150 mm", **values})
    bench.join("P.outlet", f"A.{into}")
    bench.drain("A.rod" if into == "cap" else "A.cap")
    return bench.read()


def test_extending() -> None:
    """v = Q / A_cap, rod end gives back Q * A_ring / A_cap; p = (load + friction) / A_cap."""
    read = cylinder("cap", load="4 kN", friction="300 N")
    assert read.quantities["A"]["velocity"] == near(FULL / CAP)
    assert -read.inflows["A.rod"] == near(FULL * RING / CAP)
    assert read.pressures["A.cap"] == near(4300 / CAP)
    assert read.quantities["A"]["force"] == near(4300)


def test_retracting() -> None:
    """Negative velocity, Q / A_ring; the load helps and friction opposes."""
    read = cylinder("rod", load="-4 kN", friction="300 N")
    assert read.quantities["A"]["velocity"] == near(-FULL / RING)
    assert read.pressures["A.rod"] == near(4300 / RING)


def test_friction_holds_what_it_can() -> None:
    """A load of 250 N on an unpressed piston does not overcome 300 N of friction."""
    bench = Bench()
    bench.add("cylinder", id="A", extension="150 mm", load="250 N", friction="300 N")
    bench.drain("A.cap", "A.rod")
    assert bench.read().quantities["A"]["velocity"] == 0


def test_overload_stalls_on_the_relief_valve() -> None:
    """100 bar on 19.6 cm2 are 19.6 kN: 25 kN of friction hold, all is relieved at 100.06 bar."""
    read = cylinder("cap", friction="25 kN")
    assert read.quantities["A"]["velocity"] == 0
    assert read.pressures["A.cap"] == near(100.06 * BAR)
    assert read.inflows["V.inlet"] == near(FULL)


@pytest.mark.parametrize(("into", "extension"), [("cap", "300 mm"), ("rod", "0 mm")])
def test_no_further_than_the_stop(into: str, extension: str) -> None:
    """At its stop the piston takes nothing more."""
    read = cylinder(into, extension=extension)
    assert read.quantities["A"]["velocity"] == 0
    assert read.inflows["V.inlet"] == near(FULL)


def test_heavy_load_is_held_where_nothing_can_flow_back() -> None:
    """8 kN behind a check valve: 40.7 bar of load pressure, whatever the pump's 20 bar."""
    bench = bench_with("20 bar")
    bench.add("check_valve", id="C", cracking_pressure="0 bar")
    bench.add("cylinder", id="A", extension="150 mm", load="8 kN")
    bench.join("P.outlet", "C.inlet")
    bench.join("C.outlet", "A.cap")
    bench.drain("A.rod")
    read = bench.read()
    assert read.pressures["A.cap"] == near(8000 / CAP)
    assert read.quantities["A"]["velocity"] == 0
    assert read.pressures["P.outlet"] == near(20.06 * BAR)


def test_load_table_is_read_between_its_rows() -> None:
    """1 kN at 100 mm, 3 kN at 200 mm: 2 kN at 150 mm."""
    read = cylinder("cap", load=[["100 mm", "1 kN"], ["200 mm", "3 kN"]])
    assert read.pressures["A.cap"] == near(2000 / CAP)


def test_back_pressure_adds_by_the_area_ratio() -> None:
    """Meter-out through 1 mm: p_cap = (load + p_rod A_ring) / A_cap, p_rod from the orifice."""
    bench = bench_with("200 bar")
    bench.add("cylinder", id="A", extension="150 mm", load="4 kN")
    bench.add("restrictor", id="R", diameter="1.5 mm")
    bench.join("P.outlet", "A.cap")
    bench.join("A.rod", "R.A")
    bench.drain("R.B")
    back = (FULL * RING / CAP / orifice(0.0015, 1.0)) ** 2
    read = bench.read()
    assert read.pressures["A.rod"] == near(back)
    assert read.pressures["A.cap"] == near((4000 + back * RING) / CAP)


def test_lighter_of_two_cylinders_moves_first() -> None:
    """On one line the pressure is that of the lighter drag; the heavier stands still."""
    bench = bench_with()
    bench.add("cylinder", id="light", extension="150 mm", friction="4 kN")
    bench.add("cylinder", id="heavy", extension="150 mm", friction="8 kN")
    bench.join("P.outlet", "light.cap")
    bench.join("P.outlet", "heavy.cap")
    bench.drain("light.rod", "heavy.rod")
    read = bench.read()
    assert read.quantities["light"]["velocity"] == near(FULL / CAP)
    assert read.quantities["heavy"]["velocity"] == 0
    assert read.pressures["heavy.cap"] == near(4000 / CAP)


def test_spring_return() -> None:
    """p A = preload + rate x + load + friction on the way out: 200 + 1000 + 500 + 40 N."""
    bench = bench_with()
    bench.add(
        "cylinder_single_acting",
        id="A",
        bore="25 mm",
        stroke="200 mm",
        spring_preload="200 N",
        spring_rate="10 N/mm",
        load="500 N",
        friction="40 N",
        extension="100 mm",
    )
    bench.join("P.outlet", "A.cap")
    read = bench.read()
    assert read.pressures["A.cap"] == near(1740 / area(0.025))
    assert read.quantities["A"]["velocity"] == near(FULL / area(0.025))


def test_spring_drives_the_fluid_back() -> None:
    """1660 N (friction now helps to hold) over 4.91 cm2 through a 1 mm orifice."""
    bench = Bench()
    bench.add(
        "cylinder_single_acting",
        id="A",
        bore="25 mm",
        stroke="200 mm",
        spring_preload="200 N",
        spring_rate="10 N/mm",
        load="500 N",
        friction="40 N",
        extension="100 mm",
    )
    bench.add("restrictor", id="R", diameter="1 mm")
    bench.join("A.cap", "R.A")
    bench.drain("R.B")
    pressure = 1660 / area(0.025)
    read = bench.read()
    assert read.pressures["A.cap"] == near(pressure)
    assert read.quantities["A"]["velocity"] == near(-orifice(0.001, pressure) / area(0.025))


@pytest.mark.parametrize(("into", "sign"), [("left", 1), ("right", -1)])
def test_double_rod_moves_alike_both_ways(into: str, sign: int) -> None:
    """Q over the ring area either way."""
    bench = bench_with()
    bench.add("cylinder_double_rod", id="A", extension="150 mm", friction="500 N")
    bench.join("P.outlet", f"A.{into}")
    bench.drain("A.right" if into == "left" else "A.left")
    read = bench.read()
    assert read.quantities["A"]["velocity"] == near(sign * FULL / RING)
    assert read.pressures[f"A.{into}"] == near(500 / RING)


def test_regenerative_centre() -> None:
    """Rod-end oil joins the pump's: v = Q / rod area, p = load / rod area (no path losses)."""
    bench = bench_with()
    bench.add(
        "valve_4_3", id="D", centre="regenerative", rated_flow="6000 L/min", position="centre"
    )
    bench.add("cylinder", id="A", extension="150 mm", load="2 kN")
    bench.join("P.outlet", "D.P")
    bench.join("D.A", "A.cap")
    bench.join("D.B", "A.rod")
    bench.drain("D.T")
    read = bench.read()
    assert read.quantities["A"]["velocity"] == near(FULL / area(0.028))
    assert read.pressures["A.cap"] == near(2000 / area(0.028), 1e-3)


def motor(load: str, **values: object) -> Readings:
    """A 20 cm3/rev motor on the 6 L/min pump."""
    bench = bench_with()
    bench.add("hydraulic_motor", id="M", displacement="20 cm^3/rev", load_torque=load, **values)
    bench.join("P.outlet", "M.A")
    bench.drain("M.B")
    return bench.read()


def test_motor_speed_and_pressure() -> None:
    """6 L/min / 20 cm3 = 300 rpm; dp = 2 pi T / V = 62.8 bar for 20 N m."""
    read = motor("20 N*m", volumetric_efficiency=1.0)
    assert read.quantities["M"]["velocity"] == near(300 * 2 * pi / 60)
    assert read.pressures["M.A"] == near(2 * pi * 20 / 20e-6)


def test_motor_leakage() -> None:
    """As a pump's: 10 % of V n at 100 bar, so 6.28 % at 62.8 bar, by which it turns slower.

    The contract does not say of which speed; of either the answer is the same to 0.5 %.
    """
    read = motor("20 N*m", volumetric_efficiency=1.0)
    ideal = read.quantities["M"]["velocity"]
    slower = motor("20 N*m", volumetric_efficiency=0.9, rated_pressure="100 bar")
    assert slower.pressures["M.A"] == near(2 * pi * 20 / 20e-6)
    assert slower.quantities["M"]["velocity"] == near(ideal / 1.0628, 5e-3)


def test_motor_stalls() -> None:
    """40 N m would need 126 bar: at 100 bar nothing turns."""
    read = motor("40 N*m", volumetric_efficiency=1.0)
    assert read.quantities["M"]["velocity"] == 0
    assert read.inflows["V.inlet"] == near(FULL)


def test_semi_rotary_actuator() -> None:
    """50 cm3/rad on 0.1 L/s: 2 rad/s; 100 N m need 20 bar."""
    bench = bench_with()
    bench.add(
        "semi_rotary_actuator",
        id="A",
        displacement="50 cm^3/rad",
        load_torque="100 N*m",
        extension="90 deg",
    )
    bench.join("P.outlet", "A.A")
    bench.drain("A.B")
    read = bench.read()
    assert read.quantities["A"]["velocity"] == near(2.0)
    assert read.pressures["A.A"] == near(20 * BAR)


def locked(pressure: str, **values: object) -> Readings:
    """A retracted gear cylinder with its up-lock, 2 in bore, released at 150 psi."""
    bench = Bench()
    settings = {
        "bore": "2 in",
        "rod_diameter": "1 in",
        "stroke": "12 in",
        "lock_release_pressure": "150 psi",
        "extension": "0 in",
        **values,
    }
    bench.add("cylinder", id="A", **settings)
    bench.set_value("A", "lock", "both")
    bench.add("restrictor", id="R", diameter="1 mm")
    bench.source(pressure, "R.A")
    bench.join("R.B", "A.cap")
    bench.drain("A.rod")
    return bench.read()


def test_lock_holds_below_its_release_pressure() -> None:
    """149 psi on the cap: 468 lbf push, the lock holds."""
    read = locked("149 psi", load="100 lbf")
    assert read.quantities["A"]["lock"] == "locked"
    assert read.quantities["A"]["velocity"] == 0
    assert read.pressures["A.cap"] == near(149 * PSI)


def test_lock_lets_go_at_its_release_pressure() -> None:
    """151 psi releases it; then the load alone sets the pressure: 100 lbf / 3.14 in2 = 31.8 psi.

    At an instant locks are first taken as held, and a lock once released is not held again.
    """
    read = locked("151 psi", load="100 lbf")
    pressure = 100 * LBF / area(2 * INCH)
    assert read.quantities["A"]["lock"] == "released"
    assert read.pressures["A.cap"] == near(pressure)
    flow = orifice(0.001, 151 * PSI - pressure)
    assert read.quantities["A"]["velocity"] == near(flow / area(2 * INCH))


def test_lock_released_by_hand() -> None:
    """The state `released` frees it below the release pressure."""
    read = locked("149 psi", load="100 lbf")
    freed = locked("149 psi", load="100 lbf", lock="released")
    assert read.quantities["A"]["velocity"] == 0
    assert freed.quantities["A"]["velocity"] > 0


def test_all_locks_that_see_the_pressure_let_go_at_once() -> None:
    """Two like cylinders on one dead-headed hand pump: both locks stand at 900 psi, both go."""
    bench = Bench()
    bench.add(
        "hand_pump",
        id="P",
        displacement="1.2 in^3",
        rate="30 strokes/min",
        piston_area="0.6 in^2",
        lever_ratio=9,
        effort_limit="60 lbf",
    )
    bench.join("T.supply", "P.inlet")
    for name in ("L", "R"):
        bench.add("cylinder", id=name, bore="2 in", rod_diameter="1 in", stroke="12 in")
        bench.set_value(name, "lock", "both")
        bench.set_value(name, "lock_release_pressure", "150 psi")
        bench.set_value(name, "load", "100 lbf")
        bench.add("restrictor", id="R" + name, diameter="1 mm")
        bench.join("P.outlet", f"R{name}.A")
        bench.join(f"R{name}.B", f"{name}.cap")
        bench.drain(f"{name}.rod")
    read = bench.read()
    half = 0.3 * INCH**3 / area(2 * INCH)
    assert read.quantities["L"]["lock"] == read.quantities["R"]["lock"] == "released"
    assert read.quantities["L"]["velocity"] == near(half, 1e-3)
    assert read.quantities["R"]["velocity"] == near(half, 1e-3)


def test_gear_falls_by_its_weight() -> None:
    """200 lbf of weight squeeze the rod end: p = W / A_ring, speed by the restrictor.

    A gear that hangs outboard falls once pressure is dumped (common practice).
    """
    bench = Bench()
    bench.add("cylinder", id="A", bore="2 in", rod_diameter="1 in", load="-200 lbf")
    bench.set_value("A", "extension", "2 in", state=True)
    bench.add("restrictor", id="R", diameter="0.06 in")
    bench.join("A.rod", "R.A")
    bench.drain("R.B", "A.cap")
    ring = area(2 * INCH) - area(1 * INCH)
    pressure = 200 * LBF / ring
    read = bench.read()
    assert read.pressures["A.rod"] == near(pressure)
    expected = orifice(0.06 * INCH, pressure) / ring
    assert read.quantities["A"]["velocity"] == near(expected)


def test_both_ends_shut_leave_the_pressures_open() -> None:
    """Only a combination is pinned by the load: both are undetermined."""
    bench = Bench()
    bench.add("cylinder", id="A", extension="150 mm", load="4 kN")
    for port in ("cap", "rod"):
        bench.add("plug", id="X" + port)
        bench.join(f"A.{port}", f"X{port}.A")
    read = bench.read()
    assert read.pressures["A.cap"] is None
    assert read.pressures["A.rod"] is None
    assert {"A.cap", "A.rod"} <= set(read.undetermined)
