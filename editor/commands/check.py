"""`standpipe check`: findings and requirements."""

from __future__ import annotations

import argparse
from typing import Any

from editor.commands.common import (
    DONE,
    FAILED,
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


def add_parser(commands: Commands) -> None:
    """Declare the command."""
    parser = new_parser(
        commands,
        "check",
        execute,
        "check the circuit and its requirements; exit status 1 if an error or requirement fails",
        f"check {SAMPLE}",
        f"check {SAMPLE} --json",
    )
    add_file(parser)
    add_set(parser)
    add_json(parser)


def execute(arguments: argparse.Namespace) -> int:
    """Check the circuit and say what was found."""
    circuit = open_circuit(arguments)
    get_ready()
    from analysis.checks import check

    result = check(circuit)
    if arguments.json:
        print_json(result.as_json())
    else:
        _print(result)
    return DONE if result.ok else FAILED


def _print(result: Any) -> None:
    from analysis.plain_text import one_line

    for finding in result.findings:
        subjects = f" [{', '.join(finding.subjects)}]" if finding.subjects else ""
        print(one_line(f"{finding.severity}: {finding.message}{subjects}"))
        print(one_line(f"    mend: {finding.mend} ({finding.rule})"))
        if finding.waived is not None:
            waived = finding.waived
            print(one_line(f"    {finding.kind}, by {waived.get('by')}: {waived.get('reason')}"))
    if result.requirements and result.findings:
        print()
    for verdict in result.requirements:
        print(one_line(f"{'holds' if verdict.holds else 'FAILS'}: {verdict.name}"))
        print(one_line(f"    {verdict.message}"))
    if result.findings or result.requirements:
        print()
    print(_summary(result))


def _summary(result: Any) -> str:
    counts = [
        _counted(sum(f.severity == severity for f in result.findings), severity)
        for severity in ("error", "warning", "note")
    ]
    broken = sum(not verdict.holds for verdict in result.requirements)
    total = len(result.requirements)
    if not total:
        held = "no requirements"
    else:
        held = f"{total - broken} of {_counted(total, 'requirement')} hold"
    return f"{', '.join(counts)}; {held}"


def _counted(count: int, what: str) -> str:
    return f"{count} {what}{'' if count == 1 else 's'}"
