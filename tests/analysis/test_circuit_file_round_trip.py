"""Writing circuit files: nothing explicit is lost, nothing absent appears, whole or not at all."""

import json
import os
import stat
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from analysis.circuit import DEFAULT
from analysis.circuit_file import circuit_text, parse_circuit, read_circuit, write_circuit
from analysis.errors import CircuitFileError
from analysis.output_file import write_whole
from analysis.waivers import WAIVABLE
from symbols import KINDS
from tests.support.random_circuits import random_circuit

SAMPLES = sorted((Path(__file__).resolve().parents[2] / "sample_circuits").glob("*.json"))

CONTRACT_EXAMPLE = """{
  "format": "standpipe-circuit", "version": 1,
  "title": {"name": "", "number": "", "revision": "", "drawn_by": "", "checked_by": "", "date": "",
            "notes": ""},
  "sheet": {"size": "A3"},
  "display_units": {"pressure": "psi", "flow": "gal/min", "length": "in", "volume": "in^3",
                    "force": "lbf"},
  "fluid": {"kind": "MIL-PRF-5606", "temperature": "15 degC"},
  "components": [
    {"id": "0P1", "kind": "fixed_pump", "name": "Engine pump", "at": [40, 30], "turn": 0,
     "mirror": false, "settings": {"displacement": "0.75 in^3/rev", "speed": "2000 rpm"},
     "state": {"running": true}, "evidence": {"status": "confirmed", "source": "data plate"}},
    {"id": "0V1", "kind": "filter"}
  ],
  "lines": [
    {"id": "L1", "from": "0P1.outlet", "to": "0V1.inlet", "via": [[44, 26], [60, 26]],
     "role": "pressure", "bore": "0.25 in", "length": "6 ft", "evidence": {"status": "inferred"}}
  ],
  "procedures": [], "requirements": []
}"""


def texts():
    """Words as people write them, odd characters and all."""
    return st.text(st.characters(exclude_categories=["Cs"]), max_size=12)


POINTS = st.tuples(
    st.one_of(st.integers(-500, 500), st.floats(-500, 500)), st.integers(-500, 500)
).map(list)
EVIDENCE = st.fixed_dictionaries(
    {"status": st.sampled_from(["confirmed", "inferred", "assumed", "unknown"])},
    optional={"source": texts()},
)
SAID = texts().filter(str.strip)
WAIVERS = st.lists(
    st.fixed_dictionaries(
        {"rule": st.sampled_from(sorted(WAIVABLE)), "reason": SAID, "by": SAID},
        optional={"date": texts()},
    ),
    max_size=2,
)
COMPONENT_KEYS = {
    "name": texts(),
    "at": st.one_of(st.none(), POINTS),
    "turn": st.sampled_from([0, 90, 180, 270]),
    "mirror": st.booleans(),
    "state": st.just({}),
    "evidence": EVIDENCE,
    "waivers": WAIVERS,
}
VALUES = st.sampled_from(
    ["1000 psi", "1/4 bar", " 2.50  MPa", "1 1/2 psi", None, {"between": ["1 psi", "1.0 psi"]}]
)
COMPONENTS = st.one_of(
    st.fixed_dictionaries(
        {"kind": st.just("relief_valve")},
        optional={
            **COMPONENT_KEYS,
            "settings": st.fixed_dictionaries(
                {}, optional={"override": VALUES, "set_pressure": VALUES}
            ),
        },
    ),
    st.fixed_dictionaries(
        {"kind": st.just("hand_pump")},
        optional={
            **COMPONENT_KEYS,
            "settings": st.fixed_dictionaries(
                {}, optional={"lever_ratio": st.sampled_from([12, 12.0, 12.5, 1e2, "8"])}
            ),
        },
    ),
)
LINES = st.fixed_dictionaries(
    {},
    optional={
        "name": texts(),
        "via": st.lists(POINTS, max_size=3),
        "role": st.sampled_from(["pressure", "return", "suction", "pilot", "drain"]),
        "bore": st.sampled_from(["1/4 in", "6.0 mm", None]),
        "length": st.sampled_from(["6 ft", {"between": ["1 m", "2 m"]}]),
        "state": st.sampled_from([{}, {"fault": "blocked"}, {"fault": "none"}]),
        "evidence": EVIDENCE,
        "waivers": WAIVERS,
    },
)
HEADERS = st.fixed_dictionaries(
    {},
    optional={
        "title": st.fixed_dictionaries({}, optional={"name": texts(), "notes": texts()}),
        "sheet": st.sampled_from([{}, {"size": "A4"}]),
        "display_units": st.sampled_from([{}, {"flow": "imp_gal/min", "pressure": "psi"}]),
        "fluid": st.sampled_from([{}, {"kind": "castor", "temperature": "59 degF"}]),
        "procedures": st.sampled_from([[], [{"name": "a", "steps": [{"at": "0.0 s"}]}]]),
        "requirements": st.just([]),
    },
)


@st.composite
def records(draw):
    """The records of a valid file, with any of the keys there or not."""
    components = draw(st.lists(COMPONENTS, min_size=2, max_size=4))
    components = [{"id": f"1V{i}", **record} for i, record in enumerate(components)]
    ends = {"from": "1V0.outlet", "to": "1V1.inlet"}
    lines = [{"id": f"L{i}", **ends, **r} for i, r in enumerate(draw(st.lists(LINES, max_size=3)))]
    head = {"format": "standpipe-circuit", "version": 1}
    return {**head, **draw(HEADERS), "components": components, "lines": lines}


@settings(max_examples=150, deadline=None)
@given(records())
def test_every_value_and_every_key_comes_back(raw):
    """Reading and writing gives the same JSON value: type for type and key for key."""
    text = circuit_text(parse_circuit(json.dumps(raw)))
    assert typed(json.loads(text)) == typed(raw)
    assert circuit_text(parse_circuit(text)) == text


def typed(value):
    """The value with the type of each number, so that 40 is not 40.0; order of keys is left out,
    but that of settings and states is not."""
    if isinstance(value, dict):
        pairs = {key: typed(item) for key, item in value.items()}
        for key in ("settings", "state"):
            if key in pairs:
                pairs[key] = list(pairs[key].items())
        return pairs
    if isinstance(value, list):
        return [typed(item) for item in value]
    return type(value).__name__, value


@settings(max_examples=60, deadline=None)
@given(st.integers(0, 10**6))
def test_random_circuits_come_back_as_they_were(seed):
    """A circuit that was built, not read, is written, read and written the same."""
    circuit = random_circuit(seed, most=25)
    text = circuit_text(circuit)
    again = parse_circuit(text)
    assert circuit_text(again) == text
    assert again.components.keys() == circuit.components.keys()
    for identifier, component in circuit.components.items():
        assert again.components[identifier].settings == component.settings
        assert again.components[identifier].state == component.state
    for identifier, line in circuit.lines.items():
        twin = again.lines[identifier]
        assert (twin.start, twin.end, twin.settings) == (line.start, line.end, line.settings)


@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.name)
def test_samples_are_written_byte_for_byte(path, tmp_path):
    """Opening and saving a sample changes nothing."""
    copy = tmp_path / path.name
    write_circuit(read_circuit(path), copy)
    assert copy.read_bytes() == path.read_bytes()


def test_every_kind_is_written_and_read():
    """A component of each kind with every default written out comes back."""
    for kind in KINDS.values():
        written = {n: s.default for n, s in kind.settings.items() if s.default is not None}
        states = {n: s.default for n, s in kind.states.items() if s.default is not None}
        record = {"id": "1X1", "kind": kind.name, "settings": written, "state": states}
        raw = {"format": "standpipe-circuit", "version": 1, "components": [record], "lines": []}
        text = circuit_text(parse_circuit(json.dumps(raw)))
        assert typed(json.loads(text)) == typed(raw)


def test_the_contract_s_example_is_read_and_keeps_every_key():
    """Keys that hold a default stay, since they stood there."""
    text = circuit_text(parse_circuit(CONTRACT_EXAMPLE))
    assert json.loads(text) == json.loads(CONTRACT_EXAMPLE)
    assert list(json.loads(text)) == list(json.loads(CONTRACT_EXAMPLE))
    assert text.endswith("\n}\n")
    assert '  "sheet": {"size": "A3"},\n' in text
    assert all(len(line) <= 110 for line in text.splitlines())


def test_one_changed_value_is_one_changed_line():
    """A diff shows what was changed and nothing else."""
    circuit = read_circuit(SAMPLES[1])
    before = circuit_text(circuit).splitlines()
    line = next(iter(circuit.lines))
    circuit.set_value(line, "length", "123 mm")
    after = circuit_text(circuit).splitlines()
    assert len(before) == len(after)
    assert sum(a != b for a, b in zip(before, after, strict=True)) == 1
    circuit.set_value(line, "length", DEFAULT)
    assert "123 mm" not in circuit_text(circuit)


# -- whole or not at all -----------------------------------------------------------------


def test_an_existing_file_keeps_its_permissions_and_its_link(tmp_path):
    """The file behind a link is replaced, and who may read it stays."""
    real, link = tmp_path / "real.json", tmp_path / "link.json"
    real.write_bytes(b"old")
    real.chmod(0o640)
    link.symlink_to(real)
    write_whole(link, b"new")
    assert real.read_bytes() == b"new"
    assert link.is_symlink()
    assert stat.S_IMODE(real.stat().st_mode) == 0o640


def test_a_new_file_has_the_usual_permissions(tmp_path):
    """As `open` would give them, and not those of a temporary file."""
    mask = os.umask(0o027)
    try:
        write_whole(tmp_path / "new", b"x")
    finally:
        os.umask(mask)
    assert stat.S_IMODE((tmp_path / "new").stat().st_mode) == 0o640


@pytest.mark.parametrize("failing", ["fsync", "replace", "chmod"])
@pytest.mark.parametrize("error", [OSError(28, "No space left on device"), KeyboardInterrupt()])
def test_a_failed_write_leaves_the_old_file_and_nothing_else(tmp_path, monkeypatch, failing, error):
    """A full disk or Ctrl-C at any moment: the old file is whole, and no other is there."""
    target = tmp_path / "press.circuit.json"
    target.write_bytes(b"old")

    def fail(*_arguments):
        raise error

    monkeypatch.setattr(os, failing, fail)
    with pytest.raises((CircuitFileError, KeyboardInterrupt)):
        write_whole(target, b"new")
    assert target.read_bytes() == b"old"
    assert os.listdir(tmp_path) == ["press.circuit.json"]


def test_a_full_device_is_told_in_one_line():
    """What is no plain file is written to directly; /dev/full refuses every byte."""
    with pytest.raises(CircuitFileError) as caught:
        write_whole("/dev/full", b"x")
    assert "no space left" in str(caught.value)
    assert stat.S_ISCHR(os.stat("/dev/full").st_mode)


@pytest.mark.parametrize("name", ["missing/new.json", "folder", "nul\0name"])
def test_a_place_that_cannot_be_written_is_told_in_one_line(tmp_path, name):
    """Missing folders, folders, impossible names."""
    (tmp_path / "folder").mkdir()
    with pytest.raises(CircuitFileError, match="cannot be written"):
        write_whole(f"{tmp_path}/{name}", b"x")
    assert os.listdir(tmp_path) == ["folder"]
    assert os.listdir(tmp_path / "folder") == []


def test_half_a_character_does_not_stop_a_save(tmp_path):
    """It cannot be written in UTF-8; everything else still is."""
    circuit = random_circuit(1, most=6)
    circuit.set_field("", "title", {"name": "a\ud800b"})
    write_circuit(circuit, tmp_path / "x.circuit.json")
    assert read_circuit(tmp_path / "x.circuit.json").title == {"name": "a?b"}
