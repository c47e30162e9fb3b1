"""The program's last defences: no traceback, no circuit overwritten, no half JSON."""

import json
import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from editor.command_line import main

ROOT = Path(__file__).parents[2]
SAMPLE = ROOT / "sample_circuits" / "bench_press.circuit.json"


@pytest.fixture
def file(tmp_path: Path) -> Path:
    """A circuit file of one's own."""
    return Path(shutil.copy(SAMPLE, tmp_path / "press.circuit.json"))


def test_a_fault_of_the_program_is_one_line(file, capsys, monkeypatch):
    """Even what nobody foresaw ends with status 2 and one line that says where it was."""

    def fail(_circuit):
        raise ZeroDivisionError("nobody foresaw this")

    monkeypatch.setattr("analysis.checks.check", fail)
    assert main(["check", str(file)]) == 2
    out, err = capsys.readouterr()
    assert not out
    assert err.count("\n") == 1
    assert "nobody foresaw this" in err and "test_never_a_traceback.py" in err


@pytest.mark.parametrize("how", ["same", "link", "hard"])
def test_no_output_goes_over_the_circuit_it_is_made_from(how, file, capsys):
    """The circuit is refused as an output, under whatever name it is given."""
    before = file.read_bytes()
    target = file.with_name("other.csv")
    if how == "same":
        target = file
    elif how == "link":
        target.symlink_to(file)
    else:
        os.link(file, target)
    assert main(["parts", str(file), "--csv", str(target)]) == 2
    assert "is the circuit file itself; name another" in capsys.readouterr().err
    assert file.read_bytes() == before


@pytest.mark.parametrize("target", ["absent/parts.csv", "locked", "/dev/full", "x" * 300])
def test_an_output_that_cannot_be_written_leaves_nothing(target, file, tmp_path, capsys):
    """No folder, a folder in the way, a full disk, a name too long: one line, no file."""
    (tmp_path / "locked").mkdir()
    before = sorted(tmp_path.rglob("*"))
    assert main(["parts", str(file), "--csv", os.path.join(tmp_path, target)]) == 2
    err = capsys.readouterr().err
    assert err.count("\n") == 1 and "cannot be written" in err
    assert sorted(tmp_path.rglob("*")) == before


def test_a_failing_write_keeps_the_old_output(file, tmp_path, capsys, monkeypatch):
    """A disk that fills up while the new list is written leaves the old list as it was."""
    target = tmp_path / "parts.csv"
    target.write_text("the old list")

    def full(_descriptor):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("os.fsync", full)
    assert main(["parts", str(file), "--csv", str(target)]) == 2
    assert "no space left" in capsys.readouterr().err
    assert target.read_text() == "the old list"
    assert sorted(p.name for p in tmp_path.iterdir()) == ["parts.csv", "press.circuit.json"]


def test_a_misspelled_command_is_not_taken_for_a_file(capsys):
    """The nearest command is proposed, with or without a file behind it."""
    for words in (["chek"], ["reading", str(SAMPLE)]):
        assert main(words) == 2
        err = capsys.readouterr().err
        assert err.count("\n") == 1 and "did you mean" in err


def test_machine_output_is_json_where_the_pipe_is_not_utf_8(file):
    """RFC 8259 section 7: a character that cannot be sent is escaped by \\u and digits."""
    raw = json.loads(file.read_text())
    raw["requirements"] = [
        {"name": "Prüfung Ω", "kind": "reaches", "from": ["0P1"], "targets": ["1A1.cap"]}
    ]
    file.write_text(json.dumps(raw))
    result = subprocess.run(
        [sys.executable, "-m", "editor", "check", str(file), "--json"],
        cwd=ROOT,
        env={**os.environ, "PYTHONIOENCODING": "ascii"},
        capture_output=True,
        check=False,
    )
    assert result.returncode in (0, 1), result.stderr
    assert json.loads(result.stdout.decode("ascii"))["requirements"][0]["name"] == "Prüfung Ω"


def test_every_sample_passes_every_command_in_machine_form(capsys):
    """JSON holds plain values only: numpy's own booleans would end the program."""
    for sample in sorted(SAMPLE.parent.glob("*.circuit.json")):
        assert main(["readings", str(sample), "--json"]) == 0
        found = json.loads(capsys.readouterr().out)
        assert found["converged"] is True
        assert main(["check", str(sample), "--json"]) in (0, 1)
        assert set(json.loads(capsys.readouterr().out)) >= {"findings", "requirements"}
