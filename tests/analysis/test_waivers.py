"""Waivers: which rules can be waived, who may, and that a file keeps them as they were."""

import ast
import json
from pathlib import Path

import pytest

import analysis
import analysis.all_rules  # fills RULES
from analysis.checks import check
from analysis.circuit import Circuit
from analysis.circuit_file import circuit_text, parse_circuit
from analysis.errors import EditError
from analysis.rules import RULES
from analysis.waivers import WAIVABLE, with_waiver, without_waiver

SIGNED = {"rule": "no_filter", "reason": "as the maker drew it", "by": "A. Fitter"}


def rules_in_the_sources() -> set[str]:
    """The first argument of every `Finding(…)` in the package, where it is a text."""
    found = set()
    for path in Path(analysis.__file__).parent.rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Call) and isinstance(node.func, ast.Name):
                first = node.args[0] if node.args else None
                if node.func.id == "Finding" and isinstance(first, ast.Constant):
                    found.add(first.value)
    return found


def test_every_rule_and_nothing_else_can_be_waived() -> None:
    """The list is written by hand; a rule that is new, gone or renamed must be so there too."""
    assert rules_in_the_sources() | set(RULES) == WAIVABLE


@pytest.mark.parametrize(
    ("spoilt", "place", "mend"),
    [
        ({"rule": "no_filtr"}, "0P1.waivers[0].rule", "did you mean 'no_filter'?"),
        ({"rule": ""}, "0P1.waivers[0].rule", "take the waiver out"),
        ({"reason": " \n"}, "0P1.waivers[0].reason", "needs a reason"),
        ({"by": ""}, "0P1.waivers[0].by", "the name of who waives it"),
    ],
)
def test_a_waiver_that_says_too_little_is_refused(spoilt, place, mend) -> None:
    """By every way into the circuit, and the circuit stays as it was."""
    circuit = Circuit()
    pump = circuit.add("fixed_pump", id="0P1")
    with pytest.raises(EditError) as refusal:
        circuit.set_field("0P1", "waivers", [{**SIGNED, **spoilt}])
    assert refusal.value.place == place
    assert mend in refusal.value.message
    assert pump.waivers == []
    circuit.remove("0P1")
    pump.waivers = [{**SIGNED, **spoilt}]
    with pytest.raises(EditError, match="waivers"):
        circuit.add_component(pump)
    assert "0P1" not in circuit


def test_waivers_of_parts_and_lines_stand_in_the_file_and_come_back_the_same() -> None:
    """With a date and without; written again, the text is the same."""
    circuit = Circuit()
    circuit.add("fixed_pump", id="0P1")
    circuit.add("filter", id="0Z1")
    circuit.connect("0P1.outlet", "0Z1.inlet", id="L1")
    circuit.set_field("0P1", "waivers", [SIGNED])
    circuit.set_field("L1", "waivers", [{**SIGNED, "rule": "line_velocity", "date": "1951-03-02"}])
    text = circuit_text(circuit)
    again = parse_circuit(text)
    assert again.components["0P1"].waivers == [SIGNED]
    assert json.loads(text)["lines"][0]["waivers"][0]["date"] == "1951-03-02"
    assert circuit_text(again) == text


def test_one_waiver_a_rule_and_one_line_a_reason() -> None:
    """A second one of the same rule takes the place of the first; blanks are tidied."""
    first = with_waiver([SIGNED], "no_return", "bench\n  only ", " B. Fitter ")
    assert first == [SIGNED, {"rule": "no_return", "reason": "bench only", "by": "B. Fitter"}]
    second = with_waiver(first, "no_filter", "other", "C", "1952")
    assert [w["rule"] for w in second] == ["no_return", "no_filter"]
    assert second[1] == {"rule": "no_filter", "reason": "other", "by": "C", "date": "1952"}
    assert without_waiver(second, "no_return") == second[1:]
    with pytest.raises(EditError, match="a reason"):
        with_waiver([], "no_filter", "  ", "C")


def test_a_waived_error_does_not_count_and_says_when_it_was_waived() -> None:
    """Exit 1 hangs on `ok`; the finding stays in the machine form, as a note."""
    circuit = Circuit()
    circuit.add("cylinder", id="1A1")
    before = check(circuit)
    errors = [f for f in before.findings if f.severity == "error"]
    assert not before.ok
    waivers: list = []
    for finding in errors:
        waivers = with_waiver(waivers, finding.rule, "a bare bench", "A. Fitter", "1951-03-02")
    circuit.set_field("1A1", "waivers", waivers)
    after = check(circuit)
    assert after.ok
    assert len(after.findings) == len(before.findings)
    waived = [f.as_json() for f in after.findings if f.waived]
    assert {f["rule"] for f in waived} >= {f.rule for f in errors}
    assert all(f["severity"] == "note" for f in waived)
    said = {"reason": "a bare bench", "by": "A. Fitter", "date": "1951-03-02"}
    severities = {(f.rule, f.subjects): f.severity for f in before.findings}
    for finding in waived:
        was = severities[finding["rule"], tuple(finding["subjects"])]
        assert finding["waived"] == {"severity": was, **said}
    assert any(f["waived"]["severity"] == "error" for f in waived)
