"""`standpipe parts`: the parts list."""

from __future__ import annotations

import argparse

from editor.commands.common import (
    DONE,
    SAMPLE,
    Commands,
    add_file,
    new_parser,
    open_circuit,
    write_output,
)


def add_parser(commands: Commands) -> None:
    """Declare the command."""
    parser = new_parser(
        commands,
        "parts",
        execute,
        "the parts list",
        f"parts {SAMPLE}",
        f"parts {SAMPLE} --csv parts.csv",
    )
    add_file(parser)
    parser.add_argument("--csv", metavar="OUT", help="write it to this file, for a spreadsheet")


def execute(arguments: argparse.Namespace) -> int:
    """Write the parts list out."""
    circuit = open_circuit(arguments)
    from analysis.parts_list import HEADINGS, parts_list
    from editor.commands.tables import csv_text, text_table

    rows = [row.cells() for row in parts_list(circuit)]
    if arguments.csv is not None:
        write_output(arguments, arguments.csv, csv_text(HEADINGS, rows).encode())
    elif rows:
        # the long column comes last, so that the others stay together on a narrow screen
        order = sorted(range(len(HEADINGS)), key=lambda column: HEADINGS[column] == "settings")
        headings = [HEADINGS[column].upper() for column in order]
        print(text_table(headings, [[row[column] for column in order] for row in rows]), end="")
    else:
        print("no parts")
    return DONE
