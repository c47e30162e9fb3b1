"""What is drawn to show a verdict."""

import pytest

from analysis import Circuit
from analysis.report_ways import picture_of
from analysis.requirements import evaluate_one


@pytest.fixture
def circuit():
    """Two pumps on one reservoir, a selector, a cylinder, and a jack beside it."""
    circuit = Circuit()
    circuit.add("reservoir", id="0Z1")
    circuit.add("fixed_pump", id="0P1")
    circuit.add("hand_pump", id="0P2")
    circuit.add("junction", id="0Z2")
    circuit.add("valve_4_3", id="1V1")
    circuit.set_value("1V1", "position", "left", state=True)
    circuit.add("cylinder", id="1A1")
    circuit.add("cylinder_single_acting", id="2A1")
    for start, end in (
        ("0Z1.supply", "0P1.inlet"),
        ("0Z1.supply", "0P2.inlet"),
        ("0P1.outlet", "0Z2.A"),
        ("0P2.outlet", "0Z2.A"),
        ("0Z2.A", "1V1.P"),
        ("1V1.T", "0Z1.return"),
        ("1V1.A", "1A1.cap"),
        ("1V1.B", "1A1.rod"),
        ("0Z2.A", "2A1.cap"),
    ):
        circuit.connect(start, end)
    return circuit


def shown(circuit, kind, **more):
    """The verdict and its picture."""
    raw = {"kind": kind, "from": ["0P1"], "targets": ["1A1.cap"], **more}
    verdict = evaluate_one(circuit, raw)
    return verdict, picture_of(circuit, raw, verdict, 1)


def test_pressure_goes_one_way_and_fluid_comes_back_another(circuit):
    """The ways of a requirement that holds, and the numbers of the parts along them."""
    verdict, picture = shown(circuit, "reaches")
    assert verdict.holds
    assert [way.role for way in picture.ways] == ["supply", "return"]
    assert picture.ways[0].elements == ("0Z1", "L1", "0P1", "L3", "0Z2", "L5", "1V1", "L7", "1A1")
    assert picture.ways[1].elements == ("1A1", "L8", "1V1", "L6", "0Z1")
    assert picture.numbers == {"0Z1": 1, "0P1": 2, "1V1": 3, "1A1": 4}
    assert not picture.marked and not picture.reached


@pytest.mark.parametrize("kind", ["reaches_only", "reaches_none"])
def test_the_way_that_breaks_a_requirement_is_stray(circuit, kind):
    """To the jack that must not be reached, or to the target itself."""
    verdict, picture = shown(circuit, kind)
    assert not verdict.holds
    assert [way.role for way in picture.ways] == ["stray"]
    end = "2A1" if kind == "reaches_only" else "1A1"
    assert picture.ways[0].elements[-1] == end


def test_what_stops_the_pressure_is_marked_and_where_it_gets_to(circuit):
    """The closed valve, with the pump's side of it under pressure; it stands as `set` says."""
    levers = {"1V1": {"position": "centre"}}
    verdict, picture = shown(circuit, "reaches_none", set=levers)
    assert verdict.holds
    assert (picture.ways, picture.marked, picture.mark) == ((), ("1V1",), "stop")
    assert {"0P1", "L3", "0Z2", "L5", "2A1"} <= picture.reached
    assert not {"L7", "L8", "1A1"} & picture.reached
    assert picture.targets == ("1A1",) and picture.numbers == {}
    assert picture.circuit.components["1V1"].state["position"] == "centre"


def test_two_sides_that_share(circuit):
    """Each side has its way; what is shared is marked, and what may be where nothing else is."""
    verdict, picture = shown(circuit, "independent", other=["0P2"])
    assert not verdict.holds
    assert [way.role for way in picture.ways] == ["supply", "other"]
    assert "0P1" in picture.ways[0].elements and "0P2" in picture.ways[1].elements
    assert picture.mark == "shared" and "0Z2" in picture.marked
    shared = [*picture.marked, "L9", "1V1"]
    verdict, picture = shown(circuit, "independent", other=["0P2"], may_share=shared)
    assert verdict.holds
    assert picture.mark == "may share"
    assert "0Z2" in picture.marked and "L9" not in picture.marked


def test_a_source_that_falls_short_is_shown_alone(circuit):
    """What another source reaches is not drawn as reached by the one that fails.

    Both draw from one line; what supplies is not told to stop what comes back through it.
    """
    circuit.add("check_valve", id="0V1")
    circuit.add("junction", id="0Z3")
    for line in ("L1", "L2", "L3"):
        circuit.remove(line)
    for end in ("0Z1.supply", "0P1.inlet", "0P2.inlet"):
        circuit.connect("0Z3.A", end)
    circuit.connect("0Z2.A", "0V1.inlet")
    circuit.connect("0P1.outlet", "0V1.outlet")
    verdict, picture = shown(circuit, "reaches", **{"from": ["0P1", "0P2"]})
    assert not verdict.holds and "not named as a source" not in verdict.message
    assert (picture.marked, picture.targets) == (("0V1",), ("1A1",))
    assert "0P1" in picture.reached and not {"0P2", "0Z2", "1V1"} & picture.reached


def test_what_cannot_return_is_shown_with_what_stops_it(circuit):
    """From the port on the other side of the target, not from the source."""
    circuit.add("check_valve", id="1V2")
    circuit.remove("L8")
    circuit.connect("1V1.B", "1V2.inlet")
    line = circuit.connect("1V2.outlet", "1A1.rod")
    verdict, picture = shown(circuit, "reaches")
    assert not verdict.holds and "Nothing can return" in verdict.message
    assert (picture.marked, picture.mark) == (("1V2",), "stop return")
    assert picture.targets == ("1A1",)
    assert line.id in picture.reached and "0P1" not in picture.reached


def test_a_side_without_a_way_is_shown(circuit):
    """`independent` fails where one side gets nowhere: the picture shows where it ends."""
    levers = {"1V1": {"position": "centre"}}
    verdict, picture = shown(circuit, "independent", other=["0P2"], set=levers)
    assert not verdict.holds and "There is no way" in verdict.message
    assert (picture.marked, picture.mark, picture.targets) == (("1V1",), "stop", ("1A1",))
    assert "0P1" in picture.reached and "1A1" not in picture.reached


def test_what_cannot_be_read_has_no_picture(circuit):
    """Its message says why."""
    verdict, picture = shown(circuit, "reaches", **{"from": ["9P9"]})
    assert not verdict.holds and picture is None
