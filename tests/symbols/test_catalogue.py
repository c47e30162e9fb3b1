"""The catalogue is the contract's table of kinds: names, ports, settings, states, faults."""

from __future__ import annotations

import pytest

from symbols import KINDS, Kind, UnknownKind, find_kind
from symbols.kind import Port, Setting

# The project's published contract, section 3: kind -> (ports, settings, states).
CONTRACT: dict[str, tuple[str, str, str]] = {
    "reservoir": ("supply standpipe return", "capacity reserve air_pressure", "volume"),
    "fixed_pump": (
        "inlet outlet",
        "displacement speed volumetric_efficiency rated_pressure",
        "running",
    ),
    "compensated_pump": (
        "inlet outlet",
        "displacement speed volumetric_efficiency rated_pressure cutoff_pressure knee_pressure",
        "running",
    ),
    "hand_pump": (
        "inlet outlet",
        "displacement rate piston_area lever_ratio effort_limit",
        "running",
    ),
    "pressure_source": ("outlet", "pressure", ""),
    "accumulator": ("fluid", "gas_volume precharge polytropic_index", "fluid_volume"),
    "cylinder": (
        "cap rod",
        "bore rod_diameter stroke load friction lock lock_release_pressure",
        "extension lock",
    ),
    "cylinder_single_acting": (
        "cap",
        "bore stroke spring_preload spring_rate load friction",
        "extension",
    ),
    "cylinder_double_rod": ("left right", "bore rod_diameter stroke load friction", "extension"),
    "hydraulic_motor": (
        "A B",
        "displacement load_torque volumetric_efficiency rated_pressure",
        "",
    ),
    "semi_rotary_actuator": ("A B", "displacement angle load_torque", "extension"),
    "check_valve": ("inlet outlet", "cracking_pressure rated_flow rated_drop", ""),
    "pilot_check_valve": (
        "inlet outlet pilot",
        "cracking_pressure rated_flow rated_drop pilot_ratio",
        "",
    ),
    "shuttle_valve": ("inlet_1 inlet_2 outlet", "rated_flow rated_drop", ""),
    "shutoff_valve": ("A B", "rated_flow rated_drop operator", "position"),
    "valve_3_2": ("P T A", "operator rated_flow rated_drop", "position"),
    "valve_4_2": ("P T A B", "operator rated_flow rated_drop", "position"),
    "valve_4_3": ("P T A B", "operator rated_flow rated_drop centre", "position"),
    "relief_valve": ("inlet outlet", "set_pressure override rated_flow", ""),
    "reducing_valve": ("inlet outlet drain", "set_pressure rated_flow rated_drop", ""),
    "sequence_valve": ("inlet outlet drain", "set_pressure rated_flow rated_drop", ""),
    "counterbalance_valve": (
        "inlet outlet pilot",
        "set_pressure pilot_ratio rated_flow rated_drop",
        "",
    ),
    "unloading_valve": (
        "inlet outlet return",
        "cut_out_pressure cut_in_pressure rated_flow rated_drop",
        "",
    ),
    "restrictor": ("A B", "diameter discharge_coefficient rated_flow rated_drop", ""),
    "adjustable_restrictor": (
        "A B",
        "diameter discharge_coefficient rated_flow rated_drop",
        "opening",
    ),
    "one_way_restrictor": (
        "free restricted",
        "diameter discharge_coefficient rated_flow rated_drop",
        "",
    ),
    "flow_regulator": ("inlet outlet", "flow minimum_drop", ""),
    "flow_divider": ("inlet outlet_1 outlet_2", "ratio rated_flow rated_drop", ""),
    "priority_valve": ("inlet outlet", "set_pressure rated_flow rated_drop", ""),
    "hydraulic_fuse": ("inlet outlet", "closing_volume rated_flow rated_drop", "closed"),
    "filter": ("inlet outlet", "rated_flow rated_drop bypass_pressure", ""),
    "cooler": ("A B", "rated_flow rated_drop", ""),
    "hose": ("A B", "rated_flow rated_drop bore length", ""),
    "quick_coupling": ("A B", "rated_flow rated_drop", ""),
    "pressure_gauge": ("A", "range", ""),
    "pressure_switch": ("A", "set_pressure", ""),
    "test_point": ("A", "", ""),
    "flow_meter": ("A B", "", ""),
    "junction": ("A", "", ""),
    "plug": ("A", "", ""),
}
OPERATED = ("shutoff_valve", "valve_3_2", "valve_4_2", "valve_4_3")
PUMPS = ("fixed_pump", "compensated_pump", "hand_pump")


def test_every_kind_of_the_contract_is_there_and_no_other() -> None:
    """The table and the catalogue name the same kinds."""
    assert set(KINDS) == set(CONTRACT)


@pytest.mark.parametrize("name", CONTRACT)
def test_ports_are_those_of_the_contract(name: str) -> None:
    """Ports carry exactly the names of the table."""
    assert {port.name for port in KINDS[name].ports} == set(CONTRACT[name][0].split())


@pytest.mark.parametrize("name", CONTRACT)
def test_settings_of_the_contract_are_there(name: str) -> None:
    """No setting of the table is missing; more are welcome."""
    assert set(CONTRACT[name][1].split()) <= set(KINDS[name].settings)


@pytest.mark.parametrize("name", CONTRACT)
def test_states_are_those_of_the_contract(name: str) -> None:
    """States are exactly those of the table."""
    assert set(KINDS[name].states) == set(CONTRACT[name][2].split())


@pytest.mark.parametrize("name", OPERATED)
def test_operated_valves_can_be_tripped_and_name_what_drives_them(name: str) -> None:
    """Operators, the trip by a cylinder, and the common drive."""
    kind = KINDS[name]
    # The contract, section 3, the paragraph on `operator`.
    assert set(kind.settings["operator"].choices) == {
        "lever",
        "push_button",
        "pedal",
        "solenoid",
        "pilot",
        "roller",
    }
    for optional in ("tripped_by", "trips_at", "drive"):
        assert kind.settings[optional].optional


@pytest.mark.parametrize(
    ("name", "positions"),
    [
        ("shutoff_valve", ("open", "closed")),
        ("valve_3_2", ("left", "right")),
        ("valve_4_2", ("left", "right")),
        ("valve_4_3", ("left", "centre", "right")),
    ],
)
def test_positions_stand_in_the_order_of_the_boxes(name: str, positions: tuple[str, ...]) -> None:
    """Positions are listed from left to right, as the boxes stand."""
    assert KINDS[name].states["position"].choices == positions


def test_choices_of_the_contract() -> None:
    """Centres of the 4/3 valve, and the two meanings of a cylinder's lock."""
    assert set(KINDS["valve_4_3"].settings["centre"].choices) == {
        "closed",
        "open",
        "tandem",
        "float",
        "regenerative",
    }
    cylinder = KINDS["cylinder"]
    assert set(cylinder.settings["lock"].choices) == {"none", "retracted", "extended", "both"}
    assert set(cylinder.states["lock"].choices) == {"locked", "released"}
    assert cylinder.settings["load"].table


@pytest.mark.parametrize("kind", KINDS.values(), ids=KINDS)
def test_a_leak_has_a_size_and_only_a_leak_has_one(kind: Kind) -> None:
    """The leak's diameter is a setting wherever a leak is a failure mode."""
    leaks = any(fault.endswith("_leak") for fault in kind.faults)
    assert leaks == ("leak_diameter" in kind.settings)
    if leaks:
        # The contract, section 3: "leaks take a leak_diameter (default 0.5 mm)".
        assert kind.settings["leak_diameter"].default == "0.5 mm"


@pytest.mark.parametrize("name", PUMPS)
def test_pumps_can_fail_to_deliver(name: str) -> None:
    """A pump has the failure mode `no_output` and may name its drive."""
    assert "no_output" in KINDS[name].faults
    assert KINDS[name].settings["drive"].optional


@pytest.mark.parametrize("kind", KINDS.values(), ids=KINDS)
def test_each_fault_is_named_once_and_none_is_no_fault(kind: Kind) -> None:
    """Failure modes are distinct; `fault` and `none` are implied."""
    assert len(set(kind.faults)) == len(kind.faults)
    assert "none" not in kind.faults
    assert "fault" not in kind.states


def test_class_letters() -> None:
    """Letters of ISO 1219-2 as the contract gives them: P, A, M, S, V, Z."""
    assert {name for name, kind in KINDS.items() if kind.code == "P"} == {
        *PUMPS,
        "pressure_source",
    }
    assert all(KINDS[name].code == "V" for name in KINDS if "valve" in name)
    assert KINDS["hydraulic_motor"].code == "M"
    assert KINDS["cylinder"].code == "A"
    assert KINDS["reservoir"].code == KINDS["accumulator"].code == "Z"


def test_an_unknown_kind_is_answered_with_the_nearest_names() -> None:
    """A slip of the pen is mended by the nearest names."""
    with pytest.raises(UnknownKind) as caught:
        find_kind("releif_valve")
    assert isinstance(caught.value, KeyError)
    assert "relief_valve" in caught.value.mend
    assert "releif_valve" in str(caught.value)


def test_a_kind_like_no_other_is_answered_with_where_to_look() -> None:
    """Where no name is near, the list of kinds is pointed out."""
    with pytest.raises(UnknownKind, match="standpipe kinds"):
        find_kind("0123456789")


def test_a_known_kind_is_found() -> None:
    """The kind that is found is the catalogue's own."""
    assert find_kind("hand_pump") is KINDS["hand_pump"]


def test_wrong_declarations_are_refused_when_made() -> None:
    """A port off the grid, an unknown dimension, a default that is no choice."""
    with pytest.raises(ValueError, match="not on the grid"):
        Port("A", (0.5, 0), "left")  # type: ignore[arg-type]
    with pytest.raises(ValueError, match="unknown dimension"):
        Setting("Bore", "lenght", "1 mm")
    with pytest.raises(ValueError, match="is not a choice"):
        Setting("Operator", "choice", "crank", choices=("lever",))
    with pytest.raises(ValueError, match="must be optional"):
        Setting("Bore", "length", None)
