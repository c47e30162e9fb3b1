"""A network laid with what is kept of earlier ones is that laid from nothing, to the last bit."""

from contextlib import suppress
from pathlib import Path
from random import Random

import numpy as np
import pytest

from analysis import read_circuit
from analysis.air_locks import find_air_locked
from analysis.assemble import assemble
from analysis.begin_pressures import find_begin
from analysis.circuit import DEFAULT, LINE_FAULTS
from analysis.failure_modes import find_failures, with_failure
from analysis.laid_parts import _lay_run
from analysis.liquids import LIQUIDS
from analysis.resolved import resolve_element
from analysis.values import QuantityError
from tests.support.kept import forget
from tests.support.random_circuits import random_circuit

SAMPLES = sorted((Path(__file__).parents[2] / "sample_circuits").glob("*.circuit.json"))
NUMBERS = {"length": "7 mm", "pressure": "33 bar", "flow": "5 L/min", "force": "777 N"}


def arrays_of(network):
    """All arrays of a network, by name."""
    tables = {f"table of {family}": table for family, table in network.parameters.items()}
    return {
        "node": network.node, "weight": network.weight, "free": network.free,
        "is_fixed": network.is_fixed, "fixed_pressure": network.fixed_pressure, **tables,
    }  # fmt: skip


def words_of(assembly):
    """All that leads from a network back to the circuit, in words."""
    net = assembly.builder
    parts = [
        (p.id, p.kind, p.settings, p.state, p.fault, sorted(p.written), p.ports, p.taps, p.branches)
        for p in assembly.parts.values()
    ]
    return repr((
        net.nodes, net.count, net.fixed, net.conflicts, net.disputes, net.holders, net.terms,
        net.rows, net.devices, net.dynamic, assembly.lines, sorted(assembly.open_ends), parts,
        assembly.liquid,
    ))  # fmt: skip


def assert_same(kept, fresh):
    """Two assemblies are alike, and neither has parts of the other."""
    assert words_of(kept) == words_of(fresh)
    wanted = arrays_of(fresh.network)
    for name, array in arrays_of(kept.network).items():
        assert array.tobytes() == wanted[name].tobytes(), name
        assert (array.shape, array.dtype) == (wanted[name].shape, wanted[name].dtype)
        assert array.flags.c_contiguous
    for part in kept.parts.values():
        assert part.net is kept.builder


def states_of(circuit, random):
    """States as a circuit over time has them, somewhere on their way."""
    states = {}
    for component in circuit.components.values():
        values = resolve_element(component)
        own = {n: v for n, v in values.state.items() if n in ("extension", "fluid_volume")}
        if "volume" in values.state:
            own["volume"] = random.random() * values.state["volume"]
            own["uncovered"] = random.choice(((), ("standpipe",), ("supply", "standpipe")))
        if component.kind == "hydraulic_fuse":
            own["closed"] = random.random() < 0.5
        for name in ("extension", "fluid_volume"):
            if name in own:
                own[name] *= random.choice((0.0, 1.0, random.random()))
        if own:
            states[component.id] = own
    return states


def edit(circuit, random):
    """Change one thing, whatever it is."""
    element = random.choice(list(circuit.elements()))
    change = random.choice(("setting", "state", "fault", "place", "fluid", "rename", "remove"))
    if change == "setting" and element.kind != "line":
        names = [n for n, s in element.declared.settings.items() if s.dimension in NUMBERS]
        if names:
            name = random.choice(names)
            value = NUMBERS[element.setting_of(name).dimension]
            _try(circuit, element.id, name, random.choice((value, DEFAULT)))
    elif change == "setting":
        name = random.choice(("bore", "length", "roughness", "leak_diameter"))
        value = random.choice(("4 mm", "11 mm", DEFAULT))
        _try(circuit, element.id, name, value)
    elif change == "state" and element.kind != "line":
        for name, state in element.declared.states.items():
            if state.choices:
                _try(circuit, element.id, name, random.choice(state.choices), state=True)
            elif state.dimension == "flag":
                _try(circuit, element.id, name, random.random() < 0.5, state=True)
    elif change == "fault":
        modes = LINE_FAULTS if element.kind == "line" else element.declared.faults
        _try(circuit, element.id, "fault", random.choice(("none", *modes)), state=True)
    elif change == "place":
        circuit.set_field("", "display_units", {"pressure": random.choice(("bar", "psi"))})
        if element.kind == "line":
            port = random.choice(list(circuit.ports()))
            if port != element.end:
                circuit.set_field(element.id, "start", port)
        else:
            circuit.set_field(element.id, "turn", random.choice((0, 90, 180, 270)))
    elif change == "fluid":
        degrees = random.choice((-20, 15, 60))
        kind = random.choice(list(LIQUIDS))
        circuit.set_field("", "fluid", {"kind": kind, "temperature": f"{degrees} degC"})
    elif change == "rename":
        circuit.rename(element.id, circuit.new_id("restrictor", 9))
    elif change == "remove" and len(circuit.components) > 3:
        circuit.remove(element.id)


def _try(circuit, *what, **more):
    # where the value does not go with another, that stays as it is
    with suppress(QuantityError):
        circuit.set_value(*what, **more)


@pytest.mark.parametrize("seed", range(30))
def test_after_any_edit_the_network_is_that_of_a_fresh_start(seed):
    """Levers, settings, faults, names, the fluid and its temperature: nothing is overlooked."""
    random = Random(seed)
    circuit = random_circuit(seed, most=30) if seed % 3 else read_circuit(SAMPLES[seed // 3 % 5])
    for _ in range(12):
        edit(circuit, random)
        states = random.choice((None, states_of(circuit, random)))
        kept = assemble(circuit, states)
        locked = find_air_locked(circuit, states)
        forget()
        twin = circuit.copy()
        for element in twin.elements():
            element.resolved = None
        assert_same(kept, assemble(twin, states))
        assert locked == find_air_locked(twin, states)
        # this time all of it is kept
        assert_same(assemble(circuit, states), kept)


def test_a_meter_that_is_blocked_parts_its_ports():
    """Its lines are as they were; and joined again once it is whole."""
    circuit = random_circuit(4, most=12)
    circuit.add("flow_meter", id="7M1")
    apart = []
    for fault in ("none", "blocked", "none"):
        circuit.set_value("7M1", "fault", fault, state=True)
        kept = assemble(circuit)
        forget()
        assert_same(kept, assemble(circuit))
        assemble(circuit)
        apart.append(kept.node("7M1.A") != kept.node("7M1.B"))
    assert apart == [False, True, False]


def test_a_roller_that_is_tripped_is_laid_anew():
    """Nothing about the valve itself is written otherwise: its cylinder stands elsewhere."""
    circuit = random_circuit(4, most=12)
    circuit.add("cylinder", id="7A1", stroke="100 mm")
    circuit.add("valve_3_2", id="7V1", operator="roller", tripped_by="7A1", trips_at="60 mm")
    laid = []
    for extension in (0.0, 0.08, 0.02):
        states = states_of(circuit, Random(0)) | {"7A1": {"extension": extension}}
        kept = assemble(circuit, states)
        forget()
        assert_same(kept, assemble(circuit, states))
        laid.append(set(kept.parts["7V1"].branches))
    assert laid[0] == laid[2] != laid[1]


@pytest.mark.parametrize("sample", SAMPLES, ids=lambda path: path.name.partition(".")[0])
def test_one_failure_after_another_begins_as_from_nothing(sample):
    """Each failure shares all other elements, and what is kept, with those before it."""
    circuit = read_circuit(sample)
    find_begin(circuit)
    for failure in find_failures(circuit)[::9]:
        kept = find_begin(with_failure(circuit, failure, shared=True))
        forget()
        assert kept == find_begin(with_failure(circuit, failure)), failure
        find_begin(circuit)


def test_one_part_changed_lays_few_runs_anew():
    """Its own, and those after it that its branches push on; a lever put back, none at all."""
    circuit = read_circuit(next(path for path in SAMPLES if "emergency" in path.name))
    forget()
    assemble(circuit)
    runs = _lay_run.cache_info().misses
    assert runs > 5
    circuit.set_value("2P1", "fault", "no_output", state=True)
    assemble(circuit)
    anew = _lay_run.cache_info().misses - runs
    assert 0 < anew < runs
    circuit.set_value("2P1", "fault", "none", state=True)
    circuit.set_value("2P1", "rate", "11 1/min")
    runs = _lay_run.cache_info().misses
    assemble(circuit)
    assert _lay_run.cache_info().misses == runs + 1


def test_devices_of_two_networks_are_their_own():
    """A lock or valve that changes over in one network stands as before in the next."""
    circuit = read_circuit(next(path for path in SAMPLES if "emergency" in path.name))
    first = assemble(circuit)
    for device in first.builder.devices:
        vars(device).update(open=True, position=2, held=False)
    first.network.parameters["pipe"][:] = np.nan
    second = assemble(circuit)
    forget()
    assert_same(second, assemble(circuit))


def test_states_over_time_of_two_networks_are_their_own():
    """Where a member has got to in one network is nothing to the next that begins alike."""
    circuit = read_circuit(next(path for path in SAMPLES if "emergency" in path.name))
    states = states_of(circuit, Random(1))
    first = assemble(circuit, states)
    moved = [part for part in first.parts.values() if part.id in states]
    for part in moved:
        part.state.update(extension=-1.0, volume=-1.0)
    runs = _lay_run.cache_info().misses
    second = assemble(circuit, states)
    assert len(moved) > 5
    assert _lay_run.cache_info().misses == runs
    forget()
    assert_same(second, assemble(circuit, states))


def test_elements_written_alike_share_their_values():
    """After a change that is taken back too; not those that are nearly written alike."""
    circuit = read_circuit(SAMPLES[0])
    component = next(c for c in circuit.components.values() if c.kind == "reservoir")
    first = resolve_element(component)
    circuit.set_value(component.id, "volume", "0.5 L", state=True)
    other = resolve_element(component)
    assert other is not first
    assert other.state["volume"] == pytest.approx(5e-4)
    twin = circuit.copy()
    circuit.set_value(component.id, "volume", "0.25 L", state=True)
    circuit.set_value(component.id, "volume", "0.5 L", state=True)
    assert resolve_element(component) is other
    twin.components[component.id].resolved = None
    assert resolve_element(twin.components[component.id]) is other
    valve = circuit.add("adjustable_restrictor", id="9V1", opening=1)
    whole = resolve_element(valve)
    circuit.set_value("9V1", "opening", 1.0, state=True)
    assert resolve_element(valve) is not whole
