"""`standpipe run`: the circuit over time, by a procedure or left as it stands."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING, Any

from editor.commands.common import (
    DONE,
    FAILED,
    SAMPLE,
    Commands,
    RequestError,
    add_file,
    add_set,
    get_ready,
    new_parser,
    open_circuit,
    print_json,
    write_output,
)
from editor.commands.progress import progress_line

if TYPE_CHECKING:
    from analysis.circuit import Circuit
    from analysis.recording import Recording
    from editor.unit_presets import DisplayUnits

_MOST_SAMPLES = 1_000_000


def add_parser(commands: Commands) -> None:
    """Declare the command."""
    parser = new_parser(
        commands,
        "run",
        execute,
        "the circuit over time; exit status 1 if an expectation fails",
        f'run {SAMPLE} --procedure "Emergency pump locks the main gear down"',
        f'run {SAMPLE} --set 0P1.running=true --until "5 s" --signal 0S1.A.pressure --csv p.csv',
    )
    add_file(parser)
    parser.add_argument(
        "--procedure", metavar="NAME", help="work this procedure; without it no lever is moved"
    )
    parser.add_argument(
        "--until", metavar="TIME", help='when the run ends, like "20 s" (its default)'
    )
    parser.add_argument("--every", metavar="TIME", help='how often to sample, like "0.1 s"')
    parser.add_argument(
        "--signal",
        action="append",
        metavar="NAME",
        dest="signals",
        help="record this signal only, like 1A1.extension; may stand several times",
    )
    add_set(parser)
    output = parser.add_mutually_exclusive_group()
    output.add_argument("--json", action="store_true", help="write JSON for programs, all in SI")
    output.add_argument("--csv", metavar="OUT", help="write the samples to this file, in SI")


def execute(arguments: argparse.Namespace) -> int:
    """Run the circuit and write down what happened."""
    until = _time(arguments.until, "--until")
    every = _time(arguments.every, "--every")
    circuit = open_circuit(arguments)
    get_ready()
    recording = _run(arguments, circuit, until, every)
    if arguments.json:
        print_json(recording.as_json())
    elif arguments.csv is not None:
        write_output(arguments, arguments.csv, _csv(circuit, recording))
    else:
        _print(circuit, recording)
    return DONE if recording.holds else FAILED


def _run(
    arguments: argparse.Namespace, circuit: Circuit, until: float | None, every: float | None
) -> Recording:
    from analysis.errors import CircuitError
    from analysis.procedures import DEFAULT_DURATION, Procedure, find_procedure, signal_dimension
    from analysis.runs import run

    procedure: Procedure | None = None
    try:
        if arguments.procedure is not None:
            procedure = find_procedure(circuit, arguments.procedure)
    except CircuitError as error:
        where = f"{arguments.file}: {error.place}" if error.place else "--procedure"
        raise RequestError(error.message, where) from error
    for name in arguments.signals or ():
        try:
            signal_dimension(circuit, name)
        except CircuitError as error:
            raise RequestError(error.message, f"--signal {name}") from error
    end = until or (procedure.duration if procedure else DEFAULT_DURATION)
    if every is not None and end / every > _MOST_SAMPLES:
        raise RequestError(
            f"asks for more than {_MOST_SAMPLES} samples; choose a longer time", "--every"
        )
    with progress_line("running") as progress:
        try:
            return run(
                circuit,
                procedure,
                until=until,
                every=every,
                signals=arguments.signals,
                progress=progress,
            )
        except CircuitError as error:
            raise RequestError(error.message, arguments.file) from error


def _time(text: str | None, option: str) -> float | None:
    from analysis.errors import CircuitError
    from analysis.quantities import parse_quantity

    if text is None:
        return None
    try:
        value = parse_quantity(text, "time")
    except CircuitError as error:
        raise RequestError(error.message, option) from error
    if not 0.0 < value < 1e9:
        raise RequestError(f"is {text}; it must be longer than 0 s", option)
    return value


# -- writing out --------------------------------------------------------------------------


def _csv(circuit: Circuit, recording: Recording) -> bytes:
    """A row for each sample; the heading of each column names the signal and its SI unit."""
    from editor.commands.tables import csv_text, neutral

    headings = ["time [s]", *(_heading(circuit, name) for name in recording.signals)]
    columns = [recording.time, *recording.signals.values()]
    rows = ([_cell(value) for value in row] for row in zip(*columns, strict=True))
    return csv_text([neutral(h) for h in headings], rows).encode()


def _heading(circuit: Circuit, name: str) -> str:
    from analysis.procedures import signal_dimension
    from symbols.kind import DIMENSIONS

    unit = DIMENSIONS.get(signal_dimension(circuit, name), "")
    return f"{name} [{unit}]" if unit else name


def _cell(value: Any) -> str:
    if value is None:
        return ""
    if isinstance(value, bool):
        return "true" if value else "false"
    return repr(value) if isinstance(value, float) else str(value)


def _print(circuit: Circuit, recording: Recording) -> None:
    from analysis.plain_text import one_line
    from editor.commands.tables import text_table
    from editor.unit_presets import DisplayUnits

    units = DisplayUnits(circuit)
    rows = [
        (f"{event.time:.2f}", event.subject, _name(circuit, event.subject), event.message)
        for event in recording.events
    ]
    print(text_table(("TIME [s]", "PART", "NAME", "EVENT"), rows, "r"), end="\n" if rows else "")
    print(_ends(circuit, recording, units), end="")
    for expectation in recording.expectations:
        word = "holds" if expectation.holds else "FAILS"
        at = "" if expectation.time is None else f" (at {expectation.time:.2f} s)"
        print(one_line(f"{word}: {expectation.text}{at}"))
    if recording.left:
        print(_never_worked(recording.left))
    print(_summary(recording))


def _name(circuit: Circuit, subject: str) -> str:
    return circuit.element(subject).name if subject in circuit else ""


def _ends(circuit: Circuit, recording: Recording, units: DisplayUnits) -> str:
    """Where the signals of interest stand at the start and at the end, in display units."""
    from analysis.procedures import signal_dimension
    from editor.commands.tables import text_table

    rows = []
    for name, values in recording.signals.items():
        if not _is_of_interest(name, recording):
            continue
        known = [value for value in values if value is not None]
        if not known:
            continue
        dimension = signal_dimension(circuit, name)
        rows.append((name, *(_shown(value, dimension, units) for value in (known[0], known[-1]))))
    table = text_table(("SIGNAL", "AT FIRST", "AT LAST"), rows, " rr")
    return f"{table}\n" if table else ""


def _is_of_interest(name: str, recording: Recording) -> bool:
    """What moves, fills or is felt; and all signals where only some were asked for."""
    moving = (".extension", ".lock", ".volume", ".fluid_volume", ".strokes", ".effort")
    return len(recording.signals) <= 20 or name.endswith(moving)


def _shown(value: Any, dimension: str, units: DisplayUnits) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    return value if isinstance(value, str) else units.format(value, dimension)


def _never_worked(left: int) -> str:
    steps = "the last step was" if left == 1 else f"the last {left} steps were"
    return f"{steps} never worked: what comes before did not happen in time"


def _summary(recording: Recording) -> str:
    if recording.message:
        return f"stopped: {recording.message}"
    met = sum(bool(e.holds) for e in recording.expectations)
    total = len(recording.expectations)
    held = f"{met} of {total} expectations hold" if total else "no expectations"
    return f"{recording.time[-1]:.4g} s in {recording.steps} steps; {held}"
