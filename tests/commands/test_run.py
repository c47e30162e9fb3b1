"""`standpipe run` against the contract's sections 1 and 6; times by volume over flow (exact)."""

import csv
import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from analysis import write_circuit
from editor.command_line import main
from tests.analysis.redundant_press import PUMP_FLOW, STROKE_VOLUME, redundant_press

ROOT = Path(__file__).parents[2]


@pytest.fixture
def file(tmp_path):
    """The press with two pumps, in a file."""
    path = str(tmp_path / "press.circuit.json")
    circuit = redundant_press()
    circuit.components["0S1"].name = "=1+1"
    write_circuit(circuit, path)
    return path


def strict(text):
    """JSON without what RFC 8259 does not know."""

    def refuse(word):
        raise AssertionError(f"{word} is no JSON")

    return json.loads(text, parse_constant=refuse)


def test_json_has_the_form_of_the_contract(file, capsys):
    """Section 6: all signals, 200 intervals, events and expectations."""
    assert main(["run", file, "--procedure", "extend", "--json"]) == 0
    form = strict(capsys.readouterr().out)
    assert {"time", "signals", "events", "expectations"} <= set(form)
    assert len(form["time"]) == 201
    assert form["time"][-1] == pytest.approx(100.0)
    assert all(len(values) == 201 for values in form["signals"].values())
    assert {"1A1.extension", "1A1.cap.pressure", "0P2.strokes", "L11.flow"} <= set(form["signals"])
    (expectation,) = form["expectations"]
    assert expectation["text"] == "1A1.extension at least 399 mm by 100 s"
    assert expectation["holds"] is True


def test_set_applies_before_start_and_slows_the_stroke(file, capsys):
    """Without the hand pump the stroke takes its volume over the pump's flow: 4.0 s."""
    options = ["--procedure", "extend", "--set", "0P2.running=false", "--json"]
    assert main(["run", file, *options]) == 0
    form = strict(capsys.readouterr().out)
    reached = form["expectations"][0]["time"]
    assert reached == pytest.approx(STROKE_VOLUME / PUMP_FLOW * 399 / 400, rel=0.01)


def test_without_a_procedure_it_runs_as_it_stands(file, capsys):
    """No lever moves; the run ends at `--until` and is sampled at `--every`."""
    assert main(["run", file, "--until", "2 s", "--every", "500 ms", "--json"]) == 0
    form = strict(capsys.readouterr().out)
    assert form["time"] == pytest.approx([0.0, 0.5, 1.0, 1.5, 2.0])
    assert form["expectations"] == []
    # 125 + 10 cm3/s on 1257 mm2: 107 mm/s
    assert form["signals"]["1A1.extension"][-1] == pytest.approx(0.215, rel=0.01)


def test_signals_named_are_the_only_ones(file, capsys):
    """`--signal`, several times, in the order asked."""
    names = ["1A1.extension", "0P2.strokes"]
    options = [word for name in names for word in ("--signal", name)]
    assert main(["run", file, "--until", "1 s", *options, "--json"]) == 0
    assert list(strict(capsys.readouterr().out)["signals"]) == names


def test_an_expectation_that_fails_is_status_1(file, capsys):
    """Both pumps lost: nothing moves, and the text says so."""
    options = ["--set", "0P1.running=false", "--set", "0P2.running=false"]
    assert main(["run", file, "--procedure", "extend", *options]) == 1
    out = capsys.readouterr().out
    assert "FAILS: 1A1.extension at least 399 mm by 100 s" in out
    assert "0 of 1 expectations hold" in out


def test_a_step_that_was_never_worked_is_told(file, capsys):
    """It waits for the end of the stroke, which does not come without a pump."""
    circuit = redundant_press()
    (plan,) = circuit.procedures
    after = {"signal": "1A1.extension", "at_least": "399 mm"}
    steps = [{"at": "1 s", "set": {"0P1": {"running": False}}}, {"after": after, "set": {}}]
    circuit.set_field("", "procedures", [plan | {"steps": steps}])
    write_circuit(circuit, file)
    options = ["--set", "0P1.running=false", "--set", "0P2.running=false"]
    assert main(["run", file, "--procedure", "extend", *options]) == 1
    assert "the last step was never worked: what comes before" in capsys.readouterr().out


def test_text_shows_events_and_display_units(file, capsys):
    """The stop is told; the extension stands in the unit that the circuit is shown in."""
    circuit = redundant_press()
    circuit.display_units = {"length": "in"}
    write_circuit(circuit, file)
    assert main(["run", file, "--procedure", "extend"]) == 0
    out = capsys.readouterr().out
    assert "reaches its stop, extended" in out
    assert "holds: 1A1.extension" in out
    # 400 mm over 25.4 mm/in
    assert "15.75 in" in out


def test_csv_names_units_and_is_rectangular(file, tmp_path, capsys):
    """RFC 4180; SI units in the headings."""
    target = tmp_path / "out.csv"
    options = ["--signal", "1A1.cap.pressure", "--signal", "0V1.open"]
    assert main(["run", file, "--until", "1 s", *options, "--csv", str(target)]) == 0
    assert not capsys.readouterr().out
    rows = list(csv.reader(target.read_text(encoding="utf-8").splitlines()))
    assert rows[0] == ["time [s]", "1A1.cap.pressure [Pa]", "0V1.open"]
    assert len(rows) == 202
    assert rows[-1][2] == "true"
    # 500 N on the cap area, and the loss of the rod line
    assert float(rows[-1][1]) > 500.0 / 1.2566e-3
    again = tmp_path / "again.csv"
    assert main(["run", file, "--until", "1 s", *options, "--csv", str(again)]) == 0
    assert again.read_bytes() == target.read_bytes()


@pytest.mark.parametrize(
    ("options", "said"),
    [
        (["--procedure", "nonsense"], "no procedure 'nonsense'; the file has extend"),
        (["--signal", "1A9.extension"], "1A9.extension"),
        (["--signal", "1A1.colour"], "1A1.colour"),
        (["--signal", "0P1.extension"], "0P1.extension"),
        (["--signal", "1A1.volume"], "1A1 is a cylinder; it has extension, velocity, force, lock"),
        (["--until", "5 bar"], "--until"),
        (["--until", "20"], "--until"),
        (["--until=-3 s"], "--until"),
        (["--every", "0 s"], "--every"),
        (["--every", "1 us"], "samples"),
        (["--set", "0P1.colour=red"], "--set 0P1.colour"),
        (["--json", "--csv", "x.csv"], "--csv"),
    ],
)
def test_a_bad_request_is_one_line_and_status_2(file, capsys, options, said):
    """Contract: what is at fault and the mend, on one line of standard error."""
    assert main(["run", file, *options]) == 2
    out, err = capsys.readouterr()
    assert not out
    assert err.count("\n") == 1
    assert said in err
    assert "Traceback" not in err


def test_a_step_that_names_what_is_not_there_is_told_with_its_place(file, tmp_path, capsys):
    """The place in the file, before anything has moved."""
    with open(file, encoding="utf-8") as stream:
        written = json.load(stream)
    step = {"at": "1 s", "set": {"9V9": {"fault": "none"}}}
    written["procedures"] = [{"name": "p", "steps": [step]}]
    broken = tmp_path / "broken.circuit.json"
    broken.write_text(json.dumps(written), encoding="utf-8")
    assert main(["run", str(broken), "--procedure", "p"]) == 2
    err = capsys.readouterr().err
    assert err.count("\n") == 1
    assert "broken.circuit.json: procedures[0].steps[0].set.9V9: " in err


def test_interrupted_run_leaves_no_file(file, tmp_path, capsys, monkeypatch):
    """Ctrl-C: status 130, nothing written, nothing said."""

    def interrupt(*_arguments, **_options):
        raise KeyboardInterrupt

    monkeypatch.setattr("analysis.runs.run", interrupt)
    target = tmp_path / "out.csv"
    assert main(["run", file, "--csv", str(target)]) == 130
    assert not target.exists()
    assert capsys.readouterr() == ("", "")


def test_no_progress_but_on_a_terminal_and_no_qt(file):
    """A pipe gets no progress; Qt is not loaded."""
    code = (
        "import sys; from editor.command_line import main; "
        f"status = main(['run', {file!r}, '--until', '1 s']); "
        "assert not [m for m in sys.modules if m.startswith('PySide6')]; sys.exit(status)"
    )
    done = subprocess.run(
        [sys.executable, "-c", code],
        capture_output=True,
        text=True,
        cwd=ROOT,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
        check=False,
    )
    assert done.returncode == 0
    assert done.stderr == ""
    assert "no expectations" in done.stdout
