"""A report on a small lift, as the text of its page."""

import re
from html.parser import HTMLParser
from types import SimpleNamespace

from analysis import Circuit
from analysis.report import make_report
from analysis.report_html import html_page

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


def lift():
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
    """The text that follows the last place where a heading stands."""
    flat = re.sub(r"\s+", " ", text)
    return flat[flat.rindex(start) :][:400]
