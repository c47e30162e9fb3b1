"""Which settings of the levers a report reads, and what it makes of them."""

import pytest

from analysis import Circuit, readings
from analysis.report_settings import changes_in_words, find_settings
from analysis.variants import with_changes


@pytest.fixture
def circuit():
    """A pump, a valve with three positions and a shut-off valve, a cylinder."""
    circuit = Circuit()
    circuit.add("reservoir", id="0Z1")
    circuit.add("fixed_pump", id="0P1")
    circuit.set_value("0P1", "running", False, state=True)
    circuit.add("relief_valve", id="0V1")
    circuit.add("valve_4_3", id="1V1")
    circuit.set_value("1V1", "position", "centre", state=True)
    circuit.components["1V1"].labels.update({"left": "UP", "centre": "OFF", "right": "DOWN"})
    circuit.add("shutoff_valve", id="1V2")
    circuit.set_value("1V2", "position", "open", state=True)
    circuit.add("cylinder", id="1A1", load="100 N")
    for start, end in (
        ("0Z1.supply", "0P1.inlet"),
        ("0P1.outlet", "1V1.P"),
        ("0P1.outlet", "0V1.inlet"),
        ("0V1.outlet", "0Z1.return"),
        ("1V1.T", "0Z1.return"),
        ("1V1.A", "1V2.A"),
        ("1V2.B", "1A1.cap"),
        ("1V1.B", "1A1.rod"),
    ):
        circuit.connect(start, end)
    circuit.requirements = [
        {
            "name": "raises",
            "kind": "reaches",
            "from": ["0P1"],
            "set": {"1V1": {"position": "UP"}},
            "targets": ["1A1.cap"],
        },
        {
            "name": "raises with the written name of the position",
            "kind": "reaches",
            "from": ["0P1"],
            "set": {"1V1": {"position": "left"}},
            "targets": ["1A1.cap"],
        },
        {"name": "wrong", "kind": "reaches", "from": ["9P9"], "targets": ["1A1.cap"]},
    ]
    circuit.procedures = [
        {
            "name": "raise",
            "start": {"0P1": {"running": True}, "1A1": {"extension": "10 mm"}},
            "steps": [{"at": "1 s", "set": {"1V1": {"position": "UP"}}}],
        }
    ]
    return circuit


def found(circuit):
    """(what is set, who names it) of each setting."""
    settings = find_settings(circuit, readings(circuit))
    assert [s.code for s in settings] == [f"S{n}" for n in range(len(settings))]
    return [(s.differs, s.named_in) for s in settings]


def test_settings_come_from_requirements_procedures_and_levers_left_over(circuit):
    """As drawn; each that is named, once, whatever a position is called; what nobody names."""
    assert found(circuit) == [
        ((), ()),
        (("1V1 at UP", "0P1 running"), ("R1", "R2")),
        (("0P1 running", "1A1 extension 10 mm"), ("P1 start",)),
        (("0P1 running", "1A1 extension 10 mm", "1V1 at UP"), ("P1 step 1",)),
        (("1V1 at DOWN",), ()),
        (("1V2 at closed",), ()),
    ]


def test_a_setting_that_is_the_drawing_is_not_read_twice(circuit):
    """It is named beside the drawing."""
    circuit.requirements = [
        {"name": "off", "kind": "reaches_none", "from": ["0P1"], "targets": ["1A1.cap"]}
    ]
    circuit.set_value("0P1", "running", True, state=True)
    assert found(circuit)[0] == ((), ("R1",))


def test_readings_are_those_of_the_circuit_so_set(circuit):
    """The same as if the levers were put there by hand."""
    settings = find_settings(circuit, readings(circuit))
    by_hand = readings(
        with_changes(circuit, {"1V1": {"position": "left"}, "0P1": {"running": True}})
    )
    assert settings[1].readings.quantities["1A1"]["velocity"] == pytest.approx(
        by_hand.quantities["1A1"]["velocity"], rel=1e-9
    )
    assert by_hand.quantities["1A1"]["velocity"] > 0


def test_what_cannot_be_set_gives_no_setting(circuit):
    """An id that is not there, or a position that the valve has not."""
    circuit.procedures = [{"name": "x", "start": {"1V1": {"position": "SIDEWAYS"}}, "steps": []}]
    circuit.requirements = [
        {
            "name": "y",
            "kind": "reaches",
            "from": ["0P1"],
            "set": {"8V8": {"position": "UP"}},
            "targets": ["1A1.cap"],
        }
    ]
    assert [names for _, names in found(circuit)] == [(), (), (), ()]


def test_what_is_set_alike_is_said_once(circuit):
    """Ids that are set alike stand together."""
    circuit.add("cylinder", id="1A2")
    changes = {
        "1A1": {"extension": "0 in", "lock": "locked"},
        "1A2": {"extension": "0 in", "fault": "internal_leak", "load": None},
        "0P1": {"running": False, "fault": "none"},
    }
    assert changes_in_words(circuit, changes) == [
        "1A1, 1A2 extension 0 in",
        "1A1 locked",
        "1A2 internal leak",
        "1A2 load unknown",
        "0P1 standing still",
        "0P1 without failure",
    ]
