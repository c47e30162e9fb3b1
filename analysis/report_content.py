"""The report as blocks, from its title to its method: what stands where, and in which words."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from analysis.report import Report, Units
from analysis.report_blocks import (
    Block,
    Bullets,
    Contents,
    Frame,
    Heading,
    Paragraph,
    SheetDrawing,
    Signatures,
    Span,
    Table,
    Text,
    bold,
    in_lines,
    italic,
    set_text,
)
from analysis.report_questions import unstated
from analysis.report_readings import reading_blocks
from analysis.report_verdicts import failure_blocks, procedure_blocks, requirement_blocks
from analysis.sheet_texts import checksum
from analysis.words import listed, named

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
    "Gear, doors and flaps move without warning, also by their own weight. Aircraft on jacks, gear "
    "pins in, people clear, before a lever is moved.",
    "What is written here is computed from what was drawn. A drawing that looks right can be "
    "wrong: trace it on the machine.",
)


def report_blocks(report: Report, units: Units) -> list[Block]:
    """The whole report in order, sections numbered."""
    sections: tuple[tuple[str, Iterable[Block]], ...] = (
        ("Drawing", [SheetDrawing()]),
        ("Requirements", requirement_blocks(report)),
        ("Procedures", procedure_blocks(report)),
        ("Findings and waivers", _findings(report)),
        ("Open questions", _questions(report)),
        ("Single failures", failure_blocks(report)),
        ("Parts", _parts(report)),
        ("Fluid", _fluid(report)),
        ("Readings", reading_blocks(report, units)),
        ("Method and limits", _method()),
    )
    blocks = list(_front(report))
    for number, (title, content) in enumerate(sections, start=2):
        blocks.append(Heading(f"{number} {title}", anchor=f"section-{number}"))
        blocks += content
    return blocks


def _front(report: Report) -> Iterator[Block]:
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
    cells = [(set_text(label), in_lines(text.splitlines())) for label, text in rows]
    yield Table(("Title block", ""), (27, 73), tuple(cells))
    written = checksum(report.circuit)
    if written != report.file_checksum:
        yield Paragraph(
            set_text(
                "The file was not last written by this program. Written by it, the same circuit "
                f"has the SHA-256 {written}; the sheet shows the beginning of that."
            ),
            small=True,
        )
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
    failed = [f"R{n} {v.name}" for n, v in enumerate(verdicts, 1) if v.judged and not v.holds]
    open_ones = sum(not v.judged for v in verdicts)
    words = f"{len(verdicts)} written, {_count(len(failed), 'fails', 'fail')}"
    words += f" ({'; '.join(failed)})" if failed else ""
    words += f", {open_ones} not judged" if open_ones else ""
    yield set_text("Requirements: ", bold(words) if failed or open_ones else words, ".")
    broken = [f"P{run.number} {run.name}" for run in report.runs if not run.holds]
    words = f"{len(report.runs)} written, {_count(len(broken), 'fails', 'fail')}"
    words += f" ({'; '.join(broken)})" if broken else ""
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
        yield set_text(
            f"Single failures: {len(report.failures.cases)} looked at{of}; "
            f"{_count(points, 'single point', 'single points')}."
        )
    if report.faults:
        drawn = listed(f"{identifier} {fault}" for identifier, _, fault in report.faults)
        yield set_text(bold(f"Drawn with failures: {drawn}."), " Everything here holds with these.")


_SEVERITIES = ("error", "warning", "note")
_MANY = "components or lines"


def _count(number: int, one: str, many: str) -> str:
    return f"{number} {one if number == 1 else many}"


def _findings(report: Report) -> Iterator[Block]:
    if report.findings:
        rows = [
            (
                bold("ERROR") if finding.severity == "error" else finding.severity,
                ", ".join(finding.subjects),
                set_text(finding.message, " ", italic(f"({finding.rule.replace('_', ' ')})")),
                finding.mend,
            )
            for finding in report.findings
        ]
        yield Table(("Severity", "On", "Finding", "Mend"), (10, 17, 41, 32), _rows(rows))
    else:
        yield Paragraph(set_text("None that is not waived."))
    yield Heading("Waivers", level=3)
    if not report.waivers:
        yield Paragraph(set_text("None."))
        return
    waivers = [
        (w.subject, w.rule.replace("_", " "), w.reason, w.by, w.date or "–", w.effect)
        for w in report.waivers
    ]
    headings = ("On", "Rule", "Reason", "Waived by", "Date", "Effect")
    yield Table(headings, (8, 19, 32, 15, 11, 15), _rows(waivers))
    if report.waived:
        yield Paragraph(set_text("What is waived by these:"))
        yield Table(
            ("Severity", "On", "Finding, with its waiver"),
            (10, 17, 73),
            _rows(
                (
                    bold("waived ERROR") if f.kind == "waived error" else f.kind,
                    ", ".join(f.subjects),
                    f.message,
                )
                for f in report.waived
            ),
        )


def _questions(report: Report) -> Iterator[Block]:
    if report.questions:
        yield Paragraph(
            set_text(
                "What is inferred, assumed, unknown or known only as a range, and what hangs on "
                "it: the requirements on whose witness it lies; the procedures that name it or in "
                "which fluid passes it; the functions that its own failure costs. A range counts "
                "with its middle in all figures here, an unknown with the default of its kind."
            )
        )
        yield Table(
            ("On", "Name", "What is open", "Requirements", "Procedures", "Its failure costs"),
            (7, 22, 33, 13, 12, 13),
            _rows(
                (
                    q.subject,
                    named(report.circuit.element(q.subject)),
                    q.what,
                    ", ".join(q.requirements) or "–",
                    ", ".join(q.procedures) or "–",
                    ", ".join(q.failures) or "–",
                )
                for q in report.questions
            ),
        )
        yield Paragraph(set_text(_hanging(report)))
    else:
        yield Paragraph(
            set_text("Nothing is marked as inferred, assumed or unknown, and nothing is a range.")
        )
    without = unstated(report.circuit)
    if without:
        yield Paragraph(set_text(f"Nobody has stated how well these are known: {without}."))


def _hanging(report: Report) -> str:
    """Which verdicts hang on something open, and which on nothing."""
    codes = [f"R{n}" for n, _ in enumerate(report.checked.requirements, 1)]
    codes += [f"P{run.number}" for run in report.runs]
    hang = {code for question in report.questions for code in question.hanging}
    resting = listed(code for code in codes if code in hang)
    free = listed(code for code in codes if code not in hang)
    said = f"Verdicts that hang on something open: {resting or 'none'}."
    return said + (f" On nothing that is marked open: {free}." if free else "")


def _parts(report: Report) -> Iterator[Block]:
    if not report.parts:
        yield Paragraph(set_text("None."))
        return
    rows = []
    for row in report.parts:
        identifier, kind, _, settings, evidence, source = row.cells()
        known = set_text(evidence or "not stated", f": {source}" if source else "")
        name = named(report.circuit.element(identifier))
        part = set_text(kind if name == "–" else f"{name} ", italic(f"({kind.lower()})"))
        part = part[:1] if name == "–" else part
        rows.append((identifier, part, settings or "–", known))
    yield Table(("Id", "Part", "Settings as written", "Evidence"), (8, 27, 42, 23), _rows(rows))


def _fluid(report: Report) -> Iterator[Block]:
    yield Table(("Property", "Value"), (27, 73), _rows(report.fluid))


def _method() -> Iterator[Block]:
    points = [
        "Readings are one instant in steady state: the laws of the components and lines are solved "
        "together until pressures and flows agree. Lines have friction after their length and "
        "bore, without minor losses; lines without a size have none.",
        "Ways are searched exactly through the drawn connections with the levers set as each "
        "requirement says. A way shows that fluid can get there, not that pressure and flow "
        "suffice.",
        "Procedures are worked out over time: the same laws with the compressibility of the fluid, "
        "the travel of the actuators, gas and levels, in steps with a bound on their error.",
        "Settings that are not written take the defaults of their kind. Settings that are a range "
        "or unknown are listed under open questions.",
        "Temperature is uniform and does not change. Air in the fluid, water hammer, wear, dirt "
        "and structure are not looked at.",
        "A failure is looked at alone, never together with a second one.",
    ]
    yield Bullets(tuple(set_text(point) for point in points))


def _rows(rows: Iterable[Iterable[str | Span | Text]]) -> tuple[tuple[Text, ...], ...]:
    return tuple(tuple(set_text(cell) for cell in row) for row in rows)
