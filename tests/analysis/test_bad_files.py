"""Bad circuit files: each is refused in one line that names the place and the mend."""

from __future__ import annotations

import copy
import json
from typing import Any

import pytest

from analysis.circuit_file import circuit_text, parse_circuit, read_circuit
from analysis.errors import CircuitFileError

GOOD: dict[str, Any] = {
    "format": "standpipe-circuit",
    "version": 1,
    "title": {"name": "Jack"},
    "display_units": {"pressure": "psi"},
    "fluid": {"kind": "MIL-PRF-5606", "temperature": "15 degC"},
    "components": [
        {"id": "0Z1", "kind": "reservoir", "at": [10, 40]},
        {"id": "0P1", "kind": "compensated_pump", "settings": {"speed": "2000 rpm"}},
        {
            "id": "1V1",
            "kind": "valve_4_2",
            "labels": {"left": "UP", "right": "DOWN"},
            "state": {"position": "UP"},
        },
        {"id": "1A1", "kind": "cylinder", "settings": {"bore": "2 in", "rod_diameter": "1 in"}},
        {"id": "0V1", "kind": "unloading_valve"},
    ],
    "lines": [
        {"id": "L1", "from": "0Z1.supply", "to": "0P1.inlet", "role": "suction"},
        {"id": "L2", "from": "0P1.outlet", "to": "1V1.P", "via": [[4, 5]], "bore": "1/4 in"},
        {"id": "L3", "from": "1V1.A", "to": "1A1.cap"},
    ],
    "procedures": [
        {
            "name": "Lift",
            "start": {"1A1": {"extension": "0 in"}},
            "steps": [{"at": "0 s", "set": {"1V1": {"position": "DOWN"}}}],
            "expect": [{"by": "5 s", "signal": "1A1.extension", "at_least": "1 in"}],
        }
    ],
    "requirements": [{"name": "Feeds", "kind": "reaches", "from": ["0P1"], "targets": ["1A1.cap"]}],
}


def changed(path: str, value: Any) -> str:
    """The good file's text with the value at a path such as `components/3/id` replaced."""
    record = copy.deepcopy(GOOD)
    *way, last = [int(key) if key.isdigit() else key for key in path.split("/")]
    target: Any = record
    for key in way:
        target = target[key]
    target[last] = value
    return json.dumps(record)


BAD_VALUES: list[tuple[str, Any, str, str]] = [
    # path, value, place in the message, word of the message
    ("components/3/settings/bore", "2 inchez", "components[3].settings.bore", "inchez"),
    ("components/3/settings/bore", "2 psi", "components[3].settings.bore", "not a length"),
    ("components/3/settings/bore", 2, "components[3].settings.bore", "no unit"),
    ("components/3/settings/bore", "-2 in", "components[3].settings.bore", "greater than zero"),
    ("components/3/settings/bore", "0 in", "components[3].settings.bore", "greater than zero"),
    ("components/3/settings/bore", "nan in", "components[3].settings.bore", "quantity"),
    ("components/3/settings/bore", "1e999 in", "components[3].settings.bore", "out of range"),
    ("components/3/settings/bore", True, "components[3].settings.bore", "quantity"),
    (
        "components/3/settings/bore",
        {"between": ["3 in", "2 in"]},
        "components[3].settings.bore",
        "lower value first",
    ),
    ("components/3/settings/bore", {"from": "1 in"}, "components[3].settings.bore", "between"),
    ("components/3/settings/rod_diameter", "2 in", "components[3].settings.rod", "bore"),
    ("components/3/settings/rod_diameter", "60 mm", "components[3].settings.rod", "bore"),
    ("components/3/settings/boer", "2 in", "components[3].settings.boer", "bore"),
    ("components/3/settings/load", [["0 in"]], "components[3].settings.load[0]", "position"),
    (
        "components/1/settings",
        {"cutoff_pressure": "9 psi", "knee_pressure": "10 psi"},
        "components[1].settings.knee",
        "cutoff",
    ),
    (
        "components/4/settings",
        {"cut_in_pressure": "9000 psi", "cut_out_pressure": "900 psi"},
        "components[4].settings.cut_in",
        "",
    ),
    ("components/3/kind", "cilinder", "components[3].kind", "cylinder"),
    ("components/3/kind", 3, "components[3].kind", "text"),
    ("components/3/colour", "red", "components[3]", "'colour'"),
    ("components/3/id", "0P1", "components[3].id", "taken"),
    ("components/3/id", "", "components[3].id", "no id"),
    ("components/3/id", "a.b", "components[3].id", "no id"),
    ("components/3/turn", 45, "components[3].turn", "270"),
    ("components/3/mirror", "no", "components[3].mirror", "true or false"),
    ("components/3/at", [1], "components[3].at", ""),
    ("components/3/at", [1, "2"], "components[3].at", "number"),
    ("components/3/evidence", {"status": "sure"}, "components[3].evidence.status", "confirmed"),
    ("components/3/state", {"fault": "bent"}, "components[3].state.fault", "none"),
    ("components/3/state", {"open": True}, "components[3].state.open", "extension"),
    ("components/2/state/position", "UPP", "components[2].state.position", "UP, DOWN"),
    ("components/2/labels/middle", "OFF", "components[2].labels.middle", "left, right"),
    ("components/2/labels/left", "DOWN", "components[2].labels.left", "its own"),
    ("components/2/labels/left", "right", "components[2].labels.left", "its own"),
    ("components/2/evidence", {"status": "assumed", "kind": "x"}, "components[2].evidence", "out"),
    ("components", None, "components", "list"),
    ("lines/1/id", "L1", "lines[1].id", "taken"),
    ("lines/1/id", "0P1", "lines[1].id", "taken"),
    ("lines/1/to", "9V9.P", "lines[1].to", "9V9"),
    ("lines/1/to", "1V1.Q", "lines[1].to", "P, T, A, B"),
    ("lines/1/to", "1V1", "lines[1].to", "names no port; write it like 1V1."),
    ("lines/1/to", "0P1.outlet", "lines[1].to", "itself"),
    ("lines/1/role", "water", "lines[1].role", "suction"),
    ("lines/1/bore", "0 in", "lines[1].bore", "greater than zero"),
    ("lines/1/bore", 0.25, "lines[1].bore", "no unit"),
    ("lines/1/length", "3 psi", "lines[1].length", "not a length"),
    ("lines/1/diameter", "3 in", "lines[1]", "'diameter'"),
    ("lines/1/via", [[1, 2, 3]], "lines[1].via[0]", ""),
    ("lines/1/state", {"fault": "bent"}, "lines[1].state.fault", "ruptured"),
    ("version", 2, "version", "newer"),
    ("version", 0, "version", "1"),
    ("version", "1", "version", "number"),
    ("version", True, "version", "number"),
    ("format", "something", "format", "standpipe-circuit"),
    ("sheet", {"size": "B7"}, "sheet.size", "A3"),
    ("titel", {}, "", "'titel'"),
    ("display_units/pressure", "in", "display_units.pressure", "pressure"),
    ("display_units/colour", "red", "display_units.colour", "dimension"),
    ("fluid/temperature", "400 degC", "fluid.temperature", "150"),
    ("fluid/temperature", 15, "fluid.temperature", "text"),
    ("requirements/0/targets", ["1A1.tail"], "requirements[0].targets[0]", "cap, rod"),
    ("requirements/0/kind", "touches", "requirements[0].kind", "reaches_only"),
    ("requirements/0/set", {"1V1": {"position": "IN"}}, "requirements[0].set.1V1.position", "UP"),
    ("requirements/0/targets", [], "requirements[0]", "targets"),
    ("procedures/0/start", {"1A1": {"extension": 0}}, "procedures[0].start.1A1.extension", "unit"),
    ("procedures/0/steps/0/at", "5 psi", "procedures[0].steps[0]", "time"),
    ("procedures/0/steps/0/at", "-1 s", "procedures[0].steps[0].at", ""),
    ("procedures/0/steps/0/wait", "1 s", "procedures[0].steps[0].wait", "after"),
    ("procedures/0/expect/0/signal", "1A1.colour", "procedures[0].expect[0]", "1A1.colour"),
    ("procedures/0/expect/0/at_least", 1.5, "procedures[0].expect[0]", "no unit"),
    ("procedures/0/expect/0/at_least", "1 psi", "procedures[0].expect[0]", "length"),
    ("procedures/0/expect/0/throughout", True, "procedures[0].expect[0]", "by"),
]


def refusal(data: bytes | str) -> str:
    """The one line with which a text is refused."""
    with pytest.raises(CircuitFileError) as caught:
        parse_circuit(data)
    message = str(caught.value)
    assert message.isprintable(), "one line, without characters that steer a terminal"
    return message


def test_the_good_file_is_read() -> None:
    """What the bad files are made of is good itself, or they would prove nothing."""
    assert list(parse_circuit(json.dumps(GOOD)).components) == ["0Z1", "0P1", "1V1", "1A1", "0V1"]


@pytest.mark.parametrize(("path", "value", "place", "word"), BAD_VALUES)
def test_a_bad_value_is_refused_at_its_place(path: str, value: Any, place: str, word: str) -> None:
    """The message begins with the place and holds the word that mends it."""
    message = refusal(changed(path, value))
    assert message.startswith(place), message
    assert word in message, message


@pytest.mark.parametrize(("owner", "key"), [("", "components"), ("", "lines"), ("", "version")])
def test_a_missing_key_is_named(owner: str, key: str) -> None:
    """What is obligatory is asked for by name."""
    record = {name: value for name, value in GOOD.items() if name != key}
    assert key in refusal(json.dumps(record))


@pytest.mark.parametrize("key", ["id", "kind"])
def test_a_component_needs_id_and_kind(key: str) -> None:
    """The message names the component by its number and the key."""
    record = copy.deepcopy(GOOD)
    del record["components"][2][key]
    message = refusal(json.dumps(record))
    assert message.startswith("components[2]") and f"'{key}'" in message


BAD_TEXTS = [
    ("", "not JSON"),
    ("{", "line 1, column 2"),
    ('{"a": 1,\n "b" 2}', "line 2, column 6"),
    ("[]", "standpipe-circuit"),
    ("null", "standpipe-circuit"),
    ("[" * 100_000, "nested"),
    ('{"a":' * 100_000, "nested"),
    ("[" * 100_000 + "]" * 100_000, "nested"),
    ('{"format": "standpipe-circuit", "version": NaN}', "NaN"),
    ('{"format": "standpipe-circuit", "version": -Infinity}', "Infinity"),
    ('{"format": "standpipe-circuit", "version": 1e999}', "1e999"),
    ('{"format": "standpipe-circuit", "version": ' + "9" * 5000 + "}", ""),
    ('{"format": "standpipe-circuit", "format": "x", "version": 1}', "'format'"),
    (changed("title/name", "X").replace('"X"', '"\\ud800"'), "ud800"),
    (changed("components/3/at", [1, 2]).replace("[1, 2]", "[1e400, 2]"), "1e400"),
    (changed("components/3/at", [10**300, 2]), "components[3].at"),
    (changed("lines/1/via", [[1, -(10**9)]]), "lines[1].via[0]"),
]


@pytest.mark.parametrize(("text", "word"), BAD_TEXTS, ids=range(len(BAD_TEXTS)))
def test_a_text_that_is_no_circuit_is_refused(text: str, word: str) -> None:
    """Broken JSON, numbers that are none, nesting without end: one line each."""
    assert word in refusal(text)


@pytest.mark.parametrize("data", [b"\xff\xfe{}", b'{"a": "\xe4"}', b"\x00" * 100])
def test_bytes_that_are_no_utf_8_text_are_refused(data: bytes) -> None:
    """Another encoding or a binary file is said to be one."""
    refusal(data)


def test_a_file_of_50_megabytes_is_refused_at_once(tmp_path) -> None:
    """The size is looked at before anything is read in."""
    path = tmp_path / "large.circuit.json"
    with path.open("wb") as stream:
        stream.truncate(50_000_000)
    with pytest.raises(CircuitFileError, match=r"large\.circuit\.json: is larger than 16 MiB"):
        read_circuit(path)


def test_many_keys_are_read_in_reasonable_time() -> None:
    """A key that stands twice among a hundred thousand is found without comparing all pairs."""
    keys = ", ".join(f'"k{n}": 0' for n in range(100_000))
    assert "'k99999'" in refusal(f'{{{keys}, "k99999": 1}}')


def test_a_byte_order_mark_is_tolerated() -> None:
    """Some editors put one before the text (contract, section 2)."""
    text = json.dumps(GOOD)
    plain = circuit_text(parse_circuit(text))
    assert circuit_text(parse_circuit(b"\xef\xbb\xbf" + text.encode())) == plain
    assert circuit_text(parse_circuit("\ufeff" + text)) == plain
