"""The part of a report that says what single failures cost."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from analysis.failures import FailureTable
from analysis.report import Report
from analysis.report_blocks import Block, Paragraph, SmallList, Table, bold, in_lines, set_text
from analysis.report_questions import in_ranges
from analysis.words import listed, named

_DASH = "–"

_Effect = tuple[str, tuple[str, ...], tuple[str, ...]]
"""A subject, the functions that are lost, and those that are degraded, by how much."""


def failure_blocks(report: Report) -> Iterator[Block]:
    """The table of what each failure costs."""
    table = report.failures
    if table is None:
        why = "" if report.runs else " The circuit has no functions that a failure could cost."
        yield Paragraph(set_text(bold("Not worked out for this report."), why))
        yield from _left_out(report)
        return
    yield Paragraph(
        set_text(
            "Each failure mode of each component and line, one at a time, against each function, "
            "in the manner of a failure modes and effects analysis (SAE ARP4761 as method). "
            "Functions are named by their numbers above: requirements R, procedures P. A function "
            "is lost if it does not hold with the failure, degraded if a procedure meets an "
            "expectation more than 5 % later than without, or comes to a pressure or force that is "
            "more than 5 % lower. A single point is a component or line with a failure that costs "
            "at least one function."
        )
    )
    yield from _left_out(report)
    if table.failing:
        failing = listed(report.codes[name] for name in table.failing)
        one = len(table.failing) == 1
        says, verb = ("Does not hold", "is") if one else ("Do not hold", "are")
        yield Paragraph(
            set_text(bold(f"{says} even without a failure, and {verb} not counted: {failing}."))
        )
    modes: dict[_Effect, list[str]] = {}
    for case in table.cases:
        if case.lost or case.degraded:
            worse = (f"{report.codes[n]} {case.how_much(n)}".rstrip() for n in case.degraded)
            key = (case.subject, case.lost, tuple(worse))
            modes.setdefault(key, []).append(case.mode.replace("_", " "))
    if modes:
        yield _costly(report, modes)
    yield from _by_function(report, table)
    points = ", ".join(in_ranges(table.single_points)) or "none"
    yield Paragraph(set_text(bold("Single points: "), f"{points}."))
    kept: dict[str, list[str]] = {}
    for case in table.cases:
        if not (case.lost or case.degraded):
            kept.setdefault(case.mode.replace("_", " "), []).append(case.subject)
    # what fails without a failure cannot be lost by one
    words = "Cost nothing that holds without them" if table.failing else "Cost nothing"
    nothing = [set_text(bold(f"{words}:"), "" if kept else " none.")]
    nothing += [set_text(f"{mode}: {', '.join(ids)}.") for mode, ids in kept.items()]
    yield SmallList(tuple(nothing), f"{words}, continued:")


def _costly(report: Report, modes: Mapping[_Effect, Sequence[str]]) -> Table:
    """The failures that cost something; the last column only where something is degraded."""
    rows = [
        (
            set_text(subject),
            set_text(named(report.circuit.element(subject))),
            set_text(", ".join(failed)),
            set_text(", ".join(report.codes[name] for name in lost) or _DASH),
            in_lines(degraded or (_DASH,)),
        )
        for (subject, lost, degraded), failed in modes.items()
    ]
    headings, widths = ("On", "Name", "Failure", "Lost", "Degraded"), (7, 24, 22, 23, 24)
    if not any(degraded for _, _, degraded in modes):
        return Table(headings[:4], (7, 34, 29, 30), tuple(row[:4] for row in rows))
    return Table(headings, widths, tuple(rows))


def _by_function(report: Report, table: FailureTable) -> Iterator[Block]:
    """How many failures cost each function that holds without one, and of which parts."""
    rows = []
    for name in table.functions:
        if name in table.failing:
            continue
        subjects = [case.subject for case in table.cases if name in case.lost]
        parts = ", ".join(in_ranges(list(dict.fromkeys(subjects))))
        rows.append((report.codes[name], str(len(subjects)), parts or _DASH))
    if rows:
        yield Table(
            ("Function", "Failures", "Lost by a failure of"),
            (9, 9, 82),
            tuple(tuple(set_text(cell) for cell in row) for row in rows),
        )


def _left_out(report: Report) -> Iterator[Block]:
    """That the procedures were not looked at with the failures, if so."""
    if report.runs and not report.failures_of_procedures:
        yield Paragraph(
            set_text(
                bold("The procedures were not run with the failures"),
                "; a report has them run if that is chosen as it is exported, or asked for by the "
                "option --failures. It takes a while.",
            )
        )
