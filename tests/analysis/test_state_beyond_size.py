"""A state that its part has no room for is told, and one that fills it is not."""

import pytest

from analysis import Circuit, readings


@pytest.mark.parametrize(
    ("kind", "size", "state", "values"),
    [
        ("cylinder", "stroke", "extension", ("12 in", "304.8 mm", "305 mm")),
        ("semi_rotary_actuator", "angle", "extension", ("90 deg", "90 deg", "91 deg")),
        ("reservoir", "capacity", "volume", ("5 L", "5 L", "6 L")),
        ("accumulator", "gas_volume", "fluid_volume", ("1 L", "0.5 L", "2 L")),
    ],
)
def test_what_has_no_room_is_told(kind, size, state, values):
    """More than the whole cannot be; the whole can, in whatever unit it is written."""
    limit, full, more = values
    for value, told in ((full, []), (more, [("part",)])):
        circuit = Circuit()
        circuit.add(kind, id="part", **{size: limit, state: value})
        found = [f.subjects for f in readings(circuit).findings if f.rule == "state_beyond_size"]
        assert found == told
