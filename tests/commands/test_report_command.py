"""`standpipe report`: a file or one line, and the same bytes each time."""

import json
import os
import re
import subprocess
import sys
from hashlib import sha256
from pathlib import Path

import pytest
from PySide6.QtCore import QBuffer, QByteArray, QIODevice
from PySide6.QtGui import QPdfWriter

from analysis import Circuit, read_circuit
from analysis.circuit_file import write_circuit
from analysis.report import make_report
from editor.command_line import main
from editor.report_pages import report_pdf, set_out
from editor.sheet_export import start_drawing
from editor.unit_presets import DisplayUnits

# Drawn in this process: on the whole application that windows need too. The one without
# widgets that a command makes for itself would end the first test that shows a window.
pytestmark = pytest.mark.usefixtures("qapp")

ROOT = Path(__file__).resolve().parents[2]
SAMPLE = ROOT / "sample_circuits/bench_press.circuit.json"


EMERGENCY = ROOT / "sample_circuits/emergency_pump.circuit.json"


@pytest.fixture
def small(tmp_path):
    """A circuit that is quick to report on: a pump, a jack, a requirement, a procedure."""
    circuit = Circuit()
    circuit.add("reservoir", id="0Z1")
    circuit.add("hand_pump", id="0P1")
    circuit.add("cylinder_single_acting", id="1A1", load="100 N")
    circuit.connect("0Z1.supply", "0P1.inlet")
    circuit.connect("0P1.outlet", "1A1.cap")
    circuit.requirements = [
        {"name": "lifts", "kind": "reaches", "from": ["0P1"], "targets": ["1A1.cap"]}
    ]
    circuit.procedures = [
        {
            "name": "Lift",
            "start": {"0P1": {"running": True}},
            "expect": [{"by": "30 s", "signal": "1A1.extension", "at_least": "1 mm"}],
        }
    ]
    path = tmp_path / "small.circuit.json"
    write_circuit(circuit, path)
    return path


def write_report(out, source=SAMPLE, **environment):
    """Write the report in a process of its own, without a display."""
    hidden = ("DISPLAY", "WAYLAND_DISPLAY", "QT_QPA_PLATFORM")
    inherited = {key: value for key, value in os.environ.items() if key not in hidden}
    return subprocess.run(
        [sys.executable, "-m", "editor", "report", str(source), "--to", str(out)],
        cwd=ROOT,
        env={**inherited, **environment},
        capture_output=True,
        timeout=100,
    )


@pytest.mark.parametrize("form", ["pdf", "html"])
def test_the_same_circuit_gives_the_same_bytes(form, tmp_path, small):
    """At another time, in another time zone, with other hash seeds."""
    first, second = tmp_path / f"first.{form}", tmp_path / f"second.{form}"
    one = write_report(first, small, TZ="UTC", PYTHONHASHSEED="1")
    two = write_report(second, small, TZ="Asia/Kolkata", PYTHONHASHSEED="2")
    assert (one.returncode, one.stdout, one.stderr) == (0, b"", b"")
    assert (two.returncode, two.stdout, two.stderr) == (0, b"", b"")
    assert len(first.read_bytes()) > 10_000
    assert first.read_bytes() == second.read_bytes()
    assert sorted(os.listdir(tmp_path)) == [first.name, second.name, small.name]


def test_the_page_has_the_checksum_of_the_file_and_the_drawing(tmp_path):
    """The SHA-256 is that of the bytes on the disk; names with brackets stay text."""
    circuit = json.loads(SAMPLE.read_text(encoding="utf-8"))
    circuit["procedures"] = []
    circuit["components"][0]["name"] = "<b>bold</b>"
    circuit["title"]["name"] = "<script>alert(1)</script>"
    source, out = tmp_path / "x.circuit.json", tmp_path / "x.html"
    source.write_text(json.dumps(circuit), encoding="utf-8")
    assert write_report(out, source).returncode == 0
    page = out.read_text(encoding="utf-8")
    assert sha256(source.read_bytes()).hexdigest() in page
    assert "The file was not last written by this program" in page
    assert page.count("<svg") == page.count("</svg>") == 1
    assert "<?xml" not in page
    assert "<script" not in page and "<b>bold" not in page
    assert "&lt;b&gt;bold&lt;/b&gt;" in page


def test_the_pdf_has_pages_of_two_sizes(tmp_path, small):
    """Text on A4, the sheet in its own size (A4 is 210 mm or 595 points wide, ISO 216)."""
    out = tmp_path / "x.pdf"
    assert write_report(out, small).returncode == 0
    boxes = re.findall(rb"/MediaBox \[0 0 ([\d.]+) ([\d.]+)\]", out.read_bytes())
    sizes = [(round(float(width)), round(float(height))) for width, height in boxes]
    assert sizes[0] == sizes[2] == sizes[-1] == (595, 842)
    assert len(set(sizes)) == 2 and sizes[1] != (595, 842)


@pytest.mark.parametrize("form", ["pdf", "html"])
def test_a_report_that_cannot_be_written_is_told_in_one_line(form, tmp_path, small):
    """A missing folder: status 2, one line, no file."""
    result = write_report(tmp_path / "missing" / f"x.{form}", small)
    assert result.returncode == 2
    assert result.stderr.count(b"\n") == 1
    assert b"cannot be written: no such file or directory" in result.stderr
    assert os.listdir(tmp_path) == [small.name]


@pytest.mark.parametrize("name", ["report", "report.odt", "pdf", "report.pdf.gz"])
def test_an_ending_that_is_no_form_is_refused(name, tmp_path, capsys):
    """The endings there are stand in the message."""
    assert main(["report", str(SAMPLE), "--to", str(tmp_path / name)]) == 2
    assert "must end in .pdf or .html" in capsys.readouterr().err
    assert os.listdir(tmp_path) == []


def page_of(source, out, *more):
    """The HTML report, with its sheet and the drawings of its verdicts taken out."""
    assert main(["report", str(source), "--to", str(out), *more]) == 0
    return re.sub(r"<svg.*?</svg>", "<svg>", out.read_text(encoding="utf-8"), flags=re.DOTALL)


def test_failures_are_there_without_asking_and_with_procedures_if_asked(small, tmp_path):
    """Without the option against the requirements, which takes no time; with it against all."""
    plain = page_of(small, tmp_path / "plain.html")
    assert "procedures were not run with the failures" in plain
    assert re.search(r"<td>no output</td><td>R1</td>", plain)
    full = page_of(small, tmp_path / "full.html", "--failures")
    assert "procedures were not run" not in full
    assert re.search(r"<td>no output[^<]*</td><td>R1, P1</td>", full)


def test_each_requirement_has_its_drawing(small, tmp_path):
    """The sheet, and the way of the one requirement; no element refers to another's parts."""
    page = tmp_path / "x.html"
    text = page_of(small, page)
    assert text.count("<svg>") == 2
    whole = page.read_text(encoding="utf-8")
    assert "url(" not in whole and "xlink:href" not in whole


def test_a_circuit_without_functions_says_so(small, tmp_path):
    """No failure is said to cost nothing where there was nothing that it could cost."""
    circuit = read_circuit(small)
    circuit.requirements, circuit.procedures = [], []
    write_circuit(circuit, small)
    text = page_of(small, tmp_path / "x.html")
    assert "The circuit has no functions that a failure could cost" in text
    assert "Cost nothing" not in text


def test_pages_are_numbered_and_the_list_of_contents_is_right(tmp_path):
    """The page that the contents name for a section is the one where its heading stands."""
    circuit = read_circuit(EMERGENCY)
    circuit.procedures = []
    start_drawing()
    report = make_report(
        circuit, DisplayUnits(circuit), file_name="x", file_checksum="0" * 64, version="1"
    )
    data = QByteArray()
    buffer = QBuffer(data)
    buffer.open(QIODevice.OpenModeFlag.WriteOnly)
    writer = QPdfWriter(buffer)
    writer.setResolution(1200)
    pages = set_out(report, writer, "x")
    found = {
        item.anchor: number
        for number, page in enumerate([*pages.front, None, *pages.body], start=1)
        for _, item in (page.items if page else ())
        if getattr(item, "anchor", "")
    }
    found["section-2"] = len(pages.front) + 1
    assert pages.numbers == found and len(found) == 11
    del writer
    document = report_pdf(report)
    assert len(re.findall(rb"/MediaBox", document)) == pages.count
    for page in [*pages.front, *pages.body]:
        assert page.filled <= 257.0 * 1200 / 25.4
