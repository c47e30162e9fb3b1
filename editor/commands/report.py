"""`standpipe report`: the document for another person to check line by line."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

from editor.commands.common import (
    DONE,
    SAMPLE,
    Commands,
    RequestError,
    add_file,
    get_ready,
    new_parser,
    open_circuit,
    write_output,
)

if TYPE_CHECKING:
    from analysis.circuit import Circuit
    from analysis.report import Report

FORMS = ("pdf", "html")


def add_parser(commands: Commands) -> None:
    """Declare the command."""
    parser = new_parser(
        commands,
        "report",
        execute,
        "write the report: drawing, requirements, findings, failures, open questions, readings",
        f"report {SAMPLE} --to report.pdf",
        f"report {SAMPLE} --failures --to report.html",
    )
    add_file(parser)
    parser.add_argument(
        "--to",
        required=True,
        metavar="OUT",
        help="the file to write; its ending says the form: .pdf or .html",
    )
    parser.add_argument(
        "--failures",
        action="store_true",
        help="run the procedures too with each single failure, which takes a while; "
        "without it failures are looked at against the requirements alone",
    )


def execute(arguments: argparse.Namespace) -> int:
    """Write the report; what it says of the circuit does not change the exit status."""
    form = arguments.to.rpartition(".")[2].lower()
    if form not in FORMS or "." not in arguments.to:
        raise RequestError("must end in .pdf or .html", f"--to {arguments.to}")
    circuit = open_circuit(arguments)
    get_ready()
    # before Qt is loaded, since workers are forked only without it
    report = _gather(arguments, circuit)
    from editor.commands.qt import qt_or_refusal

    with qt_or_refusal("the report cannot be drawn"):
        from editor.report_pages import report_html, report_pdf
        from editor.sheet_export import start_drawing
    application = start_drawing()
    data = report_pdf(report) if form == "pdf" else report_html(report)
    write_output(arguments, arguments.to, data)
    del application
    return DONE


def _gather(arguments: argparse.Namespace, circuit: Circuit) -> Report:
    from hashlib import sha256

    from editor.commands.progress import progress_line
    from editor.report_gathering import gather_report

    path = Path(arguments.file)
    return gather_report(
        circuit,
        file_name=path.name,
        file_checksum=sha256(path.read_bytes()).hexdigest(),
        with_runs=arguments.failures,
        progress_of=progress_line,
    )
