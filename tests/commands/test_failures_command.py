"""`standpipe failures` against the contract's sections 1 and 6."""

import json

import pytest

from analysis import Circuit, write_circuit
from editor.command_line import main


@pytest.fixture
def file(tmp_path):
    """One source, one line, one cylinder: everything is a single point of failure."""
    circuit = Circuit()
    circuit.add("pressure_source", id="0P1", pressure="50 bar")
    circuit.add("cylinder_single_acting", id="1A1", bore="40 mm", stroke="100 mm", name="Ram")
    circuit.add("test_point", id="0S1")
    circuit.connect("0P1.outlet", "1A1.cap", id="L1", bore="8 mm", length="1 m")
    circuit.connect("0P1.outlet", "0S1.A", id="L2", bore="8 mm", length="1 m")
    out = {"by": "20 s", "signal": "1A1.extension", "at_least": "99 mm"}
    circuit.set_field("", "procedures", [{"name": "out", "expect": [out]}])
    reach = {"name": "reach", "kind": "reaches", "from": ["0P1"], "targets": ["1A1.cap"]}
    circuit.set_field("", "requirements", [reach])
    path = str(tmp_path / "ram.circuit.json")
    write_circuit(circuit, path)
    return path


def test_json_has_the_form_of_the_contract(file, capsys):
    """Functions are requirements and procedures; single points in the order of the file."""
    assert main(["failures", file, "--json"]) == 0
    form = json.loads(capsys.readouterr().out)
    assert form["functions"] == ["reach", "out"]
    # a broken gauge line lets the pressure out too
    assert form["single_points"] == ["0P1", "1A1", "L1", "L2"]
    cases = {(c["subject"], c["mode"]): c for c in form["cases"]}
    assert cases["0P1", "no_output"]["lost"] == ["reach", "out"]
    assert cases["1A1", "stuck"]["lost"] == ["out"]
    assert cases["L2", "blocked"] == {"subject": "L2", "mode": "blocked", "lost": [],
                                      "degraded": []}  # fmt: skip
    assert ("L1", "external_leak") in cases


def test_text_lists_what_costs_something(file, capsys):
    """Functions by number, the costly failures, the single points."""
    assert main(["failures", file]) == 0
    out = capsys.readouterr().out
    assert "F1  reach" in out and "F2  out" in out
    (stuck,) = [line for line in out.splitlines() if line.startswith("1A1") and "stuck" in line]
    assert stuck.split() == ["1A1", "Ram", "stuck", "F2"]
    assert "single points of failure: 0P1, 1A1, L1, L2" in out


def test_a_function_that_fails_anyway_is_said(file, capsys):
    """With the source cut down nothing moves, and no failure is blamed for it."""
    options = ["--set", "1A1.load=20 kN"]
    assert main(["failures", file, *options, "--json"]) == 0
    form = json.loads(capsys.readouterr().out)
    assert list(form["failing"]) == ["out"]
    assert all("out" not in case["lost"] for case in form["cases"])


def test_help_says_how_exact_the_figures_are(capsys):
    """They are told from runs in longer steps."""
    assert main(["failures", "--help"]) == 0
    out = " ".join(capsys.readouterr().out.split())
    assert "by about so much" in out and "rise to about a fifth" in out and "'digits'" in out


def test_a_missing_file_is_one_line_and_status_2(capsys):
    """Contract: status 2, one line."""
    assert main(["failures", "absent.circuit.json"]) == 2
    assert capsys.readouterr().err.count("\n") == 1
