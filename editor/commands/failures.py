"""`standpipe failures`: every single failure, and which functions it costs."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from editor.commands.common import (
    DONE,
    SAMPLE,
    Commands,
    add_file,
    add_json,
    add_set,
    get_ready,
    new_parser,
    open_circuit,
    print_json,
)
from editor.commands.progress import progress_line

if TYPE_CHECKING:
    from analysis.circuit import Circuit
    from analysis.failures import FailureTable


_HOW_EXACT = """\
What is slower or weaker is so by about so much: it is told from runs in longer steps than
those of 'standpipe run'. Travel, pressures and forces are right to about 2 %, how long a
pressure or force takes to rise to about a fifth. Actuators that share a flow may arrive in
another order, further off. In JSON the shares under 'details' are not rounded, and 'digits'
says how many significant digits of each are known."""


def add_parser(commands: Commands) -> None:
    """Declare the command."""
    parser = new_parser(
        commands,
        "failures",
        execute,
        "every single failure, and which functions (requirements and procedures) it costs",
        f"failures {SAMPLE}",
        f"failures {SAMPLE} --json",
    )
    parser.description = f"{parser.description}\n\n{_HOW_EXACT}"
    add_file(parser)
    add_set(parser)
    add_json(parser)


def execute(arguments: argparse.Namespace) -> int:
    """Work out the table and write it."""
    circuit = open_circuit(arguments)
    get_ready()
    from analysis.failures import failures

    with progress_line("failures") as progress:
        table = failures(circuit, progress=progress)
    if arguments.json:
        print_json(table.as_json())
    else:
        _print(circuit, table)
    return DONE


def _print(circuit: Circuit, table: FailureTable) -> None:
    from analysis.plain_text import one_line
    from editor.commands.tables import text_table

    print("functions:")
    for number, name in enumerate(table.functions, start=1):
        why = table.failing.get(name)
        print(one_line(f"  F{number}  {name}"))
        if why is not None:
            print(one_line(f"      fails without any failure: {why}"))
    code = {name: f"F{number}" for number, name in enumerate(table.functions, start=1)}
    rows = [
        (
            case.subject,
            circuit.element(case.subject).name,
            case.mode.replace("_", " "),
            " ".join(code[name] for name in case.lost),
            ", ".join(f"{code[name]} {case.how_much(name)}".strip() for name in case.degraded),
        )
        for case in table.cases
        if case.lost or case.degraded
    ]
    if rows:
        print("\n" + text_table(("PART", "NAME", "FAILURE", "LOST", "DEGRADED"), rows), end="")
    kept = len(table.cases) - len(rows)
    print(f"\n{len(table.cases)} failures looked at; {kept} cost nothing and are not listed")
    points = ", ".join(table.single_points) or "none"
    print(one_line(f"single points of failure: {points}"))
