"""What a verdict shows on the sheet: its ways with their sense, their order, the parts to mark."""

from pathlib import Path

import pytest

from analysis import read_circuit
from analysis.circuit import Circuit
from analysis.findings import Verdict
from analysis.reach_matrix import find_reach_matrix
from analysis.reach_ways import setting_of, settings_words, way_in_setting
from analysis.requirement_words import asked_words, suggested_name, what_is_missing
from analysis.requirements import evaluate_one
from analysis.verdict_ways import Shown, ShownWay, shown_by

SAMPLE = Path(__file__).parents[2] / "sample_circuits" / "emergency_pump.circuit.json"


@pytest.fixture(scope="module")
def sample() -> Circuit:
    """The emergency sample; only read."""
    return read_circuit(SAMPLE)


def shown(circuit: Circuit, number: int, **changes: object) -> Shown:
    """What the verdict on a requirement of the sample, with changes, shows."""
    wanted = {**circuit.requirements[number], **changes}
    return shown_by(circuit, wanted, evaluate_one(circuit, wanted))


def test_a_holding_way_and_its_returns_are_told_apart(sample: Circuit) -> None:
    """Supply ways end at the targets, ways back begin there and end at a reservoir."""
    ways = shown(sample, 0).ways
    assert [way.sense for way in ways] == ["supply", "supply", "return", "return"]
    assert [way.elements[0] for way in ways] == ["2Z1", "2Z1", "1A1", "1A2"]
    assert [way.elements[-1] for way in ways] == ["1A1", "1A2", "2Z1", "2Z1"]


def test_a_stray_way_is_no_proof(sample: Circuit) -> None:
    """One target of two: the other one is reached as well, and that breaks it."""
    ways = shown(sample, 0, targets=["1A1.cap"]).ways
    assert [(way.sense, way.elements[-1]) for way in ways] == [("stray", "1A2")]


def test_the_sides_and_the_shared_part_of_independent_ways(sample: Circuit) -> None:
    """Two ways for each side; without leave to share it the shuttle is marked."""
    allowed = [e for e in sample.requirements[2]["may_share"] if e != "1V2"]
    found = shown(sample, 2, may_share=allowed)
    assert [way.sense for way in found.ways] == ["supply", "supply", "other", "other"]
    assert found.marks == {"1V2": "shared"}
    assert shown(sample, 2).marks == {}


def test_what_stops_fluid_is_marked(sample: Circuit) -> None:
    """The selector, both where that is welcome and where it is not."""
    assert shown(sample, 6).marks == {"2V1": "barrier"}
    normal = {"2V1": {"position": "NORMAL"}}
    assert shown(sample, 0, set=normal).marks == {"2V1": "barrier"}


def test_a_procedure_that_is_lost_marks_the_failures(sample: Circuit) -> None:
    """The subjects of fatal failures are framed; there is no way to draw."""
    verdict = Verdict("it", False, "It does not survive 0P1 and L5.", ("0P1", "L5"))
    found = shown_by(sample, {"kind": "survives", "procedure": "any"}, verdict)
    assert found.marks == {"0P1": "fault", "L5": "fault"} and found.ways == ()


def test_numbers_rise_along_every_way(sample: Circuit) -> None:
    """On each way each counted part has a greater number than the one before."""
    junctions = {c.id for c in sample.components.values() if c.kind == "junction"}
    for number in range(len(sample.requirements)):
        found = shown(sample, number)
        numbers = found.numbers(junctions)
        for way in found.ways:
            if way.sense != "return":
                row = [numbers[part] for part in way.elements[::2] if part not in junctions]
                assert row == sorted(set(row)), sample.requirements[number]["name"]
                assert row[0] == 1


def test_ways_in_opposite_order_end_in_some_numbering() -> None:
    """A and B are met in both orders: no order fits, and counting ends all the same."""
    ways = (ShownWay(("A", "L", "B"), "stray"), ShownWay(("B", "L", "A"), "stray"))
    assert set(Shown(ways).numbers()) == {"A", "B"}


def test_every_cell_of_the_matrix_has_a_way_in_each_of_its_settings(sample: Circuit) -> None:
    """The first setting of each part leads from the source to the port."""
    cells = find_reach_matrix(sample).cells
    assert cells
    for (source, port), cell in cells.items():
        for part in cell.parts:
            way = way_in_setting(sample, source, port, setting_of(part))
            assert way is not None and way.ports[-1] == port and source in way.elements


def test_a_setting_outside_the_cell_has_no_way(sample: Circuit) -> None:
    """The emergency pump gets nowhere with its selector at NORMAL."""
    setting = {"2V1": {"position": "right"}}
    assert way_in_setting(sample, "2P1", "1A1.cap", setting) is None
    assert settings_words(sample, {"1V1": ("left", "right")}) == "1V1 DOWN or UP"


def test_names_and_demands_in_words(sample: Circuit) -> None:
    """Names are made of the parts' own names; what is missing is one demand."""
    none = {"kind": "reaches_none", "from": ["0P1", "0P2"], "targets": ["1A1.cap", "3A1.rod"]}
    assert suggested_name(sample, none) == (
        "Electric pump and Main hand pump do not reach Left main gear cylinder (cap) or "
        "Flap cylinder (rod)"
    )
    assert suggested_name(sample, {"kind": "reaches", "from": ["0P1"]}) == ""
    assert what_is_missing({"kind": "independent", "from": ["0P1"]}).startswith("pick at least one")
    assert what_is_missing({"kind": "survives"}) == "choose a procedure"
    assert what_is_missing({**none, "name": "x"}) == ""
    assert "with 2V1 EMERGENCY" in asked_words(sample, sample.requirements[0])
