"""What a report says, and that nothing from a circuit becomes markup."""

import re
from html.parser import HTMLParser
from types import SimpleNamespace

import pytest

from analysis import Circuit
from analysis.failures import Case, FailureTable
from analysis.report import make_report
from analysis.report_html import html_page, html_parts

UNITS = SimpleNamespace(
    format=lambda value, dimension: f"{value:g} SI",
    number=lambda value, dimension: f"{value:g}",
    symbol=lambda dimension: "SI",
)


class Texts(HTMLParser):
    """The tags of a page, and the text between them; raises on tags that do not nest."""

    LONE = ("meta", "br")

    def __init__(self, page):
        super().__init__()
        self.tags, self.open, self.text = [], [], ""
        self.feed(page)
        assert not self.open

    def handle_starttag(self, tag, attrs):
        self.tags.append(tag)
        if tag not in self.LONE:
            self.open.append(tag)

    def handle_endtag(self, tag):
        assert self.open.pop() == tag

    def handle_data(self, data):
        if self.open and self.open[-1] != "style":
            self.text += data + " "


@pytest.fixture
def circuit():
    """A pump that lifts a jack, with a line from the pump's outlet back to the reservoir."""
    circuit = Circuit()
    circuit.add("reservoir", id="0Z1")
    circuit.add("hand_pump", id="0P1", name="<b>Pump</b>")
    circuit.add("cylinder_single_acting", id="1A1", load="100 N")
    circuit.connect("0Z1.supply", "0P1.inlet")
    circuit.connect("0P1.outlet", "1A1.cap")
    circuit.title.update({"name": "Lift & <i>lower</i>", "number": "X-1"})
    circuit.requirements = [
        {"name": "lifts", "kind": "reaches", "from": ["0P1"], "targets": ["1A1.cap"]},
        {"name": "spares", "kind": "reaches_none", "from": ["0P1"], "targets": ["1A1.cap"]},
    ]
    return circuit


def report_on(circuit, **more):
    """The report as text."""
    given = {"file_name": "x.circuit.json", "file_checksum": "12ab" * 16, "version": "9.8.7"}
    report = make_report(circuit, UNITS, **{**given, **more})
    return report, Texts(html_page(report, UNITS, "<svg></svg>"))


def row_of(text, start):
    """The text that follows a row's first cell."""
    return re.sub(r"\s+", " ", text[text.index(start) :])[:400]


def test_verdicts_stand_with_their_way(circuit):
    """The one that holds, the one that fails, and the way of each in order."""
    _, page = report_on(circuit)
    assert re.search(r"R1\s+lifts\s+reaches\s+holds\s", page.text)
    assert re.search(r"R2\s+spares\s+reaches none\s+FAILS\s", page.text)
    assert "0Z1 - L1 - 0P1 - L2 - 1A1" in row_of(page.text, "R1 ")
    assert "0Z1 - L1 - 0P1 - L2 - 1A1" in row_of(page.text, "R2 ")
    assert re.search(r"2 written, 1 fails\s*\(spares\)", page.text)


def test_checksum_version_cautions_and_room_to_sign(circuit):
    """What ties the document to a file and a program, and who answers for it."""
    _, page = report_on(circuit)
    for text in ("12ab" * 16, "standpipe 9.8.7", "Not for release to service", "pierces skin"):
        assert text in page.text
    for role in ("Drawn", "Checked", "Approved"):
        assert re.search(rf"\b{role}\s", page.text)


def test_names_are_text_and_never_markup(circuit):
    """Angle brackets of a name are read, not obeyed; also in the parts for pages."""
    report, page = report_on(circuit)
    assert "<b>Pump</b>" in page.text
    assert "Lift & <i>lower</i>" in page.text
    for part in html_parts(report, UNITS):
        assert "<b>Pump" not in part and "<i>lower" not in part
        Texts(part)


def test_a_page_needs_nothing_beside_it(circuit):
    """No script, no picture, sheet of styles or font from elsewhere; headings repeat."""
    report, page = report_on(circuit)
    assert not {"script", "link", "img", "iframe"} & set(page.tags)
    whole = html_page(report, UNITS, "<svg></svg>")
    assert "http://" not in whole and "https://" not in whole
    assert page.tags.count("thead") == page.tags.count("table") - 1  # the cautions have none
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
    assert re.search(r"Bench only\s+A\. Fitter\s+in force", after.text)
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


def test_failures_stand_only_if_they_were_worked_out(circuit):
    """Codes of the functions, what is lost, single points, and what costs nothing."""
    _, without = report_on(circuit)
    assert "Not worked out for this report" in without.text
    cases = (
        Case("0P1", "no_output", ("lifts",), ()),
        Case("L1", "blocked", (), ("lifts",)),
        Case("1A1", "stuck", (), ()),
    )
    table = FailureTable(("lifts", "spares"), cases, {"spares": "it reaches"})
    _, page = report_on(circuit, failures=table)
    assert "Not worked out" not in page.text
    assert re.search(r"0P1\s+<b>Pump</b>\s+no output\s+F1\s+–", page.text)
    assert re.search(r"L1\s+blocked\s+–\s+F1", page.text)
    assert re.search(r"Single points:\s+0P1\.", page.text)
    assert re.search(r"Cost nothing:\s+1A1 stuck\.", page.text)
    assert "FAILS without any failure: it reaches" in page.text


def test_an_empty_circuit_has_a_report_too():
    """Nothing is listed, and the missing requirements are said."""
    _, page = report_on(Circuit())
    assert "nothing has been shown" in page.text
