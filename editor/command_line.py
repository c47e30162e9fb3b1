"""The one program: `standpipe`, also `python -m editor`.

Each command has a module in `editor.commands`, listed in `COMMANDS`. Exit status: 0 done
and nothing wrong; 1 done, and what was checked does not hold; 2 the request or the file is
at fault, said in one line on standard error.
"""

from __future__ import annotations

import argparse
import contextlib
import os
import sys
import traceback
from collections.abc import Sequence
from difflib import get_close_matches
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path
from typing import NoReturn

from analysis.errors import CircuitError
from analysis.plain_text import one_line
from editor.commands import check, draw, failures, kinds, open_editor, parts, readings, report, run
from editor.commands.common import REFUSED, SAMPLE

COMMANDS = (readings, check, run, failures, parts, draw, report, kinds)
"""The commands in the order of the help. Each module has `add_parser` and `execute`."""

_LONGEST_MESSAGE = 1000

_INTERRUPTED = 130
"""Exit status after Ctrl-C, as shells have it: 128 and the number of the signal."""

_CAUTIONS = (
    "Readings are computed from what was drawn. Fluid under pressure pierces skin, pressure stays\n"
    "stored, gear moves without warning. Approved data, local codes and licensed persons decide;\n"
    "nothing here is a release to service."
)


class _Parser(argparse.ArgumentParser):
    """A parser whose errors are one line, told by `main` like all others."""

    def error(self, message: str) -> NoReturn:
        raise _UsageError(f"{self.prog}: {message}; see '{self.prog} --help'")


class _UsageError(Exception):
    """The arguments make no sense; the message is one line."""


def main(argv: Sequence[str] | None = None) -> int:
    """Do what the command line asks; the return value is the exit status."""
    arguments = list(sys.argv[1:] if argv is None else argv)
    for stream in (sys.stdout, sys.stderr):
        # a terminal that lacks a character shows its code instead of ending the program
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="backslashreplace")
    try:
        status = _execute(arguments)
        sys.stdout.flush()
    except (CircuitError, _UsageError) as error:
        return _refuse(str(error))
    except SystemExit as end:  # argparse ends the program after --help and --version
        return end.code if isinstance(end.code, int) else 0
    except KeyboardInterrupt:
        return _INTERRUPTED
    except BrokenPipeError:
        _drop_output()  # whoever read it has enough of it
        return 0
    except OSError as error:
        _drop_output()
        reason = (error.strerror or str(error)).lower()
        return _refuse(f"standpipe: the output cannot be written: {reason}; make room for it")
    except Exception as error:
        if sys.flags.dev_mode:
            raise
        return _refuse(_own_fault(error))
    return status


def _own_fault(error: Exception) -> str:
    """The message for a fault of the program: no traceback, but where to look for it."""
    frames = traceback.extract_tb(error.__traceback__)
    where = f"{Path(frames[-1].filename).name} line {frames[-1].lineno}" if frames else "start"
    return (
        f"standpipe: a fault of the program ({type(error).__name__} in {where}: {error}); "
        "please report it with the circuit; 'python -X dev -m editor …' shows more"
    )


def _drop_output() -> None:
    """Keep Python from writing once more, at its end, what could not be written."""
    with contextlib.suppress(OSError, ValueError):
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


def _refuse(message: str) -> int:
    print(one_line(message, _LONGEST_MESSAGE), file=sys.stderr)
    return REFUSED


def _execute(arguments: list[str]) -> int:
    parser, names = _parser()
    first = next((a for a in arguments if not a.startswith("-")), None)
    if first not in names and {"-h", "--help"} & set(arguments):
        arguments = ["--help"]
        first = None
    if first in names or (first is None and arguments):
        parsed = parser.parse_args(arguments)
    else:
        _check_misspelled(arguments, names)
        parsed = _editor_parser().parse_args(arguments)
        parsed.command_names = names
    status: int = parsed.execute(parsed)
    return status


def _check_misspelled(arguments: list[str], names: list[str]) -> None:
    """Raise _UsageError for a word that is no file but nearly a command."""
    first = next((a for a in arguments if not a.startswith("-")), "")
    near = [] if os.path.exists(first) else get_close_matches(first, names, n=1)
    if near:
        raise _UsageError(f"standpipe: '{first}' is no command; did you mean '{near[0]}'?")
    if len(arguments) > 1:
        raise _UsageError(
            f"standpipe: '{first}' is no command, and the editor opens one file; "
            f"the commands are {', '.join(names)}"
        )


def _parser() -> tuple[_Parser, list[str]]:
    """The parser of all commands, and their names."""
    parser = _Parser(
        prog="standpipe",
        usage="standpipe [FILE]\n       standpipe COMMAND …",
        description="Draws the hydraulic circuits of old machines and aircraft, and shows their\n"
        "pressures and flows. With a file alone, or with nothing, it opens the editor.",
        epilog=f"example:\n  standpipe {SAMPLE}\n\n"
        f"'standpipe COMMAND --help' tells more of a command.\n\n{_CAUTIONS}",
        formatter_class=argparse.RawDescriptionHelpFormatter,
        allow_abbrev=False,
    )
    parser.add_argument("--version", action="version", version=f"standpipe {program_version()}")
    commands = parser.add_subparsers(
        title="commands",
        metavar="COMMAND",
        required=True,
        prog="standpipe",
        parser_class=_Parser,
    )
    for command in COMMANDS:
        command.add_parser(commands)
    return parser, list(commands.choices)


def _editor_parser() -> _Parser:
    parser = _Parser(prog="standpipe", add_help=False, allow_abbrev=False)
    parser.add_argument("file", nargs="?", metavar="FILE")
    parser.set_defaults(execute=open_editor.execute)
    return parser


def program_version() -> str:
    """The version that is installed."""
    try:
        return version("standpipe")
    except PackageNotFoundError:
        return "(not installed)"
