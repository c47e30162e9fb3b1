"""The command line as a whole: help, exit status, one line for what is wrong, no Qt.

Exit status and commands follow the project's contract.
"""

import json
import os
import signal
import subprocess
import sys
from pathlib import Path

import pytest

from editor import command_line
from editor.command_line import COMMANDS, main

ROOT = Path(__file__).resolve().parents[2]
SAMPLE = "sample_circuits/bench_press.circuit.json"
NAMES = [command.__name__.rpartition(".")[2] for command in COMMANDS]
WITHOUT_SCREEN = {
    key: value
    for key, value in os.environ.items()
    if key not in ("DISPLAY", "WAYLAND_DISPLAY", "QT_QPA_PLATFORM")
}


def run(*arguments, **options):
    """The program in a process of its own, without a screen."""
    options = {"env": WITHOUT_SCREEN, "cwd": ROOT, "capture_output": True, **options}
    return subprocess.run([sys.executable, "-m", "editor", *arguments], timeout=60, **options)


@pytest.mark.parametrize("command", [[], *[[name] for name in NAMES]])
def test_every_help_shows_an_example(command, capsys):
    """`--help` ends well, and shows how the command is typed."""
    assert main([*command, "--help"]) == 0
    text = capsys.readouterr().out
    assert "example" in text
    assert f"standpipe {' '.join(command)}".strip() in text.partition("example")[2]


def test_the_help_lists_every_command_and_the_cautions(capsys):
    """Nobody has to guess what there is, or that it can hurt."""
    assert main(["--help"]) == 0
    text = capsys.readouterr().out
    assert all(f"    {name} " in text for name in NAMES)
    assert "licensed persons decide" in " ".join(text.split())


def test_the_version_is_told(capsys):
    """`--version` ends well."""
    assert main(["--version"]) == 0
    assert capsys.readouterr().out.startswith("standpipe ")


WRONG = [
    (["readings"], "FILE"),
    (["readings", SAMPLE, "--jsno"], "--jsno"),
    (["readings", SAMPLE, "another"], "another"),
    (["readings", "missing.circuit.json"], "missing.circuit.json: cannot be read"),
    (["readings", "README.md"], "README.md: line 1, column 1: is not JSON"),
    (["readings", SAMPLE, "--set"], "--set"),
    (["kinds", "relif_valve"], "relief_valve"),
    (["raedings", SAMPLE], "did you mean 'readings'?"),
    (["raedings"], "did you mean 'readings'?"),
    (["absent.json", SAMPLE], "the commands are readings, check"),
    (["absent.json"], "no such file or command"),
    (["sample_circuits"], "is no file"),
    (["--json"], "COMMAND"),
    (["parts", SAMPLE, "--csv", "missing_folder/parts.csv"], "missing_folder/parts.csv: cannot"),
]


@pytest.mark.parametrize(("arguments", "words"), WRONG)
def test_what_is_wrong_is_told_in_one_line(arguments, words, capsys, monkeypatch):
    """Status 2, one line on standard error, nothing on standard output."""
    monkeypatch.chdir(ROOT)
    assert main(arguments) == 2
    output, errors = capsys.readouterr()
    assert output == ""
    assert errors.count("\n") == 1
    assert words in errors


def test_the_program_ends_with_the_status_and_without_a_traceback():
    """What `main` returns is what the shell sees."""
    result = run("readings", "missing.circuit.json")
    assert result.returncode == 2
    assert result.stdout == b""
    assert result.stderr == b"missing.circuit.json: cannot be read: no such file or directory\n"


NO_QT = """
import sys
for name in ("PySide6", "shiboken6", "pyqtgraph"):
    sys.modules[name] = None
from editor.command_line import main
sys.exit(main(sys.argv[1:]))
"""


@pytest.mark.parametrize("command", ["readings", "check", "parts", "kinds"])
def test_commands_work_where_there_is_no_qt(command):
    """Only the editor and what draws need it."""
    arguments = [command] if command == "kinds" else [command, SAMPLE]
    result = subprocess.run(
        [sys.executable, "-c", NO_QT, *arguments], cwd=ROOT, capture_output=True, timeout=60
    )
    assert result.returncode == 0, result.stderr
    assert result.stdout


@pytest.mark.parametrize(
    ("environment", "words"),
    [({}, "there is no display"), ({"DISPLAY": ":987"}, "the display :987 does not answer")],
)
@pytest.mark.parametrize("arguments", [[], [SAMPLE]])
def test_without_a_display_the_editor_says_what_works(environment, words, arguments):
    """One line that names the commands that need no display, and no crash of Qt."""
    result = run(*arguments, env={**WITHOUT_SCREEN, **environment})
    line = result.stderr.decode()
    assert result.returncode == 2
    assert line.count("\n") == 1
    assert words in line
    assert all(name in line for name in NAMES)


def test_a_reader_that_stops_early_is_no_error():
    """`standpipe kinds --json | true`."""
    with subprocess.Popen(
        [sys.executable, "-m", "editor", "kinds", "--json"],
        cwd=ROOT,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
    ) as process:
        process.stdout.close()  # long before the first line comes
        assert process.stderr.read() == b""
        assert process.wait(30) == 0


def test_an_output_that_cannot_be_written_is_told():
    """Standard output on a full disk: status 2 and one line."""
    with open("/dev/full", "wb") as full:
        result = run("kinds", "--json", stdout=full, stderr=subprocess.PIPE, capture_output=False)
    assert result.returncode == 2
    assert b"no space left" in result.stderr
    assert result.stderr.count(b"\n") == 1


def test_ctrl_c_is_quiet(capsys, monkeypatch):
    """130, as shells have it, and no traceback."""

    def interrupt(_arguments):
        raise KeyboardInterrupt

    monkeypatch.setattr(command_line, "_execute", interrupt)
    assert main(["kinds"]) == 128 + signal.SIGINT
    assert capsys.readouterr() == ("", "")


def test_a_terminal_without_the_characters_still_shows_the_rest():
    """An ASCII terminal gets codes for what it cannot show."""
    environment = {**WITHOUT_SCREEN, "PYTHONIOENCODING": "ascii", "PYTHONUTF8": "0"}
    result = run("readings", SAMPLE, env=environment)
    assert result.returncode == 0, result.stderr
    assert b"m\\xb3/s" in result.stdout


def test_an_error_in_the_file_stays_one_line_whatever_it_holds(tmp_path, capsys):
    """Line breaks and control characters of the file do not reach the terminal."""
    path = tmp_path / "evil.circuit.json"
    record = {"id": "0P1", "kind": "pump\n\x1b[2J"}
    raw = {"format": "standpipe-circuit", "version": 1, "components": [record], "lines": []}
    path.write_text(json.dumps(raw))
    assert main(["check", str(path)]) == 2
    errors = capsys.readouterr().err
    assert errors.count("\n") == 1
    assert "\x1b" not in errors
    assert f"{path}: components[0].kind: " in errors
