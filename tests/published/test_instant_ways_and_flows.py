"""Check, shuttle, directional and flow valves, filters and lines by hand calculation.

Source of each rule: the contract's section 3, unless another is named.
"""

from __future__ import annotations

from math import sqrt

import pytest

from analysis.readings import Readings
from tests.published.bench import BAR, LPM, Bench, orifice


def near(value: float, rel: float = 1e-4) -> object:
    """Within a tenth of a per mille."""
    return pytest.approx(value, rel=rel)


def across(kind: str, start: str, end: str, pressure: str, **values: object) -> Readings:
    """One part `X` between a source and the reservoir."""
    bench = Bench()
    bench.add(kind, id="X", **values)
    bench.source(pressure, f"X.{start}")
    bench.drain(f"X.{end}")
    return bench.read()


RATED = {"rated_flow": "20 L/min", "rated_drop": "4 bar"}


@pytest.mark.parametrize(("bars", "litres"), [(0.4, 0), (0.5, 0), (4.5, 20), (1.5, 10), (16.5, 40)])
def test_check_valve(bars: float, litres: float) -> None:
    """q = rated_flow sqrt((dp - cracking_pressure) / rated_drop)."""
    read = across(
        "check_valve", "inlet", "outlet", f"{bars} bar", cracking_pressure="0.5 bar", **RATED
    )
    assert read.inflows["X.inlet"] == pytest.approx(litres * LPM, rel=1e-4, abs=1e-10)


def test_check_valve_shuts_in_reverse() -> None:
    """Nothing flows from outlet to inlet."""
    read = across("check_valve", "outlet", "inlet", "200 bar")
    assert read.inflows["X.outlet"] == 0


def test_closed_region_behind_a_check_valve() -> None:
    """The least pressure the feed allows: 100 bar less 0.5 bar of cracking pressure."""
    bench = Bench()
    bench.add("check_valve", id="X", cracking_pressure="0.5 bar")
    bench.add("plug", id="E")
    bench.source("100 bar", "X.inlet")
    bench.join("X.outlet", "E.A")
    assert bench.read().pressures["E.A"] == near(99.5 * BAR)


@pytest.mark.parametrize(("pilot", "opens"), [(32, False), (35, True)])
def test_pilot_operated_check_valve(pilot: float, opens: bool) -> None:
    """100 bar at its outlet open in reverse once 3 * p_pilot exceeds 100 bar."""
    bench = Bench()
    bench.add("pilot_check_valve", id="X", pilot_ratio=3, **RATED)
    bench.source("100 bar", "X.outlet")
    bench.source(f"{pilot} bar", "X.pilot")
    bench.drain("X.inlet")
    flow = bench.read().inflows["X.outlet"]
    assert flow == (near(20 * LPM * sqrt(100 / 4)) if opens else 0)


@pytest.mark.parametrize(("one", "two", "taken"), [(60, 40, 1), (40, 60, 2), (50, 50, 1)])
def test_shuttle_valve_passes_the_higher_inlet(one: float, two: float, taken: int) -> None:
    """With equal inlets, at an instant, inlet_1."""
    bench = Bench()
    bench.add("shuttle_valve", id="X", **RATED)
    bench.add("restrictor", id="R", diameter="1 mm")
    bench.source(f"{one} bar", "X.inlet_1")
    bench.source(f"{two} bar", "X.inlet_2")
    bench.join("X.outlet", "R.A")
    bench.drain("R.B")
    read = bench.read()
    assert read.inflows[f"X.inlet_{taken}"] == near(read.inflows["R.A"])
    assert read.inflows[f"X.inlet_{3 - taken}"] == 0
    assert read.inflows["R.A"] > 0


@pytest.mark.parametrize(
    ("kind", "position", "joined"),
    [
        ("valve_3_2", "left", {"PA"}),
        ("valve_3_2", "right", {"AT"}),
        ("valve_4_2", "left", {"PA", "BT"}),
        ("valve_4_2", "right", {"PB", "AT"}),
        ("valve_4_3", "left", {"PA", "BT"}),
        ("valve_4_3", "right", {"PB", "AT"}),
    ],
)
def test_positions_join_the_ports_of_their_boxes(
    kind: str, position: str, joined: set[str]
) -> None:
    """Each open path costs rated_drop at rated_flow; every other pair is shut. ISO 9461 letters."""
    ports = "PTA" if kind == "valve_3_2" else "PTAB"
    for i, one in enumerate(ports):
        for other in ports[i + 1 :]:
            read = across(kind, one, other, "4 bar", position=position, **RATED)
            is_open = one + other in joined or other + one in joined
            assert read.inflows[f"X.{one}"] == (near(20 * LPM) if is_open else 0), one + other


CENTRES = {
    "closed": set(),
    "open": {"PT", "AT", "BT", "PA", "PB", "AB"},
    "tandem": {"PT"},
    "float": {"AT", "BT", "AB"},
    "regenerative": {"PA", "PB", "AB"},
}


@pytest.mark.parametrize("centre", CENTRES)
def test_centres(centre: str) -> None:
    """The five centres of a 4/3 valve; ways through a third port cost two paths."""
    for one, other in ("PT", "PA", "PB", "AT", "BT", "AB"):
        read = across("valve_4_3", one, other, "4 bar", centre=centre, position="centre", **RATED)
        flow = read.inflows[f"X.{one}"]
        if one + other not in CENTRES[centre]:
            assert flow == 0, one + other
            continue
        direct = {"open": "T", "tandem": "T", "float": "T", "regenerative": "P"}[centre]
        paths = 1 if direct in (one, other) else 2
        assert flow == near(20 * LPM / sqrt(paths)), one + other


def test_tandem_centre_unloads_the_pump() -> None:
    """10 L/min through a path of 4 bar at 20: 1 bar at the pump."""
    bench = Bench()
    bench.pump("10 cm^3/rev")
    bench.add("valve_4_3", id="X", centre="tandem", position="centre", **RATED)
    bench.join("P.outlet", "X.P")
    bench.drain("X.T")
    assert bench.read().pressures["P.outlet"] == near(1 * BAR)


@pytest.mark.parametrize(("position", "litres"), [("open", 20), ("closed", 0)])
def test_shut_off_valve(position: str, litres: float) -> None:
    """Open it costs its rated drop, closed it passes nothing."""
    read = across("shutoff_valve", "A", "B", "4 bar", position=position, **RATED)
    assert read.inflows["X.A"] == pytest.approx(litres * LPM, rel=1e-4, abs=1e-12)


def test_lever_label_stands_for_its_position() -> None:
    """A position may be given by the label that is written on the lever."""
    bench = Bench()
    bench.add("valve_3_2", id="X", **RATED)
    bench.set_field("X", "labels", {"left": "DOWN", "right": "UP"})
    bench.set_value("X", "position", "DOWN", state=True)
    bench.source("4 bar", "X.P")
    bench.drain("X.A")
    assert bench.read().inflows["X.P"] == near(20 * LPM)


def test_restrictor_by_diameter_and_by_rating() -> None:
    """C_d A sqrt(2 dp / rho), or q = rated_flow sqrt(dp / rated_drop)."""
    read = across("restrictor", "A", "B", "50 bar", diameter="1.2 mm", discharge_coefficient=0.65)
    assert read.inflows["X.A"] == near(orifice(0.0012, 50 * BAR, 0.65))
    rated = across("restrictor", "A", "B", "50 bar", rated_flow="2 L/min", rated_drop="10 bar")
    assert rated.inflows["X.A"] == near(2 * LPM * sqrt(5))


@pytest.mark.parametrize("opening", [0.0, 0.25, 1.0])
def test_adjustable_restrictor(opening: float) -> None:
    """Its area is in proportion to the opening."""
    read = across("adjustable_restrictor", "A", "B", "50 bar", diameter="1 mm", opening=opening)
    expected = opening * orifice(0.001, 50 * BAR)
    assert read.inflows["X.A"] == pytest.approx(expected, rel=1e-4, abs=1e-12)


def test_one_way_restrictor() -> None:
    """Throttled from `restricted` to `free`; the other way costs nothing."""
    read = across("one_way_restrictor", "restricted", "free", "50 bar", diameter="1 mm")
    assert read.inflows["X.restricted"] == near(orifice(0.001, 50 * BAR))
    bench = Bench()
    bench.pump("10 cm^3/rev")
    bench.add("one_way_restrictor", id="X", diameter="1 mm")
    bench.join("P.outlet", "X.free")
    bench.drain("X.restricted")
    assert bench.read().pressures["P.outlet"] == pytest.approx(0, abs=100)


@pytest.mark.parametrize(("bars", "litres"), [(5, 3), (50, 3), (200, 3), (1.25, 1.5)])
def test_flow_regulator(bars: float, litres: float) -> None:
    """3 L/min from 5 bar on, by the square root below."""
    read = across(
        "flow_regulator", "inlet", "outlet", f"{bars} bar", flow="3 L/min", minimum_drop="5 bar"
    )
    assert read.inflows["X.inlet"] == near(litres * LPM)


def test_flow_regulator_in_reverse() -> None:
    """The same orifice: 3 L/min * sqrt(20 / 5)."""
    read = across(
        "flow_regulator", "outlet", "inlet", "20 bar", flow="3 L/min", minimum_drop="5 bar"
    )
    assert read.inflows["X.outlet"] == near(6 * LPM)


def test_flow_divider_keeps_its_ratio_whatever_the_loads() -> None:
    """30 % of 10 L/min to outlet_1, although its load is four times the other's."""
    bench = Bench()
    bench.pump("10 cm^3/rev")
    bench.add("flow_divider", id="X", ratio=0.3, rated_flow="20 L/min", rated_drop="4 bar")
    bench.join("P.outlet", "X.inlet")
    for outlet, friction in (("outlet_1", "8 kN"), ("outlet_2", "2 kN")):
        bench.add("cylinder", id="A" + outlet, friction=friction, extension="100 mm")
        bench.join(f"X.{outlet}", f"A{outlet}.cap")
        bench.drain(f"A{outlet}.rod")
    read = bench.read()
    assert -read.inflows["X.outlet_1"] == near(3 * LPM)
    assert -read.inflows["X.outlet_2"] == near(7 * LPM)


@pytest.mark.parametrize(("closed", "litres"), [(False, 20), (True, 0)])
def test_hydraulic_fuse(closed: bool, litres: float) -> None:
    """A closed fuse passes nothing."""
    read = across("hydraulic_fuse", "inlet", "outlet", "4 bar", closed=closed, **RATED)
    assert read.inflows["X.inlet"] == pytest.approx(litres * LPM, rel=1e-4, abs=1e-12)


@pytest.mark.parametrize("kind", ["cooler", "quick_coupling", "hose"])
def test_passages_cost_their_rated_drop(kind: str) -> None:
    """1 bar passes half of what 4 bar do."""
    assert across(kind, "A", "B", "4 bar", **RATED).inflows["X.A"] == near(20 * LPM)
    assert across(kind, "A", "B", "1 bar", **RATED).inflows["X.A"] == near(10 * LPM)


def test_filter_and_its_bypass() -> None:
    """Below the bypass pressure the element alone; with it blocked the bypass opens at 3 bar."""
    read = across("filter", "inlet", "outlet", "1 bar", bypass_pressure="3 bar", **RATED)
    assert read.inflows["X.inlet"] == near(10 * LPM)
    bench = Bench()
    bench.pump("0.01 cm^3/rev")
    bench.add("filter", id="X", bypass_pressure="3 bar", fault="blocked", **RATED)
    bench.join("P.outlet", "X.inlet")
    bench.drain("X.outlet")
    assert bench.read().pressures["P.outlet"] == near(3 * BAR, 1e-3)


def test_meter_and_hose_by_length() -> None:
    """A meter costs nothing; a hose with bore and length is a line of them."""
    bench = Bench()
    bench.pump("1 cm^3/rev")
    bench.add("flow_meter", id="M")
    bench.add("hose", id="H", bore="6 mm", length="2 m")
    bench.join("P.outlet", "M.A")
    bench.join("M.B", "H.A")
    bench.connect("H.B", "T.return", id="L", bore="6 mm", length="1 m")
    read = bench.read()
    assert read.pressures["M.A"] == pytest.approx(read.pressures["M.B"], abs=10)
    assert read.pressures["H.A"] - read.pressures["H.B"] == near(2 * read.line("L").pressure_drop)


def test_orifices_side_by_side_and_in_a_row() -> None:
    """Side by side their flows add; two alike in a row pass 1/sqrt(2)."""
    bench = Bench()
    for name in ("R1", "R2", "R3", "R4"):
        bench.add("restrictor", id=name, diameter="1 mm")
    bench.source("80 bar", "R1.A")
    bench.join("R1.A", "R2.A")
    bench.join("R1.A", "R3.A")
    bench.join("R3.B", "R4.A")
    bench.drain("R1.B", "R2.B", "R4.B")
    single = orifice(0.001, 80 * BAR)
    read = bench.read()
    assert -read.inflows["S0.outlet"] == near(single * (2 + 1 / sqrt(2)))
    assert read.pressures["R4.A"] == near(40 * BAR)
