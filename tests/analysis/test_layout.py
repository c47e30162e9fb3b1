"""Automatic layout: nothing overlaps, everything is on the grid, pumps stand below actuators."""

from itertools import combinations
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from analysis.circuit import Circuit
from analysis.circuit_file import read_circuit
from analysis.layout import Box, lay_out, symbol_box
from symbols import KINDS

SAMPLES = sorted((Path(__file__).parents[2] / "sample_circuits").glob("*.circuit.json"))


def overlapping(circuit: Circuit, places: dict[str, tuple[int, int]]) -> list[tuple[str, str]]:
    """Pairs of components whose symbols cover each other."""
    boxes = {
        c.id: symbol_box(c, places[c.id] if c.at is None else c.at)
        for c in circuit.components.values()
    }
    return [pair for pair in combinations(boxes, 2) if covers(*(boxes[i] for i in pair))]


def covers(one: Box, other: Box) -> bool:
    """Whether two boxes have an area in common, or one lies within the other."""
    return one[0] <= other[2] and other[0] <= one[2] and one[1] <= other[3] and other[1] <= one[3]


@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.name.partition(".")[0])
def test_samples_without_places_are_laid_out(path: Path) -> None:
    """Every sample, its places taken away, gets places that do not overlap."""
    circuit = read_circuit(path)
    for component in circuit.components.values():
        component.at = None
    places = lay_out(circuit)
    assert list(places) == list(circuit.components)
    assert all(type(n) is int and n >= 0 for at in places.values() for n in at)
    assert not overlapping(circuit, places)
    heights = {kind: [] for kind in ("reservoir", "pumps", "actuators")}
    for component in circuit.components.values():
        for key in (component.kind, component.declared.family):
            if key in heights:
                heights[key].append(places[component.id][1])
    assert max(heights["actuators"]) < min(heights["pumps"])
    assert max(heights["pumps"]) < min(heights["reservoir"])


@settings(max_examples=60, deadline=None)
@given(st.data())
def test_any_circuit_is_laid_out_without_overlap(data: st.DataObject) -> None:
    """Random parts, turned, mirrored, some placed, joined at random: no two overlap."""
    circuit = Circuit()
    kinds = data.draw(st.lists(st.sampled_from(list(KINDS)), min_size=1, max_size=30))
    for index, kind in enumerate(kinds):
        # those that have a place stand in a row of their own, wide apart
        at = (40 * index, 20) if data.draw(st.integers(0, 4)) == 0 else None
        circuit.add(
            kind,
            f"X{index}",
            at=at,
            turn=data.draw(st.sampled_from((0, 90, 180, 270))),
            mirror=data.draw(st.booleans()),
        )
    ports = list(circuit.ports())
    for start, end in data.draw(
        st.lists(st.tuples(st.sampled_from(ports), st.sampled_from(ports)), max_size=40)
    ):
        if start != end:
            circuit.connect(start, end)
    before = {c.id: c.at for c in circuit.components.values()}
    places = lay_out(circuit)
    assert set(places) == {identifier for identifier, at in before.items() if at is None}
    assert {c.id: c.at for c in circuit.components.values()} == before
    assert places == lay_out(circuit)
    assert not overlapping(circuit, places)


def test_what_has_a_place_keeps_it() -> None:
    """Nothing is to be laid out where everything has a place."""
    circuit = Circuit()
    circuit.add("plug", "0Z1", at=(3, 4))
    assert lay_out(circuit) == {}


def test_rows_are_broken_to_the_width_of_a_sheet() -> None:
    """Forty cylinders do not stand in one row: an A3 sheet is 168 modules wide (ISO 216)."""
    circuit = Circuit()
    for _ in range(40):
        circuit.add("cylinder")
    places = lay_out(circuit)
    assert max(symbol_box(c, places[c.id])[2] for c in circuit.components.values()) <= 168
    assert not overlapping(circuit, places)
