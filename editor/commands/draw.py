"""`standpipe draw`: the sheet, drawn to a file."""

from __future__ import annotations

import argparse

from editor.commands.common import (
    DONE,
    SAMPLE,
    Commands,
    RequestError,
    add_file,
    add_set,
    new_parser,
    open_circuit,
)

FORMS = ("pdf", "svg", "png")


def add_parser(commands: Commands) -> None:
    """Declare the command."""
    parser = new_parser(
        commands,
        "draw",
        execute,
        "draw the sheet with frame and title block to a file; needs no display",
        f"draw {SAMPLE} --to sheet.pdf",
        f"draw {SAMPLE} --set 1V1.position=left --to sheet.svg",
    )
    add_file(parser)
    add_set(parser)
    parser.add_argument(
        "--to",
        required=True,
        metavar="OUT",
        help="the file to write; its ending says the form: .pdf, .svg or .png",
    )


def execute(arguments: argparse.Namespace) -> int:
    """Draw the sheet."""
    form = arguments.to.rpartition(".")[2].lower()
    if form not in FORMS or "." not in arguments.to:
        raise RequestError("must end in .pdf, .svg or .png", f"--to {arguments.to}")
    circuit = open_circuit(arguments)
    from analysis.output_file import write_whole
    from editor.commands.qt import qt_or_refusal

    with qt_or_refusal("the sheet cannot be drawn"):
        from editor.sheet_export import sheet_bytes, start_drawing
    application = start_drawing()
    write_whole(arguments.to, sheet_bytes(circuit, form))
    del application
    return DONE
