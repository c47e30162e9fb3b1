"""`standpipe report`: a file or one line, and the same bytes each time."""

import json
import os
import re
import subprocess
import sys
from hashlib import sha256
from pathlib import Path

import pytest

from editor.command_line import main

ROOT = Path(__file__).resolve().parents[2]
SAMPLE = ROOT / "sample_circuits/bench_press.circuit.json"


def write_report(out, source=SAMPLE, **environment):
    """Write the report in a process of its own, without a display."""
    hidden = ("DISPLAY", "WAYLAND_DISPLAY", "QT_QPA_PLATFORM")
    inherited = {key: value for key, value in os.environ.items() if key not in hidden}
    return subprocess.run(
        [sys.executable, "-m", "editor", "report", str(source), "--to", str(out)],
        cwd=ROOT,
        env={**inherited, **environment},
        capture_output=True,
        timeout=60,
    )


@pytest.mark.parametrize("form", ["pdf", "html"])
def test_the_same_circuit_gives_the_same_bytes(form, tmp_path):
    """At another time, in another time zone, with other hash seeds."""
    first, second = tmp_path / f"first.{form}", tmp_path / f"second.{form}"
    one = write_report(first, TZ="UTC", PYTHONHASHSEED="1")
    two = write_report(second, TZ="Asia/Kolkata", PYTHONHASHSEED="2")
    assert (one.returncode, one.stdout, one.stderr) == (0, b"", b"")
    assert (two.returncode, two.stdout, two.stderr) == (0, b"", b"")
    assert len(first.read_bytes()) > 10_000
    assert first.read_bytes() == second.read_bytes()
    assert sorted(os.listdir(tmp_path)) == [first.name, second.name]


def test_the_page_has_the_checksum_of_the_file_and_the_drawing(tmp_path):
    """The SHA-256 is that of the bytes on the disk; names with brackets stay text."""
    circuit = json.loads(SAMPLE.read_text(encoding="utf-8"))
    circuit["components"][0]["name"] = "<b>bold</b>"
    circuit["title"]["name"] = "<script>alert(1)</script>"
    source, out = tmp_path / "x.circuit.json", tmp_path / "x.html"
    source.write_text(json.dumps(circuit), encoding="utf-8")
    assert write_report(out, source).returncode == 0
    page = out.read_text(encoding="utf-8")
    assert sha256(source.read_bytes()).hexdigest() in page
    assert "The file was not last written by this program" in page
    drawn = [v for v in circuit["requirements"]]
    assert not drawn and page.count("<svg") == page.count("</svg>") == 1
    assert "<?xml" not in page
    assert "<script" not in page and "<b>bold" not in page
    assert "&lt;b&gt;bold&lt;/b&gt;" in page


def test_the_pdf_has_pages_of_two_sizes(tmp_path):
    """Text on A4, the sheet in its own size (A4 is 210 mm or 595 points wide, ISO 216)."""
    out = tmp_path / "x.pdf"
    assert write_report(out).returncode == 0
    boxes = re.findall(rb"/MediaBox \[0 0 ([\d.]+) ([\d.]+)\]", out.read_bytes())
    sizes = [(round(float(width)), round(float(height))) for width, height in boxes]
    assert sizes[0] == sizes[2] == sizes[-1] == (595, 842)
    assert len(set(sizes)) == 2 and sizes[1] != (595, 842)


@pytest.mark.parametrize("form", ["pdf", "html"])
def test_a_report_that_cannot_be_written_is_told_in_one_line(form, tmp_path):
    """A missing folder: status 2, one line, no file."""
    result = write_report(tmp_path / "missing" / f"x.{form}")
    assert result.returncode == 2
    assert result.stderr.count(b"\n") == 1
    assert b"cannot be written: no such file or directory" in result.stderr
    assert os.listdir(tmp_path) == []


@pytest.mark.parametrize("name", ["report", "report.odt", "pdf", "report.pdf.gz"])
def test_an_ending_that_is_no_form_is_refused(name, tmp_path, capsys):
    """The endings there are stand in the message."""
    assert main(["report", str(SAMPLE), "--to", str(tmp_path / name)]) == 2
    assert "must end in .pdf or .html" in capsys.readouterr().err
    assert os.listdir(tmp_path) == []
