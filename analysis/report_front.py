"""The first page of a report: cautions, title block, what it says in short, signatures."""

from __future__ import annotations

from collections.abc import Iterator

from analysis.report import Report
from analysis.report_blocks import (
    Block,
    Bullets,
    Contents,
    Frame,
    Heading,
    Paragraph,
    Signatures,
    Table,
    Text,
    bold,
    in_lines,
    set_text,
)
from analysis.sheet_texts import checksum
from analysis.words import listed

_TITLE = (
    ("Name", "name"),
    ("Number, revision", "number"),
    ("Date", "date"),
    ("Drawn by", "drawn_by"),
    ("Checked by", "checked_by"),
    ("Notes", "notes"),
)

CAUTIONS = (
    "Fluid under pressure pierces skin and gloves. Such a wound is a surgical emergency, however "
    "small it looks.",
    "Pressure stays stored after the pump stops: in accumulators, behind check valves, in trapped "
    "volumes, under loads. Release it and prove it gone before anything is opened.",
    "Gear, doors, flaps, rams and what they carry move without warning, also by their own weight. "
    "Pin or prop what can move, an aircraft on jacks, people clear, before a lever is moved.",
    "What is written here is computed from what was drawn. A drawing that looks right can be "
    "wrong: trace it on the machine.",
)


def front_blocks(report: Report) -> Iterator[Block]:
    """From the title to the list of contents."""
    title = report.circuit.title
    name = title.get("name") or report.file_name
    yield Heading("Report on a hydraulic circuit", level=1)
    yield Paragraph(set_text(bold(f"{title.get('number', '')} {name}".strip())))
    yield Frame(
        (
            Paragraph(
                set_text(
                    bold("Cautions. Not for release to service."),
                    " Approved data, local codes and licensed persons decide.",
                )
            ),
            Bullets(tuple(set_text(caution) for caution in CAUTIONS)),
        )
    )
    yield Heading("1 What this is about", anchor="section-1")
    rows = [(label, str(title.get(key) or "–")) for label, key in _TITLE]
    if title.get("revision"):
        rows[1] = (rows[1][0], f"{rows[1][1]}, {title['revision']}")
    rows += [
        ("Circuit file", report.file_name),
        ("SHA-256 of the circuit file", report.file_checksum),
        ("Program", f"standpipe {report.version}"),
    ]
    written = checksum(report.circuit)
    if written != report.file_checksum:
        text = "The file was not last written by this program; written by it, it has that."
        rows.insert(-1, ("SHA-256 on the sheet", f"{written}\n{text}"))
    cells = [(set_text(label), in_lines(text.splitlines())) for label, text in rows]
    yield Table(("Title block", ""), (27, 73), tuple(cells))
    yield Heading("In short", level=3)
    yield Bullets(tuple(_in_short(report)))
    yield Heading("Signatures", level=3)
    yield Signatures(
        ("", "Name", "Signature", "Date"), (16, 32, 32, 20), ("Drawn", "Checked", "Approved")
    )
    yield Heading("Contents", level=3)
    yield Contents()


def _in_short(report: Report) -> Iterator[Text]:
    verdicts = report.checked.requirements
    failed = [(f"R{n}", v.name) for n, v in enumerate(verdicts, 1) if v.judged and not v.holds]
    open_ones = sum(not v.judged for v in verdicts)
    words = _told(len(verdicts), failed)
    words += f", {open_ones} not judged" if open_ones else ""
    stands_out = failed or open_ones or not verdicts
    yield set_text("Requirements: ", bold(words) if stands_out else words, ".")
    broken = [(f"P{run.number}", run.name) for run in report.runs if not run.holds]
    words = _told(len(report.runs), broken)
    yield set_text("Procedures: ", bold(words) if broken else words, ".")
    counts = {s: sum(f.severity == s for f in report.findings) for s in _SEVERITIES}
    words = (
        f"{_count(counts['error'], 'error', 'errors')}, "
        f"{_count(counts['warning'], 'warning', 'warnings')}, "
        f"{_count(counts['note'], 'note', 'notes')}; {len(report.waived)} waived"
    )
    errors = sum(f.kind == "waived error" for f in report.waived)
    words += f", {errors} of them {'an error' if errors == 1 else 'errors'}" if errors else ""
    yield set_text("Findings: ", bold(words) if counts["error"] else words, ".")
    hanging = sum(bool(q.hanging) for q in report.questions)
    yield set_text(
        f"Open questions: on {_count(len(report.questions), 'component or line', _MANY)}; "
        f"verdicts hang on {hanging} of them."
    )
    if report.failures is None:
        yield set_text("Single failures: not worked out for this report.")
    else:
        of = "" if report.failures_of_procedures else ", against the requirements only"
        points = len(report.failures.single_points)
        failing = listed(report.codes[name] for name in report.failures.failing)
        yield set_text(
            f"Single failures: {len(report.failures.cases)} looked at{of}; "
            f"{_count(points, 'single point', 'single points')}.",
            bold(f" Not counted, failing without any: {failing}.") if failing else "",
        )
    if report.faults:
        drawn = listed(f"{identifier} {fault}" for identifier, _, fault in report.faults)
        yield set_text(
            bold(f"Drawn with failures: {drawn}."), " All verdicts and readings are with these."
        )


_SEVERITIES = ("error", "warning", "note")
_MANY = "components or lines"
_NAMED = 2
"""So many of what fails are named in short; of more the numbers must do."""


def _told(count: int, failing: list[tuple[str, str]]) -> str:
    """How many are written, and which fail: `3 written, 1 fails (R2 spares)`."""
    if not count:
        return "none written"
    words = f"{count} written, {_count(len(failing), 'fails', 'fail')}"
    if not failing:
        return words
    if len(failing) <= _NAMED:
        return f"{words} ({'; '.join(f'{code} {name}' for code, name in failing)})"
    return f"{words} ({listed(code for code, _ in failing)})"


def _count(number: int, one: str, many: str) -> str:
    return f"{number} {one if number == 1 else many}"
