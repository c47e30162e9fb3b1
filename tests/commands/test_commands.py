"""What the commands write: tables in the circuit's units, JSON in SI, CSV for spreadsheets.

psi, gallon and inch are exact by definition (NIST SP 811, from memory); CSV is RFC 4180.
"""

import csv
import json

import pytest

from analysis.circuit import Circuit
from analysis.circuit_file import write_circuit
from editor.command_line import main
from symbols import KINDS

PSI = 6894.757293168
GALLON_PER_MINUTE = 3.785411784e-3 / 60


def press():
    """A pressure source that pushes a cylinder by way of a lever valve and a throttle."""
    circuit = Circuit()
    circuit.display_units = {"pressure": "psi", "flow": "gal/min", "length": "in"}
    circuit.add("reservoir", id="0Z1")
    circuit.add("pressure_source", id="0P1", pressure="1000 psi")
    circuit.add("valve_4_3", id="1V1", position="left")
    circuit.components["1V1"].labels = {"left": "DOWN", "centre": "HOLD", "right": "UP"}
    circuit.add("restrictor", id="1V2", rated_flow="2 gal/min", rated_drop="1000 psi")
    circuit.add(
        "cylinder",
        id="1A1",
        name="=HYPERLINK(1)",
        bore="2 in",
        rod_diameter="1 in",
        stroke="10 in",
        extension="5 in",
        lock="both",
    )
    circuit.connect("0P1.outlet", "1V1.P", id="L1")
    circuit.connect("1V1.A", "1V2.A", id="L2")
    circuit.connect("1V2.B", "1A1.cap", id="L3", bore="0.25 in", length="1 ft")
    circuit.connect("1A1.rod", "1V1.B", id="L4")
    circuit.connect("1V1.T", "0Z1.return", id="L5")
    return circuit


@pytest.fixture
def file(tmp_path):
    """The press in a file."""
    path = str(tmp_path / "press.circuit.json")
    write_circuit(press(), path)
    return path


def strict(text):
    """JSON without what RFC 8259 does not know."""

    def refuse(word):
        raise AssertionError(f"{word} is no JSON")

    return json.loads(text, parse_constant=refuse)


def read(capsys, *arguments, status=0):
    """What a command writes as JSON."""
    assert main([*arguments, "--json"]) == status
    return strict(capsys.readouterr().out)


# -- readings ----------------------------------------------------------------------------


def test_readings_as_json_are_si_and_have_the_keys_of_the_contract(file, capsys):
    """Pressures in Pa, flows in m3/s, `inflow` into the part, `flow` from `from` to `to`."""
    found = read(capsys, "readings", file)
    assert found["converged"] is True
    assert found["components"]["0P1"]["ports"]["outlet"]["pressure"] == pytest.approx(1000 * PSI)
    flow = found["lines"]["L1"]["flow"]
    # 2 gal/min at 1000 psi across, less what the valve and the line cost
    assert 0.5 * 2 * GALLON_PER_MINUTE < flow < 2 * GALLON_PER_MINUTE
    assert found["components"]["0P1"]["ports"]["outlet"]["inflow"] == pytest.approx(-flow)
    assert set(found["lines"]["L3"]) >= {"flow", "pressure_drop", "velocity", "reynolds"}
    assert found["components"]["1A1"]["extension"] == pytest.approx(5 * 0.0254)
    # v = q / A: a 2 in piston
    assert found["components"]["1A1"]["velocity"] == pytest.approx(flow / (3.14159265 * 0.0254**2))
    assert found["undetermined"] == []
    assert found["lines"]["L1"]["reynolds"] is None  # no bore: ideal


def test_readings_as_text_are_in_the_circuit_s_units(file, capsys):
    """The source stands at 1000 psi, and the table says so."""
    assert main(["readings", file]) == 0
    text = capsys.readouterr().out
    row = next(line for line in text.splitlines() if line.startswith("0P1.outlet"))
    assert float(row.split()[1]) == pytest.approx(1000, rel=1e-3)
    assert "PRESSURE [psi]" in text
    assert "INFLOW [gal/min]" in text
    assert "left (DOWN)" in text


def test_a_value_that_is_missing_has_its_reason(capsys, tmp_path):
    """null, and beside it why."""
    circuit = Circuit()
    circuit.add("check_valve", id="0V1")
    circuit.add("plug", id="0Z1")
    circuit.connect("0V1.outlet", "0Z1.A", id="L1")
    path = str(tmp_path / "loose.circuit.json")
    write_circuit(circuit, path)
    found = read(capsys, "readings", path)
    port = found["components"]["0Z1"]["ports"]["A"]
    assert port["pressure"] is None
    assert port["reason"]
    assert "0Z1.A" in found["undetermined"]
    assert main(["readings", path]) == 0
    assert "NO READING AT" in capsys.readouterr().out


# -- --set -------------------------------------------------------------------------------


def flow_with(capsys, file, *changes):
    """Flow through the throttle with these settings."""
    options = [word for change in changes for word in ("--set", change)]
    return read(capsys, "readings", file, *options)["lines"]["L2"]["flow"]


def test_set_takes_levers_by_position_and_by_label(file, capsys):
    """The lever to the other side turns the flow round; in the middle nothing moves."""
    down = flow_with(capsys, file)
    assert down > 0
    assert flow_with(capsys, file, "1V1.position=DOWN") == down
    assert flow_with(capsys, file, "1V1.position=right") < 0
    assert flow_with(capsys, file, "1V1.position=UP") < 0
    assert flow_with(capsys, file, "1V1.position=HOLD") == pytest.approx(0)


def test_set_takes_quantities_faults_and_flags(file, capsys):
    """A quarter of the pressure is half the flow of a square-root law; a blocked line none."""
    full = flow_with(capsys, file, "L3.length=1 mm")
    quarter = flow_with(capsys, file, "L3.length=1 mm", "0P1.pressure=250 psi")
    assert quarter / full == pytest.approx(0.5, rel=0.02)
    assert flow_with(capsys, file, "L4.fault=blocked") == pytest.approx(0)
    assert flow_with(capsys, file, "1A1.fault=stuck") == pytest.approx(0)


def test_set_tells_the_setting_from_the_state_by_its_value(file, capsys):
    """A cylinder's `lock` is the state if it is `locked` or `released`, else the setting."""
    low = "0P1.pressure=200 psi"  # below the release pressure of the locks
    assert flow_with(capsys, file, low, "1A1.extension=0 in") == pytest.approx(0)
    assert flow_with(capsys, file, low, "1A1.extension=0 in", "1A1.lock=none") > 0
    assert flow_with(capsys, file, low, "1A1.extension=0 in", "1A1.lock=released") > 0


def test_set_takes_ranges_and_tables_as_files_do(file, capsys):
    """A range counts with its middle, a load table with the load at the extension."""
    middle = flow_with(capsys, file, "0P1.pressure=500 psi")
    between = '0P1.pressure={"between": ["400 psi", "600 psi"]}'
    assert flow_with(capsys, file, between) == pytest.approx(middle)
    table = '1A1.load=[["0 in", "0 lbf"], ["10 in", "2000 lbf"]]'
    assert flow_with(capsys, file, table) == pytest.approx(
        flow_with(capsys, file, "1A1.load=1000 lbf")
    )


def test_settings_that_depend_on_each_other_are_judged_together(file, capsys):
    """A thinner bore and a thinner rod are right together, in either order."""
    rod, bore = "1A1.rod_diameter=0.4 in", "1A1.bore=0.8 in"
    assert flow_with(capsys, file, rod, bore) == flow_with(capsys, file, bore, rod) != 0
    assert main(["readings", file, "--set", bore]) == 2
    assert "rod_diameter (1 in) must be less than bore (0.8 in)" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ("1V1", "ID.NAME=VALUE"),
        ("1V1.position", "ID.NAME=VALUE"),
        ("position=left", "ID.NAME=VALUE"),
        ("9V9.position=left", "no component or line '9V9'"),
        ("1V1.lever=left", "valve_4_3 has no setting 'lever'"),
        ("1V1.position=SIDEWAYS", "DOWN, HOLD, UP"),
        ("0P1.pressure=900", "no unit"),
        ("0P1.pressure=900 mm", "pressure"),
        ("0P1.pressure=[1", "not a quantity"),
        ("L1.fault=stuck", "ruptured"),
        ("L1.colour=red", "bore, length"),
        ("1A1.lock=half", "none, retracted, extended, both"),
        ("1A1.extension=", "not a quantity"),
    ],
)
def test_a_wrong_set_is_told_with_the_mend(file, capsys, change, words):
    """The option, what is wrong, what is allowed; status 2."""
    assert main(["readings", file, "--set", change]) == 2
    output, errors = capsys.readouterr()
    assert output == ""
    assert errors.startswith("--set ")
    assert words in errors


def test_set_changes_nothing_in_the_file(file, capsys):
    """It holds for this once."""
    with open(file, "rb") as stream:
        before = stream.read()
    flow_with(capsys, file, "1V1.position=UP")
    with open(file, "rb") as stream:
        assert stream.read() == before


# -- check -------------------------------------------------------------------------------


def test_check_says_by_its_status_whether_all_holds(file, capsys):
    """0 if nothing is wrong; 1 if a requirement or an error-level finding is."""
    circuit = press()
    reaches = {"kind": "reaches", "from": ["0P1"], "targets": ["1A1.cap"]}
    wanted = {**reaches, "name": "Press comes down", "set": {"1V1": {"position": "DOWN"}}}
    circuit.requirements = [wanted]
    write_circuit(circuit, file)
    found = read(capsys, "check", file)
    assert found["requirements"][0]["holds"] is True
    assert not [f for f in found["findings"] if f["severity"] == "error"]
    circuit.requirements = [{**wanted, "set": {"1V1": {"position": "UP"}}}]
    write_circuit(circuit, file)
    found = read(capsys, "check", file, status=1)
    assert found["requirements"][0]["holds"] is False
    assert set(found["findings"][0]) >= {"rule", "severity", "subjects", "message", "mend"}
    assert main(["check", file]) == 1
    text = capsys.readouterr().out
    assert "FAILS: Press comes down" in text
    assert "0 of 1 requirement hold" in text


def test_check_fails_for_an_error_alone(tmp_path, capsys):
    """A cylinder that nothing reaches is an error-level finding, without any requirement."""
    circuit = Circuit()
    circuit.add("cylinder", id="1A1")
    path = str(tmp_path / "alone.circuit.json")
    write_circuit(circuit, path)
    found = read(capsys, "check", path, status=1)
    assert found["requirements"] == []
    assert "error" in [f["severity"] for f in found["findings"]]


# -- parts -------------------------------------------------------------------------------


def test_the_parts_list_is_safe_in_a_spreadsheet(file, tmp_path, capsys):
    """A name that would be calculated is text; the quantities are as they were written."""
    out = tmp_path / "parts.csv"
    assert main(["parts", file, "--csv", str(out)]) == 0
    assert capsys.readouterr() == ("", "")
    with open(out, newline="", encoding="utf-8") as stream:
        rows = list(csv.DictReader(stream))
    row = next(row for row in rows if row["id"] == "1A1")
    assert row["name"] == "'=HYPERLINK(1)"
    assert "bore 2 in" in row["settings"]
    assert [row["id"] for row in rows] == ["0Z1", "0P1", "1V1", "1V2", "1A1", "L3"]
    assert main(["parts", file]) == 0
    assert "Double-acting cylinder" in capsys.readouterr().out


# -- kinds -------------------------------------------------------------------------------


def test_the_catalogue_as_json_tells_everything_in_si(capsys):
    """Every kind, with numbers in SI: 50 mm is 0.05."""
    found = read(capsys, "kinds")
    assert list(found) == list(KINDS)
    for name, record in found.items():
        kind = KINDS[name]
        assert record["ports"] == [port.name for port in kind.ports]
        assert list(record["settings"]) == list(kind.settings)
        assert list(record["states"]) == [*kind.states, "fault"]
        assert record["states"]["fault"]["choices"] == ["none", *record["faults"]]
        for setting in [*record["settings"].values(), *record["states"].values()]:
            assert set(setting) >= {"title", "dimension", "default", "minimum", "maximum"}
            if setting["dimension"] not in ("choice", "text", "flag"):
                for key in ("default", "minimum", "maximum"):
                    assert isinstance(setting[key], int | float | None)
    assert found["cylinder"]["settings"]["bore"]["default"] == pytest.approx(0.05)
    assert found["cylinder"]["settings"]["lock"]["choices"][0] == "none"
    assert found["cylinder"]["states"]["lock"]["choices"] == ["locked", "released"]


@pytest.mark.parametrize("kind", KINDS)
def test_each_kind_can_be_looked_up(kind, capsys):
    """Ports, settings, states and failure modes in a table."""
    assert main(["kinds", kind]) == 0
    text = capsys.readouterr().out
    assert KINDS[kind].title in text
    assert all(port.name in text for port in KINDS[kind].ports)
    assert all(f"\n{name} " in text for name in [*KINDS[kind].settings, "fault"])
