"""What a report says, and that nothing from a circuit becomes markup."""

import re
from dataclasses import replace

import pytest

from analysis import Circuit
from analysis.liquids import LIQUIDS
from analysis.report import make_report
from analysis.report_blocks import Bullets, plain
from analysis.report_content import report_blocks
from analysis.report_html import html_page
from tests.support.report_page import UNITS, Texts, lift, report_on, row_of


@pytest.fixture
def circuit():
    """A pump that lifts a jack."""
    return lift()


def test_verdicts_stand_with_their_way(circuit):
    """The one that holds, the one that fails, and the way of each in order."""
    _, page = report_on(circuit)
    assert re.search(r"R1\s+lifts\s+pressure reaches every target.*return\s+holds\s", page.text)
    assert re.search(r"R2\s+spares\s+pressure reaches none of the.*\s+FAILS\s", page.text)
    shown = "0Z1 (1) - L1 - 0P1 (2) - L2 - 1A1 (3)"
    assert f"Way 1: {shown}" in row_of(page.text, "R1 lifts")
    assert f"Stray way 1: {shown}" in row_of(page.text, "R2 spares")
    assert re.search(r"2 written, 1 fails\s*\(R2 spares\)", page.text)


def test_checksum_version_cautions_and_room_to_sign(circuit):
    """What ties the document to a file and a program, and who answers for it."""
    _, page = report_on(circuit)
    for text in ("12ab" * 16, "standpipe 9.8.7", "Not for release to service", "pierces skin"):
        assert text in page.text
    for role in ("Drawn", "Checked", "Approved"):
        assert re.search(rf"\b{role}\s", page.text)


def test_names_are_text_and_never_markup(circuit):
    """Angle brackets of a name are read, not obeyed; control characters are left out."""
    circuit.title["notes"] = "first\nsecond\x1b[31m"
    report, page = report_on(circuit)
    assert "<b>Pump</b>" in page.text
    assert "Lift & <i>lower</i>" in page.text
    whole = html_page(report, UNITS, "<svg></svg>")
    assert "<b>Pump" not in whole and "<i>lower" not in whole
    assert "first<br>second[31m" in whole


def test_a_page_needs_nothing_beside_it(circuit):
    """No script, no picture, sheet of styles or font from elsewhere; headings repeat."""
    report, page = report_on(circuit)
    assert not {"script", "link", "img", "iframe"} & set(page.tags)
    whole = html_page(report, UNITS, "<svg></svg>")
    assert "http://" not in whole and "https://" not in whole
    assert page.tags.count("thead") == page.tags.count("table") > 5
    assert "thead { display: table-header-group; }" in whole


def test_waivers_in_force_and_not(circuit):
    """The signed one turns its finding into a waived one; the unsigned one does nothing."""
    _, before = report_on(circuit)
    rule = make_report(circuit, UNITS, file_name="x", file_checksum="0", version="1").findings[0]
    subject = rule.subjects[0]
    circuit.element(subject).waivers.append(
        {"rule": rule.rule, "reason": "Bench only", "by": "A. Fitter"}
    )
    circuit.element(subject).waivers.append({"rule": "reserve_not_kept", "reason": "", "by": ""})
    report, after = report_on(circuit)
    assert len(report.waived) >= 1
    assert "Bench only" not in before.text
    severity = rule.severity
    assert re.search(rf"Bench only\s+A\. Fitter\s+–\s+in force: waives an? {severity}", after.text)
    assert re.search(rf"waived {severity}\s", after.text, re.IGNORECASE)
    assert "not in force: it lacks a reason or a name" in after.text


def test_open_questions_name_the_requirements_that_hang_on_them(circuit):
    """Inferred, unknown and a range, each with the requirements whose way passes it."""
    circuit.element("0P1").evidence.update({"status": "inferred", "source": "a photograph"})
    circuit.set_value("1A1", "bore", {"between": ["20 mm", "25 mm"]})
    circuit.set_value("1A1", "friction", None)
    report, _ = report_on(circuit)
    questions = {q.subject: q for q in report.questions}
    assert set(questions) == {"0P1", "1A1"}
    assert questions["0P1"].what == "inferred (a photograph)"
    assert questions["0P1"].requirements == ("R1", "R2")
    assert "bore 20 mm to 25 mm" in questions["1A1"].what
    assert "unknown" in questions["1A1"].what


def test_what_is_undetermined_is_said_in_words(circuit):
    """A pump that stands still leaves the lifted jack's pressure, and says why of the rest."""
    circuit.add("check_valve", id="9V1")
    circuit.add("test_point", id="9S1")
    circuit.connect("9V1.outlet", "9S1.A")
    report, page = report_on(circuit)
    assert report.readings.undetermined
    for port in report.readings.undetermined:
        assert re.search(rf"{re.escape(port)}\s+undetermined\s", page.text)


def test_an_empty_circuit_has_a_report_too():
    """Nothing is listed, and the missing requirements are said."""
    _, page = report_on(Circuit())
    assert "nothing has been shown" in page.text


def test_a_verdict_that_was_not_judged_is_not_said_to_fail(circuit):
    """It neither holds nor fails, in the table, beside its name and in short."""
    report, _ = report_on(circuit)
    verdicts = report.checked.requirements
    open_one = replace(verdicts[1], holds=False, judged=False, message="Not judged here.")
    checked = replace(report.checked, requirements=(verdicts[0], open_one))
    page = Texts(html_page(replace(report, checked=checked), UNITS, "<svg></svg>"))
    assert "FAILS" not in page.text
    assert re.search(r"R2\s+spares\s.*\s+not judged\s", page.text)
    assert re.search(r"2 written, 0 fail, 1 not judged", page.text)


def test_procedures_stand_with_what_came_of_them(circuit):
    """What is set, what is expected, whether it came; and a procedure that cannot be run."""
    rising = {"by": "60 s", "signal": "1A1.extension", "at_least": "1 mm"}
    circuit.procedures = [
        {
            "name": "Lift",
            "start": {"0P1": {"running": False}},
            "steps": [{"at": "1 s", "set": {"0P1": {"running": True}}}],
            "expect": [rising, {**rising, "by": "0.5 s"}],
        },
        {"name": "Wrong", "steps": [{"at": "1 s", "set": {"9P9": {"running": True}}}]},
    ]
    report, page = report_on(circuit)
    assert [run.holds for run in report.runs] == [False, False]
    assert [held for _, held, _ in report.runs[0].expectations] == [True, False]
    assert report.runs[0].used >= {"0Z1", "L1", "0P1", "L2", "1A1"}
    assert "Start: 0P1 standing still." in page.text
    assert "Step 1, at 1 s: 0P1 running." in page.text
    assert re.search(r"1A1.extension at least 1 mm by 60 s\s+holds\s+met at \d", page.text)
    # nobody pumps in the first half second
    assert re.search(r"1A1.extension at least 1 mm by 0.5 s\s+FAILS\s+no more than 0 SI", page.text)
    assert "9P9" in row_of(page.text, "P2 Wrong")
    assert re.search(r"Procedures:\s+2 written, 2 fail", page.text)


def test_a_step_that_was_never_worked_is_said_to_be(circuit):
    """The second waits for a signal that does not come; the first was worked."""
    never = {"signal": "1A1.extension", "at_least": "1 mm"}
    pump_off = {"0P1": {"running": False}}
    circuit.procedures = [
        {
            "name": "Lift",
            "steps": [{"at": "1 s", "set": pump_off}, {"after": never, "set": pump_off}],
            "start": pump_off,
            "expect": [{"throughout": True, **never}],
        }
    ]
    report, page = report_on(circuit)
    assert report.runs[0].left == 1
    flat = re.sub(r"\s+", " ", page.text)
    assert re.search(r"Step 1, at 1 s: 0P1 standing still\. Step 2, after", flat)
    assert re.search(r"Step 2, after [^:]+: 0P1 standing still\. It never came to that\.", flat)


def test_what_came_instead_of_what_was_expected(circuit):
    """The furthest that it went where it must hold throughout, the last word, or no value."""
    pumped = {"start": {"0P1": {"running": True}}}
    expected = [
        {"throughout": True, "signal": "1A1.extension", "at_most": "1 mm"},
        {"throughout": True, "signal": "0P1.strokes", "at_least": "1"},
        {"by": "2 s", "signal": "1A1.extension", "at_least": "100 m"},
        {"by": "2 s", "signal": "1A1.extension", "at_least": "0 mm"},
    ]
    circuit.procedures = [{"name": "Lift", **pumped, "expect": expected}]
    (run,) = report_on(circuit)[0].runs
    risen = run.came[0]
    assert (risen.words, risen.dimension) == ("up to", "length")
    assert risen.value > 1e-3
    assert run.came[1].words == "down to" and 0.0 <= run.came[1].value < 0.01
    # the nearest that it came is as far as it went
    assert (run.came[2].words, run.came[2].value) == ("no more than", risen.value)
    assert run.came[3] is None


def test_a_verdict_that_nothing_else_is_reached_hangs_on_all_that_is(circuit):
    """A branch that is only inferred may lead elsewhere; a range of a setting moves no way."""
    circuit.add("pressure_gauge", id="0S1")
    line = circuit.connect("0P1.outlet", "0S1.A")
    circuit.element(line.id).evidence["status"] = "inferred"
    circuit.set_value("0P1", "displacement", {"between": ["10 cm^3", "12 cm^3"]})
    base = {"from": ["0P1"], "targets": ["1A1.cap"]}
    circuit.requirements = [
        {"name": "lifts", "kind": "reaches", **base},
        {"name": "lifts it only", "kind": "reaches_only", **base},
        {"name": "none", "kind": "reaches_none", "from": ["9P9"], "targets": ["1A1.cap"]},
    ]
    report, page = report_on(circuit)
    questions = {q.subject: q for q in report.questions}
    assert questions[line.id].requirements == ("R2",)
    assert questions["0P1"].requirements == ()
    # what cannot be read rests on nothing, and is not said to be free of questions
    assert "Verdicts that hang on something open: R2." in page.text
    assert "On nothing that is marked open: R1." in page.text


def test_survival_hangs_on_what_its_procedure_uses(circuit):
    """It is judged by runs, so that numbers count; its failing names what may not fail."""
    circuit.set_value("0P1", "displacement", {"between": ["10 cm^3", "12 cm^3"]})
    rises = {"by": "60 s", "signal": "1A1.extension", "at_least": "1 mm"}
    circuit.procedures = [{"name": "Lift", "start": {"0P1": {"running": True}}, "expect": [rises]}]
    circuit.requirements = [
        {"name": "a", "kind": "survives", "procedure": "Lift", "failures": [["1A1", "stuck"]]},
        {"name": "b", "kind": "survives", "procedure": "Lift", "failures": [["0Z1", "stuck"]]},
    ]
    report, page = report_on(circuit)
    assert [v.holds for v in report.checked.requirements] == [False, False]
    assert report.pictures[0].mark == "fatal" and report.pictures[0].marked == ("1A1",)
    assert "Framed: what may not fail" in page.text
    (question,) = report.questions
    assert (question.requirements, question.procedures) == (("R1",), ("P1",))


def test_all_that_nobody_has_stated_is_listed(circuit):
    """Lines too, those that count on drawn together."""
    circuit.add("check_valve", id="0V1")
    circuit.connect("0P1.outlet", "0V1.inlet")
    circuit.connect("0V1.outlet", "0Z1.return")
    circuit.element("0P1").evidence["status"] = "confirmed"
    _, page = report_on(circuit)
    assert "they are taken as drawn: 0Z1, 1A1, 0V1 and L1 to L4." in page.text
    circuit.element("L2").evidence["status"] = "confirmed"
    _, page = report_on(circuit)
    assert "they are taken as drawn: 0Z1, 1A1, 0V1, L1, L3 and L4." in page.text


def test_all_that_stops_the_pressure_is_named(circuit):
    """The sentence of the verdict names three; the report names all, and where pressure gets."""
    ends = []
    for number in range(1, 5):
        valve, jack = f"1V{number}", f"2A{number}"
        circuit.add("shutoff_valve", id=valve)
        circuit.set_value(valve, "position", "closed", state=True)
        circuit.add("cylinder_single_acting", id=jack)
        circuit.connect("0P1.outlet", f"{valve}.A")
        circuit.connect(f"{valve}.B", f"{jack}.cap")
        ends.append(f"{jack}.cap")
    circuit.requirements = [
        {"name": "none", "kind": "reaches_none", "from": ["0P1"], "targets": ends}
    ]
    _, page = report_on(circuit)
    assert "(and 1 more)" in page.text
    assert "; ".join(f"1V{n} stands at closed" for n in range(1, 5)) in page.text
    assert re.search(r"Gets to:\s+0P1, 1A1, 1V1, 1V2, 1V3, 1V4, L2, L3", page.text)
    assert "named without a frame: what it does not reach" in page.text


def test_what_was_drawn_as_failed_is_named(circuit):
    """A line by what it joins."""
    circuit.set_value("L2", "fault", "ruptured", state=True)
    _, page = report_on(circuit)
    assert "Drawn with failures: L2 ruptured." in page.text
    assert re.search(r"L2\s+0P1.outlet to 1A1.cap\s+ruptured", page.text)


def test_no_requirement_stands_out(circuit):
    """Nothing was shown: that is no success, and is not told as one."""
    circuit.requirements = []
    report, _ = report_on(circuit)
    bullets = next(b for b in report_blocks(report, UNITS) if isinstance(b, Bullets))
    assert [span.text for span in bullets.items[0] if span.bold] == ["none written"]


def test_every_block_is_set_as_text(circuit):
    """No template leaves a block out: each cell and paragraph is on the page."""
    report, page = report_on(circuit)
    flat = re.sub(r"\s+", "", page.text)
    count = 0
    for block in report_blocks(report, UNITS):
        texts = [getattr(block, "text", ()), *getattr(block, "items", ())]
        texts += [cell for row in getattr(block, "rows", ()) for cell in row]
        for text in texts:
            words = text if isinstance(text, str) else plain(text)
            assert re.sub(r"\s+", "", words) in flat
            count += 1
    assert count > 60


def test_temperatures_are_printed_with_their_sign(circuit):
    """Those of the fluid's source too, whichever fluid it is."""
    for fluid in LIQUIDS:
        circuit.fluid = {"kind": fluid, "temperature": "15 degC"}
        report, _ = report_on(circuit)
        texts = [text for _, text in report.fluid]
        assert "15 °C" in texts
        assert not [text for text in texts if "degC" in text]
