"""The parts list: what is listed, and that quantities stay as they were written."""

from analysis.circuit import Circuit
from analysis.parts_list import HEADINGS, parts_list


def test_every_part_and_every_pipe_is_listed_once():
    """Junctions are joints and ideal lines are no pipes; the order is that of the file."""
    circuit = Circuit()
    circuit.add("junction", id="0Z1")
    circuit.add("plug", id="0Z2", name="Blanking plug")
    circuit.add("filter", id="0Z3")
    circuit.connect("0Z1.A", "0Z2.A", id="L1")
    circuit.connect("0Z1.A", "0Z3.inlet", id="L2", bore="1/4 in", length="6 ft")
    assert [row.id for row in parts_list(circuit)] == ["0Z2", "0Z3", "L2"]


def test_settings_are_listed_as_they_were_written():
    """Text, range, unknown and table, with the title of the setting; defaults are not listed."""
    circuit = Circuit()
    circuit.add(
        "cylinder",
        id="1A1",
        name="Press ram",
        bore="2.50  in",
        rod_diameter={"between": ["1 in", "1 1/4 in"]},
        friction=None,
        load=[["0 in", "120 lbf"], ["6 in", "4000 lbf"]],
    )
    circuit.components["1A1"].evidence = {"status": "confirmed", "source": "strip report 7"}
    (row,) = parts_list(circuit)
    assert dict(zip(HEADINGS, row.cells(), strict=True)) == {
        "id": "1A1",
        "kind": "Double-acting cylinder",
        "name": "Press ram",
        "settings": "bore 2.50  in; rod diameter 1 in to 1 1/4 in; friction unknown; "
        "load against extension 120 lbf at 0 in, 4000 lbf at 6 in",
        "evidence": "confirmed",
        "source": "strip report 7",
    }
