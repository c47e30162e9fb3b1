"""Dead-headed and starved pumps, outlets that are uncovered, ports that nobody connected: by hand.

Source of each rule: the contract's section 3.
"""

from __future__ import annotations

import pytest

from tests.published.bench import ATMOSPHERE, BAR, LPM, Bench, orifice


def dead_headed(*chain: str) -> Bench:
    """A pump without leakage against a plug; `chain` lists the ports between."""
    bench = Bench()
    bench.pump("10 cm^3/rev")
    bench.add("plug", id="X")
    bench.add("filter", id="F")
    bench.add("hydraulic_motor", id="M")
    bench.add("cylinder", id="A", extension="50 mm")
    ports = ["P.outlet", *chain, "X.A"]
    for start, end in zip(ports[::2], ports[1::2], strict=True):
        bench.connect(start, end, bore="6 mm", length="1 m")
    return bench


@pytest.mark.parametrize(
    "chain",
    [(), ("F.inlet", "F.outlet"), ("M.A", "M.B"), ("A.cap", "A.rod")],
    ids=["line", "filter", "motor", "cylinder"],
)
def test_nothing_flows_or_moves_where_nothing_limits_the_pressure(chain: tuple[str, ...]) -> None:
    """Fluid that cannot leave does not arrive: no flow or velocity is made up."""
    read = dead_headed(*chain).read()
    assert not any(read.inflows[port] for port in ("P.outlet", "X.A", *chain))
    assert not any(line.flow for line in read.lines.values())
    assert not read.quantities["M"]["velocity"]
    assert not read.quantities["A"]["velocity"]


def test_what_has_no_value_has_its_reason_beside_it() -> None:
    """Section 6; also where it is a velocity or a force that has none."""
    form = dead_headed("A.cap", "A.rod").read().as_json()
    for part in (*form["components"].values(), *form["lines"].values()):
        ports = part.get("ports", {})
        assert None not in part.values() or part["reason"]
        for port in ports.values():
            assert None not in port.values() or port["reason"]


@pytest.mark.parametrize(
    ("position", "joins", "share"),
    [("open", "P.inlet", 1.0), ("closed", "P.inlet", 0.0), ("open", "T.standpipe", 0.0)],
)
def test_inlet_joined_to_an_uncovered_outlet_draws_from_a_covered_one(
    position: str, joins: str, share: float
) -> None:
    """An inlet that reaches several outlets draws while any is covered.

    Lines that meet at the reservoir's own port are not joined by it.
    """
    bench = Bench()
    bench.set_value("T", "reserve", "2 L")
    bench.set_value("T", "volume", "2 L", state=True)
    bench.add("fixed_pump", id="P", displacement="10 cm^3/rev", speed="1000 rpm")
    bench.add("restrictor", id="R")
    bench.add("shutoff_valve", id="V", position=position)
    bench.join("T.standpipe", "P.inlet")
    bench.join("P.outlet", "R.A")
    bench.join("T.supply", "V.A")
    bench.join("V.B", joins)
    bench.drain("R.B")
    assert bench.read().inflows["R.A"] == pytest.approx(share * 10 * LPM)


@pytest.mark.parametrize("between", ["line", "filter"])
def test_pump_that_another_feeds_too_little_is_at_absolute_zero(between: str) -> None:
    """The booster pump gives 5 L/min, the main one asks for 10: its inlet is at -101 325 Pa.

    The filter takes 4 bar at 10 L/min and so 1 bar at 5: the booster delivers at 1 bar more.
    """
    bench = Bench()
    bench.pump("5 cm^3/rev")
    bench.add("fixed_pump", id="Q", displacement="10 cm^3/rev", speed="1000 rpm")
    bench.add("restrictor", id="R", rated_flow="10 L/min", rated_drop="40 bar")
    bench.add("filter", id="F", rated_flow="10 L/min", rated_drop="4 bar")
    bench.join(*["P.outlet", "Q.inlet"] if between == "line" else ["P.outlet", "F.inlet"])
    if between == "filter":
        bench.join("F.outlet", "Q.inlet")
    bench.join("Q.outlet", "R.A")
    bench.drain("R.B")
    read = bench.read()
    assert read.pressures["Q.inlet"] == pytest.approx(-ATMOSPHERE, rel=1e-3)
    drop = BAR if between == "filter" else 0.0
    assert read.pressures["P.outlet"] == pytest.approx(drop - ATMOSPHERE, abs=200)
    assert read.pressures["R.A"] == pytest.approx(10 * BAR)
    assert read.quantities["Q"]["starved"] is True


@pytest.mark.parametrize("plugged", [False, True])
@pytest.mark.parametrize(
    ("kind", "control", "port"),
    [
        ("counterbalance_valve", "pilot", "inlet"),
        ("sequence_valve", "drain", "inlet"),
        ("reducing_valve", "drain", "outlet"),
    ],
)
def test_a_control_port_without_fluid_changes_no_set_pressure(
    kind: str, control: str, port: str, plugged: bool
) -> None:
    """An unconnected port is closed, and has no pressure that could count: certainly no vacuum."""
    bench = Bench()
    bench.pump("20 cm^3/rev")
    bench.add("relief_valve", id="R", set_pressure="100 bar", rated_flow="20 L/min")
    bench.add(kind, id="V", set_pressure="50 bar", rated_flow="20 L/min", rated_drop="2 bar")
    bench.add("restrictor", id="X", rated_flow="5 L/min", rated_drop="50 bar")
    bench.add("shutoff_valve", id="S", rated_flow="20 L/min", rated_drop="1 bar")
    bench.add("plug", id="Z")
    bench.join("P.outlet", "R.inlet", "V.inlet")
    bench.join("V.outlet", "X.A" if kind == "reducing_valve" else "S.A")
    bench.drain("R.outlet", "X.B", "S.B")
    if plugged:
        bench.join(f"V.{control}", "Z.A")
    read = bench.read()
    assert read.pressures[f"V.{port}"] == pytest.approx(50 * BAR)
    assert read.pressures[f"V.{control}"] is None


@pytest.mark.parametrize("path", ["weight", "motor", "one_way_restrictor"])
def test_no_flow_is_made_up_where_nothing_limits_it(path: str) -> None:
    """5 kN on open ends, an idle motor, a free direction: no loss, so no number, and a finding."""
    bench = Bench()
    bench.add("cylinder", id="weight", load="5 kN" if path == "weight" else "0 N")
    bench.set_value("weight", "extension", "50 mm", state=True)
    bench.drain("weight.cap", "weight.rod")
    for kind, start, end in (
        ("hydraulic_motor", "A", "B"),
        ("one_way_restrictor", "free", "restricted"),
    ):
        identifier = kind.removeprefix("hydraulic_")
        bench.add(kind, id=identifier)
        if path == identifier:
            bench.source("100 bar", f"{identifier}.{start}")
            bench.drain(f"{identifier}.{end}")
    read = bench.read()
    own = [port for port in read.inflows if port.startswith(f"{path}.")]
    assert [read.inflows[port] for port in own] == [None, None]
    assert all("limits the flow" in read.reasons[port] for port in own)
    assert read.quantities["weight"]["velocity"] == (None if path == "weight" else 0.0)
    if path == "motor":
        assert read.quantities["motor"]["velocity"] is None
    assert [f.subjects for f in read.findings if f.rule == "flow_without_limit"] == [(path,)]


def test_a_large_flow_through_a_real_passage_is_read() -> None:
    """50 bar through 40 mm: 0.08 m3/s, which an orifice limits and the motor lets by."""
    bench = Bench()
    bench.add("restrictor", id="X", diameter="40 mm")
    bench.add("hydraulic_motor", id="M")
    bench.source("50 bar", "X.A")
    bench.join("X.B", "M.A")
    bench.drain("M.B")
    assert bench.read().inflows["X.A"] == pytest.approx(orifice(0.04, 50 * BAR), rel=0.01)
