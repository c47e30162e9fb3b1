"""Deleting a part never makes the file unreadable, and what spoke of it says so."""

from pathlib import Path

import pytest

import editor
from analysis import Circuit, check, read_circuit, write_circuit
from analysis.broken_references import find_broken_references, missing_in

SAMPLES = sorted((Path(editor.__file__).parent.parent / "sample_circuits").glob("*.circuit.json"))


@pytest.mark.parametrize("sample", SAMPLES, ids=lambda p: p.name.partition(".")[0])
def test_any_part_can_be_deleted_and_the_file_read_again(sample, tmp_path):
    """Delete each part in turn, save, open: nothing is lost and the finding names it."""
    whole = read_circuit(sample)
    named = set()
    for record in [*whole.requirements, *whole.procedures]:
        empty = whole.copy()
        empty.components, empty.lines = {}, {}
        named |= set(missing_in(empty, record))
    assert named or not (whole.requirements or whole.procedures)
    for identifier in sorted(named):
        circuit = whole.copy()
        circuit.remove(identifier)
        path = tmp_path / "left.circuit.json"
        write_circuit(circuit, path)
        again = read_circuit(path)
        assert again.requirements == whole.requirements
        assert again.procedures == whole.procedures


def test_broken_requirement_fails_and_says_what_is_missing():
    """The verdict fails, and an error-level finding names the part and the requirement."""
    circuit = read_circuit(next(p for p in SAMPLES if "emergency" in p.name))
    circuit.remove("2P1")
    result = check(circuit)
    broken = [f for f in result.findings if f.rule == "broken_reference"]
    assert any("2P1" in f.message and "procedure" in f.message for f in broken)
    assert any("2P1" in f.message and "requirement" in f.message for f in broken)
    assert not result.ok
    spoken = [r["name"] for r in circuit.requirements if "2P1" in r.get("from", ())]
    assert all(not v.holds for v in result.requirements if v.name in spoken)


def test_a_failure_given_with_its_mode_names_its_part_too():
    """`[id, mode]` as well as the id alone."""
    wanted = {"name": "s", "kind": "survives", "procedure": "p"}
    for failures in (["L9"], [["L9", "blocked"]]):
        assert missing_in(Circuit(), {**wanted, "failures": failures}) == ["L9"]


@pytest.mark.parametrize(
    ("tripped_by", "words"),
    [("1A1", ""), ("9A9", "9A9, which is not there"), ("0Z1", "0Z1, which has no extension")],
)
def test_a_roller_valve_whose_cylinder_is_not_there_is_told(tripped_by, words):
    """It would never be tripped; the cylinder may have been deleted."""
    circuit = Circuit()
    circuit.add("cylinder", id="1A1")
    circuit.add("reservoir", id="0Z1")
    circuit.add("valve_3_2", id="1V1", operator="roller", tripped_by=tripped_by, trips_at="1 cm")
    found = find_broken_references(circuit)
    assert [f.subjects for f in found] == ([("1V1",)] if words else [])
    assert all(words in f.message and f.severity == "error" for f in found)
