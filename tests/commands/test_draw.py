"""`standpipe draw`: a file or one line, and the same bytes each time."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

from editor.command_line import main

ROOT = Path(__file__).resolve().parents[2]
SAMPLE = "sample_circuits/bench_press.circuit.json"


def draw(out, **environment):
    """Draw the sample in a process of its own, without a display."""
    hidden = ("DISPLAY", "WAYLAND_DISPLAY", "QT_QPA_PLATFORM")
    inherited = {key: value for key, value in os.environ.items() if key not in hidden}
    return subprocess.run(
        [sys.executable, "-m", "editor", "draw", SAMPLE, "--to", str(out)],
        cwd=ROOT,
        env={**inherited, **environment},
        capture_output=True,
        timeout=60,
    )


@pytest.mark.parametrize("form", ["pdf", "svg", "png"])
def test_the_same_circuit_gives_the_same_bytes(form, tmp_path):
    """At another time, in another time zone, with other hash seeds."""
    first, second = tmp_path / f"first.{form}", tmp_path / f"second.{form}"
    one = draw(first, TZ="UTC", PYTHONHASHSEED="1")
    two = draw(second, TZ="Asia/Kolkata", PYTHONHASHSEED="2")
    assert (one.returncode, one.stdout, one.stderr) == (0, b"", b"")
    assert (two.returncode, two.stdout, two.stderr) == (0, b"", b"")
    assert len(first.read_bytes()) > 10_000
    assert first.read_bytes() == second.read_bytes()
    assert sorted(os.listdir(tmp_path)) == [first.name, second.name]


@pytest.mark.parametrize("name", ["sheet", "sheet.dxf", "pdf", "sheet.pdf.gz"])
def test_an_ending_that_is_no_form_is_refused(name, tmp_path, capsys):
    """The endings there are stand in the message."""
    assert main(["draw", str(ROOT / SAMPLE), "--to", str(tmp_path / name)]) == 2
    assert "must end in .pdf, .svg or .png" in capsys.readouterr().err
    assert os.listdir(tmp_path) == []


def test_a_sheet_that_cannot_be_written_is_told_in_one_line(tmp_path):
    """A missing folder: status 2, one line, no file."""
    result = draw(tmp_path / "missing" / "sheet.pdf")
    assert result.returncode == 2
    assert result.stderr.count(b"\n") == 1
    assert b"sheet.pdf: cannot be written: no such file or directory" in result.stderr
    assert os.listdir(tmp_path) == []
