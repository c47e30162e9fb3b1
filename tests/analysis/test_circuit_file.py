"""Reading circuit files: what is wrong is refused in one line that names place and mend.

The places and the mends follow the project's contract of the file format; JSON is RFC 8259,
and so are its traps: duplicate keys (section 4), NaN (section 6), depth (section 9), byte-order
marks and UTF-8 (section 8.1), halves of surrogate pairs (section 8.2).
"""

import copy
import json

import pytest

from analysis.circuit_file import parse_circuit, read_circuit
from analysis.errors import CircuitFileError

PUMP = {"id": "0P1", "kind": "fixed_pump", "settings": {"speed": "2000 rpm"}}
CYLINDER = {
    "id": "1A1",
    "kind": "cylinder",
    "settings": {"bore": "2 in", "rod_diameter": "1 in"},
    "state": {"lock": "locked"},
}
VALVE = {"id": "1V1", "kind": "valve_4_3", "labels": {"left": "UP", "right": "DOWN"}}
PLAIN = {
    "format": "standpipe-circuit",
    "version": 1,
    "components": [PUMP, CYLINDER, VALVE],
    "lines": [
        {"id": "L1", "from": "0P1.outlet", "to": "1V1.P", "bore": "0.25 in", "length": "6 ft"},
        {"id": "L2", "from": "1V1.A", "to": "1A1.cap"},
    ],
    "procedures": [
        {
            "name": "Lower",
            "start": {"1A1": {"extension": "0 in"}},
            "steps": [
                {"at": "0 s", "set": {"1V1": {"position": "DOWN"}, "L1": {"fault": "blocked"}}},
                {"after": {"signal": "1A1.extension", "at_least": "1 in"}, "wait": "3 s"},
            ],
            "expect": [{"by": "60 s", "signal": "1A1.lock", "is": "locked"}],
        }
    ],
    "requirements": [
        {
            "name": "Pump reaches",
            "kind": "reaches",
            "from": ["0P1"],
            "set": {"1V1": {"position": "UP"}},
            "targets": ["1A1.cap", "1A1.rod"],
        }
    ],
}


def text_with(path, value):
    """The plain file with one value put somewhere; `...` takes it away."""
    raw = copy.deepcopy(PLAIN)
    *way, last = path
    target = raw
    for step in way:
        target = target.setdefault(step, {}) if isinstance(target, dict) else target[step]
    if value is ...:
        del target[last]
    elif isinstance(target, list) and last == len(target):
        target.append(value)
    else:
        target[last] = value
    return json.dumps(raw)


def refusal(data):
    """The error of reading; it is one line."""
    with pytest.raises(CircuitFileError) as caught:
        parse_circuit(data)
    assert len(str(caught.value).splitlines()) == 1
    return caught.value


def test_the_plain_file_is_read():
    """The file that all the wrong ones are made from is right."""
    circuit = parse_circuit(json.dumps(PLAIN))
    assert list(circuit.components) == ["0P1", "1A1", "1V1"]
    assert circuit.lines["L1"].settings == {"bore": "0.25 in", "length": "6 ft"}
    assert circuit.components["1A1"].state == {"lock": "locked"}


C0, C1, C2 = ("components", 0), ("components", 1), ("components", 2)
L0, P0, R0 = ("lines", 0), ("procedures", 0), ("requirements", 0)
WAIVER = {"rule": "no_filter", "reason": "as the maker drew it", "by": "A. Fitter"}

WRONG = [
    # path, value, place named, words of the message
    ((*C0, "settings", "speed"), "2000 psi", "components[0].settings.speed", "rpm"),
    ((*C0, "settings", "speed"), 2000, "components[0].settings.speed", "no unit"),
    ((*C0, "settings", "speed"), "2000", "components[0].settings.speed", "no unit"),
    ((*C0, "settings", "speed"), "fast", "components[0].settings.speed", "not a quantity"),
    ((*C0, "settings", "speed"), True, "components[0].settings.speed", "not a quantity"),
    ((*C0, "settings", "speed"), "-5 rpm", "components[0].settings.speed", "greater than zero"),
    ((*C0, "settings", "sped"), "2 rpm", "components[0].settings.sped", "no setting 'sped'"),
    ((*C0, "state", "on"), True, "components[0].state.on", "running"),
    ((*C0, "state", "running"), "yes", "components[0].state.running", "true or false"),
    ((*C0, "state", "running"), None, "components[0].state.running", "leave it out"),
    ((*C0, "state", "fault"), "stuck", "components[0].state.fault", "no_output"),
    ((*C0, "kind"), "fixed_pmp", "components[0].kind", "fixed_pump"),
    ((*C0, "id"), "1A1", "components[1].id", "taken"),
    ((*C0, "id"), "0 P1", "components[0].id", "letters, digits"),
    ((*C0, "id"), "0P1\n", "components[0].id", "letters, digits"),
    ((*C0, "id"), 7, "components[0].id", "text"),
    ((*C0, "id"), ..., "components[0]", "needs the key 'id'"),
    ((*C0, "setings"), {}, "components[0]", "did you mean 'settings'?"),
    ((*C0, "turn"), 45, "components[0].turn", "0, 90, 180 or 270"),
    ((*C0, "mirror"), "no", "components[0].mirror", "true or false"),
    ((*C0, "at"), [1], "components[0].at", "length 2"),
    ((*C0, "at"), [1, "2"], "components[0].at", "a number"),
    ((*C0, "at"), [1e9, 2], "components[0].at", "off any sheet"),
    ((*C0, "at"), [10**400, 2], "components[0].at", "off any sheet"),
    ((*C0, "labels"), {"left": "UP"}, "components[0].labels.left", "no positions"),
    ((*C0, "evidence"), {"status": "sure"}, "components[0].evidence.status", "inferred"),
    ((*C0, "waivers"), [{"rule": "no_filter"}], "components[0].waivers", "needs the key"),
    ((*C0, "waivers"), [WAIVER, {**WAIVER, "rule": "no_filtr"}], "waivers[1].rule", "'no_filter'?"),
    ((*C0, "waivers"), [{**WAIVER, "rule": "x"}], "waivers[0].rule", "take the waiver out"),
    (
        (*C0, "waivers"),
        [{**WAIVER, "reason": "\t "}],
        "components[0].waivers[0].reason",
        "a reason",
    ),
    ((*L0, "waivers"), [{**WAIVER, "by": ""}], "lines[0].waivers[0].by", "the name"),
    ((*L0, "waivers"), [{**WAIVER, "day": ""}], "lines[0].waivers", "'day' is not known"),
    (
        (*C1, "settings", "bore"),
        {"between": ["2 in", "1 in"]},
        "components[1].settings.bore",
        "low",
    ),
    ((*C1, "settings", "bore"), {"from": "1 in"}, "components[1].settings.bore", "between"),
    ((*C1, "settings", "bore"), "0 in", "components[1].settings.bore", "greater than zero"),
    ((*C1, "settings", "rod_diameter"), "2 in", "components[1].settings.rod_diameter", "bore"),
    ((*C1, "settings", "rod_diameter"), "51 mm", "components[1].settings.rod_diameter", "bore"),
    ((*C1, "settings", "load"), [["2 in", "5 N"], ["1 in", "5 N"]], "settings.load", "rising"),
    ((*C1, "settings", "stroke"), [["2 in", "5 N"]], "settings.stroke", "one value"),
    ((*C2, "state", "position"), "AWAY", "components[2].state.position", "UP, centre, DOWN"),
    ((*C2, "labels", "middle"), "OFF", "components[2].labels.middle", "left, centre, right"),
    ((*L0, "to"), "0P1.outlet", "lines[0].to", "itself"),
    ((*L0, "to"), "9V9.P", "lines[0].to", "names no component"),
    ((*L0, "to"), "1V1.X", "lines[0].to", "P, T, A, B"),
    ((*L0, "from"), "0P1", "lines[0].from", "like 0P1.inlet"),
    ((*L0, "id"), "0P1", "lines[0].id", "taken"),
    ((*L0, "bore"), "-1 in", "lines[0].bore", "greater than zero"),
    ((*L0, "role"), "vent", "lines[0].role", "suction"),
    ((*L0, "via"), [[1, 2], [3, 1e7]], "lines[0].via[1]", "off any sheet"),
    ((*L0, "state"), {"fault": "no_output"}, "lines[0].state.fault", "ruptured"),
    (("title", "author"), "me", "title", "'author' is not known"),
    (("sheet", "size"), "B4", "sheet.size", "A4, A3, A2, A1 or A0"),
    (("display_units", "presure"), "psi", "display_units.presure", "no dimension"),
    (("display_units", "pressure"), "gal", "display_units.pressure", "not a unit of pressure"),
    (("display_units", "pressure"), "furlong", "display_units.pressure", "not a known unit"),
    (("fluid", "temperature"), "15 psi", "fluid.temperature", "temperature"),
    (("fluid", "temperature"), "900 degC", "fluid.temperature", "150 degC or less"),
    (("format",), "other", "format", "no circuit file"),
    (("version",), ..., "version", "whole number"),
    (("version",), 2, "version", "newer Standpipe"),
    (("version",), True, "version", "whole number"),
    (("components",), ..., "", "needs the key 'components'"),
    (("lines",), {}, "lines", "a list"),
    (("colour",), "red", "", "'colour' is not known"),
    ((*R0, "kind"), "reach", "requirements[0].kind", "reaches_only"),
    ((*R0, "targets", 1), "1A1.tail", "requirements[0].targets[1]", "cap, rod"),
    ((*R0, "targets"), [], "requirements[0]", "needs the key 'targets'"),
    ((*R0, "set", "1V1", "position"), "FLAT", "requirements[0].set.1V1.position", "UP"),
    ((*R0, "set", "L1"), {"position": "left"}, "requirements[0].set.L1.position", "no setting"),
    ((*R0, "procedure"), "Raise", "requirements[0].procedure", "'Lower'"),
    (("requirements", 1), {"name": "s", "kind": "survives"}, "requirements[1]", "'procedure'"),
    (("requirements", 1), {"name": "i", "kind": "independent", "from": ["0P1"]}, "[1]", "'other'"),
    ((*P0, "start", "1A1", "extension"), "9 psi", "procedures[0].start.1A1.extension", "length"),
    ((*P0, "start", "1A1", "bore"), "0.5 in", "procedures[0].start.1A1.rod_diameter", "bore"),
    ((*P0, "steps", 0, "at"), "-1 s", "procedures[0].steps[0].at", "before the start"),
    ((*P0, "steps", 0, "at"), "1 in", "procedures[0].steps[0]", "time"),
    ((*P0, "steps", 0, "at"), ..., "procedures[0].steps[0]", "'at' or 'after'"),
    ((*P0, "steps", 0, "wait"), "3 s", "procedures[0].steps[0].wait", "'after' only"),
    ((*P0, "steps", 1, "after", "signal"), "1A1.colour", "procedures[0].steps[1]", "no signal"),
    ((*P0, "steps", 1, "after", "at_least"), ..., "procedures[0].steps[1].after", "'at_most'"),
    ((*P0, "expect", 0, "by"), ..., "procedures[0].expect[0]", "throughout"),
    ((*P0, "expect", 0, "throughout"), True, "procedures[0].expect[0]", "throughout"),
    (("procedures", 1), {"name": "Lower"}, "procedures[1].name", "another procedure"),
]


@pytest.mark.parametrize(("path", "value", "place", "words"), WRONG)
def test_what_is_wrong_is_refused_with_place_and_mend(path, value, place, words):
    """Each wrong value is named with its place in the file and with what is allowed."""
    error = refusal(text_with(path, value))
    assert place in error.place
    assert bool(place) == bool(error.place)
    assert words in error.message


def test_ranges_and_unknowns_are_read():
    """Any setting may be a range or null; they are kept as they were written."""
    between = {"between": ["1.9 in", "2.1 in"]}
    circuit = parse_circuit(text_with((*C1, "settings", "bore"), between))
    assert circuit.components["1A1"].settings["bore"] == between
    circuit = parse_circuit(text_with((*C1, "settings", "bore"), None))
    assert circuit.components["1A1"].settings["bore"] is None


@pytest.mark.parametrize(
    ("kind", "settings", "wrong"),
    [
        (
            "compensated_pump",
            {"knee_pressure": "1100 psi", "cutoff_pressure": "1000 psi"},
            "knee_pressure",
        ),
        (
            "unloading_valve",
            {"cut_in_pressure": "1200 psi", "cut_out_pressure": "1200 psi"},
            "cut_in_pressure",
        ),
        ("cylinder_double_rod", {"rod_diameter": "2 in", "bore": "1 in"}, "rod_diameter"),
    ],
)
def test_settings_that_contradict_each_other_are_refused(kind, settings, wrong):
    """A rod as thick as its bore, a pump cut in above where it is cut out, and the like."""
    error = refusal(text_with(("components", 3), {"id": "0X1", "kind": kind, "settings": settings}))
    assert error.place == f"components[3].settings.{wrong}"


def test_a_byte_order_mark_is_tolerated():
    """RFC 8259 section 8.1 lets a reader ignore it."""
    assert "0P1" in parse_circuit(b"\xef\xbb\xbf" + json.dumps(PLAIN).encode())
    assert "0P1" in parse_circuit("\ufeff" + json.dumps(PLAIN))


MALFORMED = [
    (b"", "not JSON"),
    (b"{", "not JSON"),
    (b"[]", "must be an object"),
    (b"null", "must be an object"),
    (b'{"a": NaN}', "NaN"),
    (b'{"a": -Infinity}', "-Infinity"),
    (b'{"a": 1e999}', "out of range"),
    (b'{"a": ' + b"9" * 5000 + b"}", "too long"),
    (b'{"a": 1, "a": 2}', "'a' stands twice"),
    (b'{"a": {"b": 1, "c": 2, "b": 1}}', "'b' stands twice"),
    (b'{"a": "\xff"}', "not UTF-8"),
    ('{"a": 1}'.encode("utf-16"), "not UTF-8"),
    (b'{"a": "\\ud800"}', "half a character"),
    (b"[" * 100_000 + b"]" * 100_000, "nested too deeply"),
    (b'{"a":' * 100_000 + b"1" + b"}" * 100_000, "nested too deeply"),
    (b" " * (16 * 1024 * 1024 + 1), "larger than 16 MiB"),
]


@pytest.mark.parametrize(("data", "words"), MALFORMED, ids=[words for _, words in MALFORMED])
def test_what_is_no_json_is_refused_in_one_line(data, words):
    """Whatever the bytes are, there is one line and no traceback."""
    assert words in refusal(data).message


def test_a_place_in_the_text_is_named_where_it_is_no_json():
    """The line and the column of the fault are told."""
    error = refusal('{"format": "standpipe-circuit",\n "version" 1}')
    assert error.place == "line 2, column 12"


def test_deep_values_inside_a_valid_file_are_refused():
    """Values that the schema leaves open may not be nested without end either."""
    deep = []
    for _ in range(400):
        deep = [deep]
    refusal(text_with((*C0, "settings", "speed"), deep))
    refusal(text_with((*R0, "failures"), deep))


def test_control_characters_and_long_words_do_not_reach_the_message():
    """A message stays one short line, whatever stands in the file."""
    error = refusal(text_with((*C0, "evil\n\x1b[2J" + "x" * 5000), 1))
    assert str(error).isprintable()
    assert len(str(error)) < 500
    error = refusal(text_with((*C0, "kind"), "pump\r\n\x1b[31m"))
    assert str(error).isprintable()


def test_the_file_is_named_before_the_place(tmp_path):
    """`FILE: components[1].settings.bore: what; mend`."""
    path = tmp_path / "press.circuit.json"
    path.write_text(text_with((*C1, "settings", "bore"), "0 in"))
    with pytest.raises(CircuitFileError) as caught:
        read_circuit(path)
    assert str(caught.value).startswith(f"{path}: components[1].settings.bore: ")


@pytest.mark.parametrize("name", ["missing.circuit.json", ".", "nul\0name"])
def test_a_file_that_cannot_be_opened_is_told_in_one_line(tmp_path, name):
    """Missing files, folders, impossible names."""
    with pytest.raises(CircuitFileError) as caught:
        read_circuit(f"{tmp_path}/{name}")
    assert "cannot be read" in str(caught.value)
    assert str(caught.value).isprintable()


def test_a_file_that_never_ends_is_given_up():
    """Only a little more than the allowed size is read of it."""
    with pytest.raises(CircuitFileError, match="larger than 16 MiB"):
        read_circuit("/dev/zero")
