"""What the commands have in common: arguments, reading, settings, writing out."""

from __future__ import annotations

import argparse
import contextlib
import json
import os
import sys
from collections.abc import Callable, Iterable
from typing import TYPE_CHECKING, Any

from analysis.errors import CircuitError

if TYPE_CHECKING:
    from analysis.circuit import Circuit

Commands = Any
"""What `ArgumentParser.add_subparsers` returns; argparse has no public name for it."""

Execute = Callable[[argparse.Namespace], int]

DONE, FAILED, REFUSED = 0, 1, 2
"""Exit status: nothing wrong; what was checked does not hold; request or file at fault."""

SAMPLE = "sample_circuits/emergency_pump.circuit.json"
"""The circuit that the examples of `--help` use."""


class RequestError(CircuitError, ValueError):
    """What was asked for on the command line cannot be done; one line says why."""


def new_parser(
    commands: Commands, name: str, execute: Execute, does: str, *examples: str
) -> argparse.ArgumentParser:
    """A command's parser, with examples at the end of its help."""
    shown = "\n".join(f"  standpipe {example}" for example in examples)
    parser: argparse.ArgumentParser = commands.add_parser(
        name,
        help=does,
        description=does[0].upper() + does[1:] + ".",
        epilog=f"{'example' if len(examples) == 1 else 'examples'}:\n{shown}",
        formatter_class=argparse.RawDescriptionHelpFormatter,
        allow_abbrev=False,
    )
    parser.set_defaults(execute=execute)
    return parser


def add_file(parser: argparse.ArgumentParser) -> None:
    """The argument FILE."""
    parser.add_argument("file", metavar="FILE", help="a circuit file, *.circuit.json")


def add_json(parser: argparse.ArgumentParser) -> None:
    """The option --json."""
    parser.add_argument("--json", action="store_true", help="write JSON for programs, all in SI")


def add_set(parser: argparse.ArgumentParser) -> None:
    """The option --set, which may stand several times."""
    parser.add_argument(
        "--set",
        action="append",
        default=[],
        metavar="ID.NAME=VALUE",
        dest="changes",
        help="a setting, state or fault for this once, like 0P1.speed='1500 rpm', "
        "1V1.position=left or L7.fault=ruptured; may stand several times",
    )


def print_json(value: Any) -> None:
    """JSON on standard output; every number is finite."""
    # whole before the first character is written, so that no half of it is ever taken for all
    # and in escapes where the output is not UTF-8, since JSON knows no other substitutes
    plain = (getattr(sys.stdout, "encoding", None) or "").lower() not in ("utf-8", "utf8")
    sys.stdout.write(json.dumps(value, indent=2, ensure_ascii=plain, allow_nan=False) + "\n")


def write_output(arguments: argparse.Namespace, path: str, data: bytes) -> None:
    """Write an output file, but never over the circuit that it is made from.

    Raises
    ------
    CircuitError
        If it is the circuit file, under whatever name, or cannot be written whole.
    """
    from analysis.output_file import write_whole

    same = False
    with contextlib.suppress(OSError, ValueError):  # it is not there yet, or cannot be
        same = os.path.samefile(arguments.file, path)
    if same:
        raise RequestError("is the circuit file itself; name another file to write", path)
    write_whole(path, data)


def open_circuit(arguments: argparse.Namespace) -> Circuit:
    """The circuit of FILE with what `--set` asks for.

    Raises
    ------
    CircuitError
        With the file or the option, the place in it, and the mend.
    """
    # the file and its library are loaded only when a command needs them, so that help is quick
    from analysis.circuit_file import read_circuit

    circuit = read_circuit(arguments.file)
    set_values(circuit, getattr(arguments, "changes", ()))
    return circuit


def get_ready() -> None:
    """Compile the solver where that has not been done on this machine yet; says so."""
    from analysis.preparation import is_prepared, prepare, why_now

    if not is_prepared():
        print(f"standpipe: {why_now()}", file=sys.stderr)
        prepare()


def set_values(circuit: Circuit, changes: Iterable[str]) -> None:
    """Do what each `ID.NAME=VALUE` says, in order; raises RequestError with the mend."""
    from analysis.setting_order import check_order

    changed = [set_value(circuit, text) for text in changes]
    for identifier in changed:
        # only now, since two settings may pass through an order that the end does not have
        if identifier in circuit.components:
            try:
                check_order(circuit.components[identifier])
            except CircuitError as error:
                raise RequestError(error.message, f"--set {error.place}") from error


def set_value(circuit: Circuit, text: str) -> str:
    """Do what `ID.NAME=VALUE` says; the id. Raises RequestError with option and mend."""
    from analysis.circuit import Component, is_state
    from analysis.values import parse_command_value

    target, equals, value = text.partition("=")
    identifier, dot, name = target.strip().partition(".")
    if not (equals and dot and identifier and name):
        raise RequestError("is not ID.NAME=VALUE; write it like 1V1.position=left", f"--set {text}")
    value = value.strip()
    place = f"--set {target.strip()}"
    try:
        element = circuit.element(identifier)
        if isinstance(element, Component):
            state = is_state(element.declared, name, value)
            labels = element.labels if name == "position" else {}
        else:
            state, labels = name == "fault", {}
        declared = element.state_of(name) if state else element.setting_of(name)
        raw = _structured(value, declared.dimension)
        if raw is None:
            raw = parse_command_value(value, declared, labels)
        circuit.set_value(identifier, name, raw, state=state)
    except CircuitError as error:
        raise RequestError(error.message, place) from error
    return identifier


def _structured(value: str, dimension: str) -> Any:
    """A range or a table, which are written on the command line as in a file; else None."""
    if dimension in ("choice", "flag", "text") or value[:1] not in ("[", "{"):
        return None
    try:
        return json.loads(value)
    except (ValueError, RecursionError):
        return None
