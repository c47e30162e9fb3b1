"""What a report says of single failures, and of what hangs on them."""

import re

import pytest

from analysis.failures import Case, FailureTable, failures
from analysis.report_blocks import BREAK, in_lines
from analysis.report_content import report_blocks
from tests.support.report_page import UNITS, lift, report_on, row_of


@pytest.fixture
def circuit():
    """A pump that lifts a jack."""
    return lift()


def test_failures_stand_only_if_they_were_worked_out(circuit):
    """Codes of the functions, what is lost, single points, and what costs nothing."""
    _, without = report_on(circuit)
    assert "Not worked out for this report" in without.text
    cases = (
        Case("0P1", "no_output", ("lifts",), ()),
        Case("L1", "blocked", (), ("lifts",)),
        Case("L1", "external_leak", (), ("lifts",), {}, {"lifts": {"slower": 0.117}},
             {"lifts": {"slower": 2}}),
        Case("1A1", "stuck", (), ()),
    )  # fmt: skip
    table = FailureTable(("lifts", "spares"), cases, {"spares": "it reaches"})
    _, page = report_on(circuit, failures=table)
    assert "Not worked out" not in page.text
    assert re.search(r"0P1\s+<b>Pump</b>\s+no output\s+R1\s+–", page.text)
    assert re.search(r"L1\s+0Z1.supply to 0P1.inlet\s+blocked\s+–\s+R1\s+L1", page.text)
    assert re.search(r"external leak\s+–\s+R1 about 12 % slower", page.text)
    assert "slower or weaker is approximate" in page.text.partition("Method and limits")[2]
    assert re.search(r"Single points:\s+0P1\.", page.text)
    assert re.search(r"Cost nothing that holds without them:\s+stuck: 1A1\.", page.text)
    assert "not hold even without a failure, and is not counted: R2." in page.text


def test_the_codes_of_functions_are_those_of_their_sections(circuit):
    """R and P count each from 1; a procedure named like a requirement does not take its code."""
    circuit.procedures = [
        {"name": "spares", "expect": []},
        {"name": "pump", "expect": []},
    ]
    report, _ = report_on(circuit)
    assert report.codes == {"lifts": "R1", "spares": "R2", "pump": "P2"}
    table = failures(circuit)
    report, page = report_on(circuit, failures=table)
    assert report.failures_of_procedures
    assert list(report.codes.values()) == ["R1", "R2", "P1", "P2"]
    assert "P1" in row_of(page.text, "Function")


def test_a_verdict_hangs_on_what_must_not_fail(circuit):
    """A part that no fluid passes, but whose failure costs a function, bears its verdict."""
    circuit.add("relief_valve", id="0V1")
    circuit.connect("0P1.outlet", "0V1.inlet")
    circuit.connect("0V1.outlet", "0Z1.return")
    circuit.element("0V1").evidence["status"] = "assumed"
    table = FailureTable(("lifts", "spares"), (Case("0V1", "stuck_open", ("lifts",), ()),))
    report, _ = report_on(circuit, failures=table)
    (question,) = report.questions
    assert (question.requirements, question.hanging) == ((), ("R1",))


def test_functions_that_fail_already_are_named_where_failures_are_counted(circuit):
    """No single point is told to be none where nothing was there to be lost."""
    table = FailureTable(("lifts", "spares"), (Case("0P1", "stuck", (), ()),), {"spares": "x"})
    _, page = report_on(circuit, failures=table)
    assert re.search(r"0 single points\.\s+Not counted, failing without any: R2\.", page.text)
    assert re.search(r"R1\s+0\s+–", row_of(page.text, "Lost by a failure of"))


def test_open_questions_name_procedures_and_failures_too(circuit):
    """What fluid passes in a procedure, and what the element's own failure costs."""
    circuit.add("relief_valve", id="0V1")
    circuit.connect("0P1.outlet", "0V1.inlet")
    circuit.connect("0V1.outlet", "0Z1.return")
    for identifier in ("0P1", "0V1"):
        circuit.element(identifier).evidence["status"] = "assumed"
    circuit.procedures = [
        {"name": "Lift", "start": {"0P1": {"running": True}}, "expect": []},
    ]
    table = FailureTable(("lifts",), (Case("0P1", "no_output", ("lifts",), ()),))
    report, page = report_on(circuit, failures=table)
    questions = {q.subject: q for q in report.questions}
    assert (questions["0P1"].procedures, questions["0P1"].failures) == (("P1",), ("R1",))
    assert (questions["0V1"].hanging, questions["0V1"].failures) == ((), ())
    assert "Verdicts that hang on something open: R1, R2 and P1." in page.text
    assert re.search(r"procedures were not run with the failures", page.text)
    assert "the requirements that its own failure costs (of procedures" in page.text
    report, page = report_on(circuit)
    assert report.failures is None
    assert "what its own failure costs was not worked out" in page.text
    assert "Its failure" not in page.text, "no dash says that nothing is lost"


def test_each_degraded_function_has_a_line_of_its_own(circuit):
    """No line ends between a function and its figure."""
    both = ("lifts", "spares")
    shares = {"lifts": {"slower": 0.117}, "spares": {"slower": 0.08}}
    digits = {name: {"slower": 2} for name in both}
    case = Case("L1", "blocked", (), both, {}, shares, digits)
    report, _ = report_on(circuit, failures=FailureTable(both, (case,)))
    (table,) = [b for b in report_blocks(report, UNITS) if "Degraded" in getattr(b, "headings", ())]
    wanted = in_lines(["R1 about 12 % slower", "R2 about 8 % slower"])
    assert table.rows[0][-1] == wanted and BREAK in wanted


def test_no_column_stands_empty_where_nothing_is_degraded(circuit):
    """As wherever the procedures were not run with the failures."""
    lost, worse = Case("0P1", "no_output", ("lifts",), ()), Case("L1", "blocked", (), ("lifts",))
    _, page = report_on(circuit, failures=FailureTable(("lifts", "spares"), (lost,)))
    assert re.search(r"Failure\s+Lost\s+0P1\s+<b>Pump</b>\s+no output\s+R1\s", page.text)
    assert "Degraded" not in page.text
    _, page = report_on(circuit, failures=FailureTable(("lifts", "spares"), (lost, worse)))
    assert re.search(r"Failure\s+Lost\s+Degraded\s+0P1\s", page.text)
